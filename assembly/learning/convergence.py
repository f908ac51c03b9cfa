"""How well chains agree, and how many independent draws theirs are worth: split R-hat by ranks, effective size.

Source: Vehtari, Gelman, Simpson, Carpenter & Buerkner, Bayesian Analysis 16 (2021) 667-718, equations 3 to 15.
Arrays are (chains, draws, figures).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from assembly.arrays import FloatArray


def split(draws: FloatArray) -> FloatArray:
    """Return the halves of all chains as chains."""
    half = draws.shape[1] // 2
    return np.concatenate([draws[:, :half], draws[:, -half:]])


def normalised(draws: FloatArray) -> FloatArray:
    """Return the normal scores of the draws' ranks over all chains."""
    from scipy.special import ndtri  # noqa: PLC0415 - 0.1 s

    chains, number, figures = draws.shape
    order = draws.reshape(-1, figures).argsort(axis=0, kind="stable")  # draws of a continuous figure are never equal
    ranks = 1.0 + order.argsort(axis=0, kind="stable").reshape(chains, number, figures)
    return np.asarray(ndtri((ranks - 0.375) / (chains * number + 0.25)))


def _rhat(draws: FloatArray) -> FloatArray:
    number = draws.shape[1]
    between = number * draws.mean(axis=1).var(axis=0, ddof=1)
    within = draws.var(axis=1, ddof=1).mean(axis=0)
    return np.asarray(np.sqrt((within * (number - 1) / number + between / number) / within))


def rhat(draws: FloatArray) -> FloatArray:
    """Return the rank-normalised split R-hat of every figure, the larger of that of its draws and of their spread."""
    folded = np.abs(draws - np.median(draws, axis=(0, 1)))
    return np.maximum(*(_rhat(normalised(split(each))) for each in (draws, folded)))


def _ess(draws: FloatArray) -> FloatArray:
    """Return the effective size by Geyer's initial monotone sequence of the autocorrelations over all chains."""
    chains, number, figures = draws.shape
    size = 2 ** int(np.ceil(np.log2(2 * number)))
    off = draws - draws.mean(axis=1, keepdims=True)
    spectrum = np.fft.rfft(off, n=size, axis=1)
    covariance = np.fft.irfft(spectrum * spectrum.conj(), n=size, axis=1)[:, :number] / number
    within = covariance[:, 0].mean(axis=0) * number / (number - 1)
    total = within * (number - 1) / number + draws.mean(axis=1).var(axis=0, ddof=1)
    correlation = 1 - (within - covariance.mean(axis=0) * number / (number - 1)) / total
    correlation[0] = 1.0
    pairs = correlation[: number // 2 * 2].reshape(-1, 2, figures).sum(axis=1)
    positive = np.cumprod(pairs > 0, axis=0)
    monotone = np.minimum.accumulate(np.where(positive, pairs, 0.0), axis=0)
    tau = np.maximum(-1 + 2 * monotone.sum(axis=0), 1 / np.log10(chains * number))
    return np.asarray(chains * number / tau)


def ess(draws: FloatArray) -> FloatArray:
    """Return the effective size of every figure: the smaller of bulk and of both tails (5 and 95 %)."""
    sizes = [_ess(normalised(split(draws)))]
    for share in (0.05, 0.95):
        below = draws <= np.quantile(draws, share, axis=(0, 1))
        sizes.append(_ess(split(below.astype(np.float64))))
    return np.asarray(np.min(sizes, axis=0))
