"""What pieces a class needs: blanks of every kind for all makers, and spare ones.

kind   : pieces of one name and size; each has a letter that pictures call it by
spares : blanks beyond those needed, for walls that come out spoilt. Only of walls a rule says when one is (MODEL.md,
         2.5): of base, lid and plaque none is ordered by chance, and a percentage orders its share of them
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from string import ascii_uppercase
from typing import TYPE_CHECKING

from assembly.order.spoilage import spares
from assembly.planning.cutting import cut_parts
from assembly.study.driver import UNWATCHED, Run

if TYPE_CHECKING:
    from assembly.learning.files import Draws
    from assembly.model.design import Design
    from assembly.model.workshop import Workshop
    from assembly.order.spoilage import Spares
    from assembly.planning.cutting import CutPart

CHANCE = 0.05  # that a class runs out of a kind of wall, at the most


@dataclass(frozen=True, slots=True, kw_only=True)
class SpareRule:
    """How spares are reckoned: as few as keep the chance of running out, or as a share of what is needed."""

    chance: float = CHANCE  # per kind of wall
    share: float | None = None  # None: by chance


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """Pieces of one name and size."""

    letter: str
    part: CutPart
    needed: int
    spares: int
    walls: Spares | None  # what simulated classes tell of its spares; None where no rule says when one is spoilt

    @property
    def name(self) -> str:
        """What it is called."""
        return self.part.name

    @property
    def spoilable(self) -> bool:
        """Whether a rule says when one is spoilt."""
        return self.walls is not None

    @property
    def given_up(self) -> float:
        """Share of walls that no number of spares makes good, as every blank is spoilt; 0 of other pieces."""
        return self.walls.given_up if self.walls else 0.0

    @property
    def count(self) -> int:
        """How many are ordered, spares included."""
        return self.needed + self.spares

    @property
    def size(self) -> tuple[float, float]:
        """Length and width of the blank, mm; the width of a wall's is that of its section.

        What a machine cuts to its outline comes out of the whole sheet, finished: no waste is left on it.
        """
        part = self.part
        return (part.length, part.width) if part.outlined else (part.blank_length, part.blank_width)


def class_pieces(
    design: Design,
    workshop: Workshop,
    rule: SpareRule,
    *,
    seed: int,
    draws: Draws | None = None,
    run: Run = UNWATCHED,
) -> tuple[Kind, ...]:
    """Return the pieces that the makers of a design need, in the order of the cut list.

    Parameters
    ----------
    design, workshop : Design, Workshop
        What is made, by how many makers, and where.
    rule : SpareRule
        How many are spare.
    seed : int
        Of the simulated classes that spoil walls.
    draws : Draws, optional
        What is not known of a learned workshop.
    run : Run
        How the classes are simulated.

    Raises
    ------
    InputError
        If no number of spares keeps the chance, or the seed is below 0.
    StoppedError
        If it is stopped.
    """
    walls = spares(
        design,
        workshop,
        makers=design.makers,
        chance=rule.chance,
        share=rule.share,
        seed=seed,
        draws=draws,
        run=run,
    )
    parts = cut_parts(design)
    known: list[Spares | None] = [*walls, *[None] * (len(parts) - len(walls))]  # the walls are first in both
    return tuple(
        _kind(letter, part, spare, design.makers, rule)
        for letter, part, spare in zip(ascii_uppercase, parts, known, strict=False)
    )


def _kind(letter: str, part: CutPart, spare: Spares | None, makers: int, rule: SpareRule) -> Kind:
    needed = part.count * makers
    if spare is None:
        share = rule.share or 0.0
        more = math.ceil(share * needed - 1e-9)  # 10 % of 30 is 3, whatever the last binary digit says
        return Kind(letter=letter, part=part, needed=needed, spares=more, walls=None)
    return Kind(letter=letter, part=part, needed=needed, spares=spare.spares, walls=spare)
