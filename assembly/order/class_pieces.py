"""What pieces a class needs: blanks of every kind for all makers, and spare ones.

kind   : pieces of one name and size; each has a letter that pictures call it by
spares : blanks beyond those needed, for walls that come out spoilt. Only of walls a rule says when one is (MODEL.md,
         2.5): of base, lid and plaque none is ordered by chance, and a percentage orders its share of them
"""

from __future__ import annotations

from dataclasses import dataclass
from string import ascii_uppercase
from typing import TYPE_CHECKING

from assembly.errors import NeverGoodError
from assembly.order.spoilage import spares, spares_of_share
from assembly.planning.cutting import cut_parts
from assembly.study.driver import UNWATCHED, Run

if TYPE_CHECKING:
    from collections.abc import Iterable

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
    walls: Spares | None = None  # what simulated classes tell of its spares; None where they tell nothing
    untold: str | None = None  # why they tell nothing of walls

    @property
    def name(self) -> str:
        """What it is called."""
        return self.part.name

    @property
    def spoilable(self) -> bool:
        """Whether a rule says when one is spoilt."""
        return self.part.wall is not None

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
        If no number of spares keeps the chance, where one is asked for, or the seed is below 0.
    StoppedError
        If it is stopped.
    """
    try:
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
    except NeverGoodError as why:
        if rule.share is None:
            raise
        return _kinds(design, (), rule, untold=str(why))
    return _kinds(design, walls, rule)


def _kinds(design: Design, walls: Iterable[Spares], rule: SpareRule, untold: str | None = None) -> tuple[Kind, ...]:
    """Return every kind of piece with what is told of its spares, and why nothing is told of walls."""
    told, parts = {spare.wall: spare for spare in walls}, cut_parts(design)
    assert untold or set(told) == {part.wall for part in parts if part.wall}
    found = []
    for letter, part in zip(ascii_uppercase, parts, strict=False):
        spare = told.get(part.wall) if part.wall else None
        needed = part.count * design.makers
        found.append(
            Kind(
                letter=letter,
                part=part,
                needed=needed,
                spares=spare.spares if spare else spares_of_share(rule.share or 0.0, needed),
                walls=spare,
                untold=untold if part.wall else None,
            )
        )
    return tuple(found)
