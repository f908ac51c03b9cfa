"""The key of a picture: what the patterns stand for, along its foot or in a panel beside it; laid out, not drawn."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from viewer.picture.lettering import CHIP, LEADING, Rectangle, wrapped

if TYPE_CHECKING:
    from assembly.made.gap_classes import GapClass
    from viewer.scene.scene import Scene


_KEY = "How a joint fits, by its largest gap; glue closes up to {limit:g} mm."
_HIDDEN = "A ring ends a line to what is hidden."
_FIELD_WIDE = 8.8  # ems; a word of the key with its gaps
FIELD = 2.2  # ems; height of a field of the key
_LINE = 2.6  # ems from one field of the key to the next below it


@dataclass(frozen=True, slots=True, kw_only=True)
class Legend:
    """What the patterns stand for, laid out."""

    head: str  # what it is a key to
    lines: tuple[str, ...]  # that, and what a ring means, in lines that fit
    left: float
    top: float
    fields: tuple[tuple[GapClass, float, float], ...]  # each word with the upper left corner of its field, pixels
    wide: float  # of the room for the sentences, pixels

    def without_rings(self, em: float) -> Legend:
        """Return the key of a picture in which no line ends in a ring."""
        lines = tuple(wrapped(self.head, round(em), self.wide))
        return replace(self, lines=lines, top=self.top + (len(self.lines) - len(lines)) * LEADING * em)

    def box(self, em: float, right: float) -> Rectangle:
        """Return the room that it takes up, out to `right`."""
        return self.left, self.top, right, max(y for _, _, y in self.fields) + FIELD * em


def level_key(scene: Scene, em: int, size: tuple[int, int]) -> Legend | None:
    """Return the key along the bottom of a picture whose joints are marked."""
    if not scene.joints:
        return None
    (width, height), margin = size, 1.0 * em
    wide = width - 2 * margin
    head, count = _head(scene), len(scene.scale)
    lines = wrapped(f"{head} {_HIDDEN}", em, wide)
    across = count if wide >= count * _FIELD_WIDE * em else 2
    foot = height - margin - FIELD * em - (math.ceil(count / across) - 1) * _LINE * em
    fields = tuple(
        (fit, margin + i % across * wide / across, foot + i // across * _LINE * em) for i, fit in enumerate(scene.scale)
    )
    return Legend(head=head, lines=tuple(lines), left=margin, top=_over(foot, lines, em), fields=fields, wide=wide)


def _head(scene: Scene) -> str:
    return _KEY.format(limit=scene.glue_limit)


def _over(foot: float, lines: list[str], em: int) -> float:
    """Return where the sentences over the fields begin."""
    return foot - (0.3 + LEADING * len(lines)) * em


def upright_key(scene: Scene, em: int, across: tuple[float, float], bottom: float) -> Legend:
    """Return the key of a panel, its words under one another; `across` is the panel's left edge and its width."""
    left, wide = across
    head = _head(scene)
    lines = wrapped(f"{head} {_HIDDEN}", em, wide)
    foot = bottom - FIELD * em - (len(scene.scale) - 1) * _LINE * em
    fields = tuple((fit, left, foot + row * _LINE * em) for row, fit in enumerate(scene.scale))
    return Legend(head=head, lines=tuple(lines), left=left, top=_over(foot, lines, em), fields=fields, wide=wide)


def gaps_of(fit: GapClass) -> str:
    """Return the gaps of a word, as the key prints them."""
    if math.isinf(fit.up_to):
        return f"over {fit.over:g} mm"
    return f"{fit.over:g} to {fit.up_to:g} mm"


def words_from(field: tuple[GapClass, float, float], em: float) -> tuple[float, float]:
    """Return where the words of a field of the key begin, pixels."""
    return field[1] + (CHIP + 0.4) * em, field[2] - 0.05 * em
