"""Walls that are spoilt however often they are made again: refused, with what is wrong with them and a cure that holds.

No number of spares is enough for a class in which over `MOST` of the walls of a kind are given up. A cure is applied
and tried on the same makers before it is named.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from assembly.changes.apply import apply
from assembly.changes.change import asked
from assembly.errors import ConfigError, InputError
from assembly.nominal.frame import frame
from assembly.order.making_again import BLANKS, FAULTS, KINDS
from assembly.order.spoilt_classes import WALLS
from assembly.text import decimal, mm

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.arrays import IntArray
    from assembly.model.workshop import Scrap
    from assembly.order.spoilt_classes import WallModel

MAKERS = 1_000  # who are tried, each of a class of its own
MOST = 0.01  # share of walls of a kind that may be given up
COUNTS = 0.05  # share of the walls given up from which on a fault is named, and eased by a cure
EASIER = (1.25, 1.5, 2.0, 3.0, 4.0, 6.0, 8.0)  # how many times what is allowed a cure may allow
THICKER = 20  # mm that a cure may add to the lapped walls
_SAID = {
    "short": "shorter than meant by more than {}",
    "overcut": "with a lap cut too deep by more than {}",
    "tongue": "with a tongue thinner than {}",
}


def refuse_never_good(model: WallModel, *, seed: int) -> None:
    """Refuse walls of which no number of blanks makes enough good ones.

    Raises
    ------
    InputError
        If tongues are drawn no thicker than they must be, or over 1 % of the walls of a kind are given up.
    """
    if _drawn_too_thin(model):
        raise InputError(_too_thin_words(model, seed))
    given_up = _given_up(model, seed)
    if _too_many(given_up):
        raise InputError(_given_up_words(model, given_up, seed))


def _drawn_too_thin(model: WallModel) -> bool:
    return frame(model.design).tongue < model.workshop.scrap.tongue + 1e-9


def _given_up(model: WallModel, seed: int) -> IntArray:
    """Return how many of the walls of those who are tried are given up: (kinds, faults)."""
    return model.block(MAKERS, size=1, seed=seed, block=0).given_up


def _too_many(given_up: IntArray) -> bool:
    return bool((given_up.sum(axis=1) > MOST * WALLS * MAKERS).any())


def _holds(model: WallModel, settings: Sequence[str], seed: int) -> bool:
    """Tell whether enough walls come good with some settings."""
    try:
        design, workshop = apply(asked(settings), model.design, model.workshop)
    except ConfigError:
        return False
    changed = replace(model, design=design, workshop=workshop)
    return not _drawn_too_thin(changed) and not _too_many(_given_up(changed, seed))


def _too_thin_words(model: WallModel, seed: int) -> str:
    drawn, asked_for = frame(model.design).tongue, model.workshop.scrap.tongue
    lower = [[f"workshop.scrap.tongue={decimal(n / 10)}"] for n in range(math.ceil(10 * drawn) - 1, -1, -1)]
    now = math.floor(model.design.timber.lapped)
    thicker = [[f"timber.lapped={now + n}"] for n in range(1, THICKER + 1)]
    return (
        f"workshop {model.workshop.name!r}: scrap.tongue has a wall spoilt with a tongue under {mm(asked_for)}, "
        f"and the design draws tongues of {mm(drawn)}, so every lapped wall would be; "
        f"{_cure(model, seed, lower, thicker)}"
    )


def _given_up_words(model: WallModel, given_up: IntArray, seed: int) -> str:
    scrap, kind = model.workshop.scrap, int(given_up.sum(axis=1).argmax())
    share = given_up[kind].sum() / (WALLS * MAKERS)
    easier = [_eased(scrap, _faults(given_up.sum(axis=0)), times) for times in EASIER]
    said = [f"{_SAID[fault].format(mm(getattr(scrap, fault)))} (scrap.{fault})" for fault in _faults(given_up[kind])]
    return (
        f"workshop {model.workshop.name!r}: {decimal(100 * share)} % of {KINDS[kind]} walls are spoilt from {BLANKS} "
        f"blanks in a row, {' or '.join(said)}, and at most {decimal(100 * MOST)} % may be, as no number of spares is "
        f"enough then; {_cure(model, seed, easier)}"
    )


def _faults(given_up: IntArray) -> list[str]:
    """Return the faults that count, of walls given up by fault."""
    return [fault for fault, walls in zip(FAULTS, given_up, strict=True) if walls > COUNTS * given_up.sum()]


def _eased(scrap: Scrap, faults: Sequence[str], times: float) -> list[str]:
    """Return the settings that allow so many times as much of some faults."""
    eased = {"short": scrap.short * times, "overcut": scrap.overcut * times, "tongue": scrap.tongue / times}
    return [f"workshop.scrap.{fault}={decimal(round(eased[fault], 2))}" for fault in faults]


def _cure(model: WallModel, seed: int, *ways: Sequence[Sequence[str]]) -> str:
    """Return what to do about it: of each way the first settings with which enough walls come good."""
    found = (next((settings for settings in way if _holds(model, settings, seed)), None) for way in ways)
    typed = [" ".join(f"--set {setting}" for setting in settings) for settings in found if settings]
    return f"{' or '.join(typed)} will do" if typed else "make the biases and spreads of its operations smaller"
