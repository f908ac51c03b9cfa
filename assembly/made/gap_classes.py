"""How a joint fits, in words that agree with what the design allows.

gap    : the largest opening between the two faces of a joint, mm
closed : at most half of what the glue closes; usable : at most what it closes
to fill: too wide for the glue and still allowed
open   : wider than the design allows, so that the box is not good
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from assembly.made.limits import limit_ends

if TYPE_CHECKING:
    from assembly.model.design import Design

Word = Literal["closed", "usable", "to fill", "open"]

_THIN = 0.5  # of what the glue closes: a film that draws the faces together; common practice, no source


@dataclass(frozen=True, slots=True, kw_only=True)
class GapClass:
    """One word of the scale: the gaps that it covers."""

    word: Word
    over: float  # mm; the gaps of this word are wider than this,
    up_to: float  # mm; and at most this


@dataclass(frozen=True, slots=True, kw_only=True)
class GapScale:
    """The words for a gap, best first; a word that covers no gap is left out."""

    glue_limit: float  # mm, the widest gap that the glue closes
    joint_limit: float | None  # mm, the widest gap that the design allows; None where it sets no limit
    classes: tuple[GapClass, ...]

    def fit_of(self, gap: float) -> GapClass:
        """Return the word for a joint whose largest gap is `gap` mm."""
        return next(fit for fit in self.classes if gap <= fit.up_to)

    def figure(self, gap: float) -> str:
        """Return a gap as it is printed: two decimals, and where those are another word's, on which side it is.

        Examples
        --------
        >>> gap_scale(0.2, 1.5).figure(0.204), gap_scale(0.2, 1.5).figure(0.337)
        ('over 0.20 mm', '0.34 mm')
        """
        shown = round(gap, 2)
        if self.fit_of(shown).word == self.fit_of(gap).word:
            return f"{shown:.2f} mm"
        return f"{'over' if shown < gap else 'under'} {shown:.2f} mm"


def gap_scale(glue_limit: float, joint_limit: float | None) -> GapScale:
    """Return the scale of a glue that closes gaps up to `glue_limit` mm where `joint_limit` mm are allowed.

    Nothing is "open" where the design sets no limit, nor "to fill" where it allows no more than glue closes.

    Examples
    --------
    >>> [(fit.word, fit.up_to) for fit in gap_scale(0.2, 1.5).classes]
    [('closed', 0.1), ('usable', 0.2), ('to fill', 1.5), ('open', inf)]
    """
    allowed = math.inf if joint_limit is None else joint_limit
    limits: tuple[tuple[Word, float], ...] = (
        ("closed", min(_THIN * glue_limit, allowed)),
        ("usable", min(glue_limit, allowed)),
        ("to fill", allowed),
        ("open", math.inf),
    )
    found: list[GapClass] = []
    over = 0.0
    for word, up_to in limits:
        if up_to > over:
            found.append(GapClass(word=word, over=over, up_to=up_to))
            over = up_to
    return GapScale(glue_limit=glue_limit, joint_limit=joint_limit, classes=tuple(found))


def gap_scale_of(design: Design) -> GapScale:
    """Return the scale of a design: of its glue and of its limit on joint gaps."""
    limit = design.limits.joint_gap
    most = math.inf if limit is None else limit_ends(limit)[1]
    return gap_scale(design.glue_limit, most if math.isfinite(most) else None)
