"""The simplest readings: each maker reads several cuts of one quantity, so that quadrature can reach the posterior."""

import numpy as np
from scipy.interpolate import CubicSpline
from scipy.special import ndtr

from assembly.learning.features import Size, one
from assembly.learning.likelihood import Datum
from assembly.model.workshop import Disturbance

QUANTITY = "saw.offset"
# MODEL.md, 8.4: twelve makers, two readings each, rounded to 0.5.
TWELVE = ((1, 0.5), (1, 1.5), (0, 0.5), (-0.5, 0), (0, 0.5), (0, 0.5), (1, 1), (0, 1), (0.5, 1), (0, 0.5), (0.5, 0.5),
          (1.5, 0.5))  # fmt: skip
OF_TWELVE = Disturbance(bias=0.8, maker_spread=0.3, spread=0.4)
# O. L. Davies, Statistical Methods in Research and Production, 3rd ed. (1954): yields of six batches of dyestuff, five
# preparations each; read in the R package lme4, data set Dyestuff.
DYESTUFF = ((1545, 1440, 1440, 1520, 1580), (1540, 1555, 1490, 1560, 1495), (1595, 1550, 1605, 1510, 1560),
            (1445, 1440, 1595, 1465, 1545), (1595, 1630, 1515, 1635, 1625), (1520, 1455, 1450, 1480, 1445))  # fmt: skip


def data_of(readings, division, unsteadiness=1e-4):
    """Return readings (makers, cuts) as data of one class, each cut at a place of its own."""
    half = division / 2
    return [
        Datum(
            maker=(1, maker),
            size=Size(one(QUANTITY, str(place))),
            low=value - half,
            high=value + half,
            unsteadiness=unsteadiness,
        )
        for maker, values in enumerate(readings)
        for place, value in enumerate(values)
    ]


def log_likelihood(readings, half, bias, maker_spread, spread, nodes=48):
    """Return the log likelihood of rounded readings, makers' parts summed out by Gauss and Hermite."""
    at, weight = np.polynomial.hermite_e.hermegauss(nodes)
    level = (bias[..., None] + maker_spread[..., None] * at) / spread[..., None]
    known, total = {}, np.zeros(np.broadcast_shapes(bias.shape, spread.shape))
    for values in readings:
        inside = np.ones(level.shape)
        for value in values:
            if value not in known:
                known[value] = ndtr((value + half) / spread[..., None] - level) - ndtr(
                    (value - half) / spread[..., None] - level
                )
            inside = inside * known[value]
        with np.errstate(divide="ignore"):  # far from the readings
            total += np.log(inside @ weight / weight.sum())
    return total


def quadrature(readings, half, prior: Disturbance, bias_sd, log_sd=0.7, points=61):
    """Return bias, maker and cut spread as (values, mass) each, from a grid over all three."""
    b = prior.bias + bias_sd * np.linspace(-2.6, 1.6, points)
    m = prior.maker_spread * np.exp(log_sd * np.linspace(-3.6, 2.2, points))
    s = prior.spread * np.exp(log_sd * np.linspace(-2.2, 2.2, points))
    grid = np.meshgrid(b, m, s, indexing="ij")
    log = log_likelihood(readings, half, *grid) - 0.5 * ((grid[0] - prior.bias) / bias_sd) ** 2
    for at, each in ((1, prior.maker_spread), (2, prior.spread)):
        log -= 0.5 * (np.log(grid[at] / each) / log_sd) ** 2
    weight = np.exp(log - log.max())
    found = []
    for axis, values in enumerate((b, np.log(m), np.log(s))):  # a spread's log is evenly spaced
        fine = np.linspace(values[0], values[-1], 20_001)
        density = CubicSpline(values, weight.sum(axis=tuple({0, 1, 2} - {axis})))(fine)
        found.append((fine if axis == 0 else np.exp(fine), density / density.sum()))
    return found
