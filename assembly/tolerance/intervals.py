"""How sure a share is: intervals for a share counted over independent boxes."""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist

Z95 = NormalDist().inv_cdf(0.975)


@dataclass(frozen=True, slots=True, kw_only=True)
class Share:
    """A share with its interval, all between 0 and 1."""

    share: float
    low: float
    high: float


def wilson(kept: float, boxes: float, z: float = Z95) -> Share:
    """Return the share kept with Wilson's interval; `z` is the normal quantile, 95 % by default.

    Source: Wilson, J. Amer. Statist. Assoc. 22 (1927) 209-212.
    """
    if boxes <= 0:
        return Share(share=math.nan, low=0.0, high=1.0)
    share = kept / boxes
    shrink = 1 + z * z / boxes
    middle = (share + z * z / (2 * boxes)) / shrink
    half = z * math.sqrt(share * (1 - share) / boxes + z * z / (4 * boxes * boxes)) / shrink
    return Share(share=share, low=max(0.0, min(middle - half, share)), high=min(1.0, max(middle + half, share)))
