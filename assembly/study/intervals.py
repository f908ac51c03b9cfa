"""How sure a share is: intervals for a share counted over independent boxes; and Student's t for figures over runs.

Wilson          : covers 95 % on average over the true shares; printed beside every share
Clopper-Pearson : covers at least 95 % whatever the true share; for whoever must guarantee one

Neither holds for boxes that depend on each other: boxes of one class, or points of one scramble (MODEL.md, 5.2).
"""

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


def clopper_pearson(kept: int, boxes: int, error: float = 0.05) -> Share:
    """Return the share kept with its exact interval, too short in at most `error` of all studies, whatever the share.

    Parameters
    ----------
    kept, boxes : int
        Of so many independent boxes, how many keep the limit.
    error : float
        Half of it on either side. Where none or all are kept the share can only err on one side, yet half stands:
        so the bound for 0 of n is 1 - 0.025^(1/n), about 3.7/n.

    Notes
    -----
    Source: Clopper & Pearson, Biometrika 26 (1934) 404-413; ends as quantiles of beta distributions.
    """
    if boxes <= 0:
        return Share(share=math.nan, low=0.0, high=1.0)
    low, high = _least(kept, boxes, error / 2), 1 - _least(boxes - kept, boxes, error / 2)
    return Share(share=kept / boxes, low=low, high=high)


def t95(freedom: int) -> float:
    """Return Student's t that 95 % stay within, on both sides; infinite where nothing is known of the spread."""
    from scipy.special import stdtrit  # noqa: PLC0415 - 0.1 s that a fixed count never needs

    return float(stdtrit(freedom, 0.975)) if freedom > 0 else math.inf


def _least(kept: int, boxes: int, error: float) -> float:
    """Return the share with which so many or more boxes are kept with probability `error`; 0 where none is kept."""
    if kept == 0:
        return 0.0
    if kept == boxes:
        return float(error ** (1 / boxes))
    from scipy.special import betaincinv  # noqa: PLC0415 - 0.1 s that a check in text never needs

    return float(betaincinv(kept, boxes - kept + 1, error))
