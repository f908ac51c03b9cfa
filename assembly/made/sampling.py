"""The errors of many boxes: class, maker and cut parts of every input, from numbered streams (MODEL.md, 2 and 5.1).

input : one random quantity of a model, with the number of places (cuts) at which it is drawn anew
part  : class part (shared by a class), maker part (shared by all places of a box), cut part (one for each place)
block : 10,000 boxes; every input has a stream of its own in every block, so that the same seed gives the same
        numbers whatever the threads, and changing one input leaves the draws of all others as they were

Boxes lie on the last axis of every array.
"""

from __future__ import annotations

import math
import zlib
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

from assembly.arrays import FloatArray
from assembly.errors import InputError
from assembly.model.workshop import ANGLES, HALF_WIDTH_PER_STD

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.model.workshop import Disturbance, Family

BLOCK = 10_000
Level = Literal["class", "maker", "cut"]
LEVELS: tuple[Level, ...] = ("class", "maker", "cut")


@dataclass(frozen=True, slots=True, kw_only=True)
class Input:
    """One random quantity of a model: its value at a place is bias + class part + maker part + cut part."""

    name: str
    group: str  # the operation it belongs to
    places: int = 1
    family: Family = "normal"
    bias: float = 0.0
    class_spread: float = 0.0
    maker_spread: float = 0.0
    spread: float = 0.0

    def level_spread(self, level: Level) -> float:
        """Return the standard deviation of one part."""
        return {"class": self.class_spread, "maker": self.maker_spread, "cut": self.spread}[level]

    @property
    def std(self) -> float:
        """Standard deviation of the value at one place."""
        return math.hypot(self.class_spread, self.maker_spread, self.spread)

    @property
    def limit(self) -> float:
        """Largest deviation from the bias in a worst case: 3 sd if normal, else the summed half-widths."""
        if self.family == "normal":
            return 3 * self.std
        return HALF_WIDTH_PER_STD[self.family] * (self.class_spread + self.maker_spread + self.spread)


def disturbed(name: str, places: int, disturbance: Disturbance) -> Input:
    """Return the input for a workshop's quantity; degrees become radians."""
    unit = math.radians(1) if name in ANGLES else 1.0
    return Input(
        name=name,
        group=name.partition(".")[0],
        places=places,
        family=disturbance.family,
        bias=disturbance.bias * unit,
        class_spread=disturbance.class_spread * unit,
        maker_spread=disturbance.maker_spread * unit,
        spread=disturbance.spread * unit,
    )


Draws = dict[tuple[str, Level], FloatArray]  # (input name, level) -> (rows, boxes), unit variance


def parts(inputs: Sequence[Input]) -> list[tuple[Input, Level, int]]:
    """Return every part that varies, with its number of rows: one for class and maker parts, else the places."""
    return [
        (each, level, each.places if level == "cut" else 1)
        for each in inputs
        for level in LEVELS
        if each.level_spread(level) > 0
    ]


def stream(seed: int, block: int, name: str, level: Level) -> np.random.Generator:
    """Return the random stream of one part in one block; the same whatever else the model has.

    Raises
    ------
    InputError
        If the seed is below 0: every study draws its numbers here, so none needs to ask.
    """
    if seed < 0:
        msg = f"seed: got {seed}, must be 0 or more"
        raise InputError(msg)
    key = [seed, block, zlib.crc32(name.encode()), LEVELS.index(level)]
    return np.random.Generator(np.random.SFC64(key))


def unit_draws(rng: np.random.Generator, family: Family, shape: tuple[int, int]) -> FloatArray:
    """Return draws of mean 0 and standard deviation 1."""
    if family == "normal":
        return rng.standard_normal(shape)
    if family == "uniform":
        return (2 * rng.random(shape) - 1) * HALF_WIDTH_PER_STD["uniform"]
    return (rng.random(shape) - rng.random(shape)) * HALF_WIDTH_PER_STD["triangular"]


def draw_block(inputs: Sequence[Input], boxes: int, *, seed: int, block: int, class_size: int = 1) -> Draws:
    """Return the unit draws of the first `boxes` boxes of a block; `class_size` boxes in a row share their class part.

    Every part of every box of the block is drawn even where fewer boxes are wanted, so that a shorter study is the
    start of a longer one.
    """
    draws: Draws = {}
    for each, level, rows in parts(inputs):
        rng = stream(seed, block, each.name, level)
        if level == "class":
            classes = unit_draws(rng, each.family, (rows, -(-BLOCK // class_size)))
            draws[each.name, level] = np.repeat(classes, class_size, axis=1)[:, :boxes]
        else:
            draws[each.name, level] = unit_draws(rng, each.family, (rows, BLOCK))[:, :boxes]
    return draws


def values(inputs: Sequence[Input], draws: Draws, window: slice = slice(None)) -> dict[str, FloatArray]:
    """Return the value of every input at each of its places: name -> (places, boxes in `window`).

    An input that does not vary comes as (places, 1).
    """
    out: dict[str, FloatArray] = {}
    for each in inputs:
        present = [level for level in reversed(LEVELS) if (each.name, level) in draws]
        units = [draws[each.name, level][:, window] * each.level_spread(level) for level in present]
        value = np.zeros((each.places, 1)) if not units or len(units[0]) < each.places else units.pop(0)
        for unit in units:
            value = np.add(value, unit, out=value if value.shape[1] == unit.shape[1] else None)
        if each.bias:
            value += each.bias
        out[each.name] = value
    return out
