"""The key of a picture: what the patterns stand for, along its foot or in a panel beside it; laid out, not drawn."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from viewer.picture.lettering import CHIP, LEADING, Rectangle, WordLine, wrapped

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.letters import Weight
    from assembly.made.gap_classes import GapClass, GapScale
    from viewer.scene.scene import Scene

    Field = tuple[GapClass, float, float]  # a word of the key, and the upper left corner of its field, pixels


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
    fields: tuple[Field, ...]
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
    (width, height), margin, count = size, 1.0 * em, len(scene.scale.classes)
    wide = width - 2 * margin
    columns = count if wide >= count * _FIELD_WIDE * em else 2
    return legend_of(scene, em, (margin, wide), height - margin, columns)


def legend_of(scene: Scene, em: int, across: tuple[float, float], bottom: float, columns: int = 1) -> Legend:
    """Return a key whose fields end at `bottom`; `across` is the left edge and the width of its room."""
    left, step = across[0], across[1] / columns
    head = _head(scene.scale)
    lines = wrapped(f"{head} {_HIDDEN}", em, across[1])
    foot = bottom - FIELD * em - (math.ceil(len(scene.scale.classes) / columns) - 1) * _LINE * em
    fields = tuple(
        (fit, left + i % columns * step, foot + i // columns * _LINE * em) for i, fit in enumerate(scene.scale.classes)
    )
    top = foot - (0.3 + LEADING * len(lines)) * em
    return Legend(head=head, lines=tuple(lines), left=left, top=top, fields=fields, wide=across[1])


def _head(scale: GapScale) -> str:
    """Return what the key is a key to."""
    head = f"Fit, by a joint's largest gap: glue closes {_mm(scale.glue_limit)} mm"
    return f"{head}." if scale.joint_limit is None else f"{head}; over {_mm(scale.joint_limit)} mm is not good."


def key_words(fields: Sequence[Field], em: int) -> list[WordLine]:
    """Return what is set beside the fields of a key: each word over the gaps that it stands for."""
    bold_and_plain: tuple[Weight, Weight] = ("Bold", "Regular")
    return [
        WordLine(words=words, weight=weight, place=(x + (CHIP + 0.4) * em, y + (row * LEADING - 0.05) * em))
        for fit, x, y in fields
        for row, (words, weight) in enumerate(zip((fit.word, gaps_of(fit)), bold_and_plain, strict=True))
    ]


def gaps_of(fit: GapClass) -> str:
    """Return the gaps of a word, as the key prints them."""
    if math.isinf(fit.up_to):
        return f"over {_mm(fit.over)} mm"
    return f"{_mm(fit.over)} to {_mm(fit.up_to)} mm"


def _mm(size: float) -> str:
    """Return a size to a hundredth, as gaps are printed."""
    return f"{round(size, 2):g}"
