"""A display model: the box to a scale, with play, as drawn or as made, held against a printer's nozzle and plate.

clearance : the total gap between two faces that touch on the drawing, in the printed model, mm
thin      : a wall under two widths of the nozzle, which is named; under one width a printer makes none

What a model refuses comes with cures, each tried before it is told: one that is told has been built, and its walls and
its places on the plate judged, as the model itself is.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING

from assembly.errors import InputError, SolidError
from assembly.text import decimal, mm
from assembly.writers.formats import LEAST
from viewer.commands.libraries import loading
from viewer.commands.typed import as_typed, number

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from assembly.arrays import FloatArray
    from assembly.made.records import MadeFaces, SettledBox
    from assembly.model.design import Design
    from assembly.solids.box import BuiltBox
    from assembly.solids.thin import Wall
    from assembly.writers.plates import Plate
    from assembly.writers.threemf import Item

NOZZLE = 0.4  # mm; the commonest width of a printer's nozzle: common practice, no source
WIDTHS = 2  # of the nozzle; a wall under as many is named
MOST_CLEARANCE = 2.0  # mm; project choice
_CLEARANCES = 100  # steps of a clearance to 1 mm, finer than a printer: files are named after it
NOZZLES = (0.1, 2.0)  # mm; project choice, wider than what is sold
PLATES = (50.0, 1000.0)  # mm; the same
LEAST_LEFT = 0.05  # mm at true size; what play must leave of a wall that no nozzle is held against
_STEPS = 10  # scales are told to a tenth of N, as people type them


@dataclass(frozen=True, slots=True, kw_only=True)
class Thin:
    """A wall that is thin for the nozzle, at print scale, mm."""

    part: str
    wall: str
    size: float
    under_nozzle: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Model:
    """A model as it is to be printed."""

    design: Design
    size: float  # N of 1:N
    clearance: float = 0.0  # mm at print scale
    nozzle: float = 0.0  # mm; 0 where none is held against it
    plate: Plate | None = None
    made: SettledBox | None = None  # the box as made that it shows
    times: float = 1.0  # how many times as large its errors are shown
    told: tuple[str, ...] = ()  # what is wrong with the box as made, and how it is drawn, a sentence each

    @property
    def scale(self) -> float:
        """How large it is against the box."""
        return 1 / self.size

    def walls(self) -> tuple[Wall, ...]:
        """Return its walls, at true size."""
        from assembly.solids.easing import as_drawn, eased
        from assembly.solids.thin import walls_of

        faces = self.magnified()[0] if self.made else None
        return walls_of(eased(as_drawn(self.design, faces), self.clearance * self.size))

    def magnified(self) -> tuple[MadeFaces, FloatArray]:
        """Return faces and poses of the box as made, its errors as large as they are shown."""
        from assembly.solids.as_made import magnified

        assert self.made is not None
        return magnified(self.made, self.times)

    def box(self) -> BuiltBox:
        """Return it as solids, at true size."""
        with loading("building solids"):
            from assembly.solids.box import build  # manifold3d; the exact solids are built when STEP asks for them
            from assembly.solids.stood_clear import stood_clear

        made = build(self.design, *(self.magnified() if self.made else ()), gap=self.clearance * self.size)
        return replace(stood_clear(made) if self.made else made, name=self.title)

    @property
    def title(self) -> str:
        """What its files call it."""
        large = f", errors {self.times:g} times as large" if self.times != 1 else ""
        return f"{self.design.name}, as made{large}" if self.made else self.design.name


def clearance_of(words: str | None) -> float:
    """Return the clearance that was typed, mm; 0 where none was.

    Raises
    ------
    InputError
        If it is none, or finer than the names of files tell apart.
    """
    if words is None:
        return 0.0
    step = mm(1 / _CLEARANCES)
    allowed = f"0 to {mm(MOST_CLEARANCE)}, the gap that is left between two faces of the print, in steps of {step}"
    steps = _CLEARANCES * number("--clearance", words, (0, MOST_CLEARANCE), f"{allowed}, such as 0.2")
    if abs(steps - round(steps)) > 1e-9:
        least, most = (decimal(each / _CLEARANCES) for each in (math.floor(steps), math.ceil(steps)))
        msg = f"--clearance: got {as_typed(words)}, must be {allowed}; give {least} or {most}"
        raise InputError(msg)
    return round(steps) / _CLEARANCES


def nozzle_of(words: str | None) -> float:
    """Return the width of the nozzle that was typed, mm; `NOZZLE` where none was."""
    if words is None:
        return NOZZLE
    return number("--nozzle", words, NOZZLES, f"{decimal(NOZZLES[0])} to {mm(NOZZLES[1])}, such as {decimal(NOZZLE)}")


def plate_of(words: str) -> Plate:
    """Return the plate that words such as 220x220 mean.

    Raises
    ------
    InputError
        If they are not two sizes within `PLATES`, with an x between.
    """
    from assembly.writers.plates import Plate

    found = re.fullmatch(r"(\d{1,4}(?:\.\d{1,3})?)[x×](\d{1,4}(?:\.\d{1,3})?)", words.strip().lower())
    sides = tuple(map(float, found.groups())) if found else ()
    if not sides or not all(PLATES[0] <= side <= PLATES[1] for side in sides):
        allowed = f"width x depth, each {decimal(PLATES[0])} to {mm(PLATES[1])}, such as 220x220"
        msg = f"--plate: got {words!r}, must be {allowed}"
        raise InputError(msg)
    return Plate(*sides)


def thin_walls(model: Model) -> tuple[Thin, ...]:
    """Return a model's walls under two widths of its nozzle, those left under a blind hole aside.

    Raises
    ------
    InputError
        If a wall is missing or under one width of the nozzle, with what would do instead.
    """
    worst = _worst(model)
    if worst is not None:
        raise InputError(_too_thin(model, worst))
    named = [(wall, wall.size * model.scale) for wall in model.walls() if wall.bond != "left"]
    return tuple(
        Thin(part=wall.part, wall=wall.what, size=size, under_nozzle=_under(size, model.nozzle))
        for wall, size in named
        if _under(size, WIDTHS * model.nozzle)
    )


def held_to_plate(model: Model, box: BuiltBox) -> tuple[tuple[Item, ...], ...]:
    """Return the parts of a model on plates; none where no plate was asked for.

    Raises
    ------
    InputError
        If a part is larger than the plate, with what would do instead.
    """
    if model.plate is None:
        return ()
    with loading("laying out plates"):
        from assembly.writers.plates import footprint, on_plates

    items = _lying(model, box)
    large = [item for item in items if not model.plate.takes(*footprint(item))]
    if large:
        raise InputError(_too_large(model, large, items))
    return on_plates(items, model.plate)


def _under(size: float, least: float) -> bool:
    return size < least - 1e-9


def _worst(model: Model) -> Wall | None:
    """Return the thinnest wall that a model can't be printed with, None where there is none."""
    bad = []
    for wall in model.walls():
        least = max(LEAST_LEFT, model.nozzle * model.size if wall.bond == "made" else 0.0)
        if _under(wall.size, least):
            bad.append(wall)
    return min(bad, key=lambda wall: wall.size, default=None)


def _prints(model: Model) -> bool:
    """Tell whether a model is refused nothing: its walls, its solids, its places on the plate."""
    if _worst(model) is not None:
        return False
    try:
        box = model.box()
    except SolidError:
        return False
    if model.plate is None:
        return True
    from assembly.writers.plates import footprint

    return all(model.plate.takes(*footprint(item)) for item in _lying(model, box))


def _lying(model: Model, box: BuiltBox) -> tuple[Item, ...]:
    from assembly.solids.box import box_arrays
    from assembly.writers.threemf import lying_parts

    return lying_parts(box_arrays(box), model.scale)


def _too_thin(model: Model, wall: Wall) -> str:
    size, ratio = wall.size * model.scale, decimal(model.size)
    with_play = f" with a clearance of {mm(model.clearance)}" if model.clearance else ""
    against_nozzle = size > 0 and wall.bond == "made" and model.nozzle
    left = f"is {mm(size)}" if size > 0 else "is gone"
    left += f", under the nozzle's {mm(model.nozzle)}" if against_nozzle else ""
    option = "--clearance" if model.size == 1 and model.clearance else "--scale"
    cures = _that_do(_thicker(model))
    return f"{option}: at 1:{ratio}{with_play} the {wall.part}'s {wall.what} {left}; {_either(cures)}"


def _thicker(model: Model) -> Iterator[tuple[str, Model]]:
    """Yield what may do where a wall is too thin, each in words and as a model."""

    def stands(change: Callable[[float], Model], value: float) -> bool:
        return _worst(change(value)) is None

    larger = _largest(partial(stands, lambda value: replace(model, size=value)), 1, model.size, _STEPS)
    if larger is not None:
        yield f"--scale 1:{decimal(larger)}", replace(model, size=larger)
    closer = _largest(partial(stands, lambda value: replace(model, clearance=value)), 0, model.clearance, _CLEARANCES)
    if closer is not None and model.clearance:
        yield f"--clearance {decimal(closer)}", replace(model, clearance=closer)
    calmer = _largest(partial(stands, lambda value: replace(model, times=value)), 1, model.times, 10)
    if calmer is not None:
        yield f"--times {decimal(calmer)}", replace(model, times=calmer)
    finer = _largest(partial(stands, lambda value: replace(model, nozzle=value)), NOZZLES[0], model.nozzle, 100)
    if finer is not None:
        yield f"--nozzle {decimal(finer)}", replace(model, nozzle=finer)


def _largest(holds: Callable[[float], bool], least: float, most: float, steps: int) -> float | None:
    """Return the largest number of `steps` to 1 under `most` that holds, None where not even `least` does."""
    low, high = round(least * steps), math.ceil(most * steps)
    if low >= high or not holds(low / steps):
        return None
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if holds(middle / steps) else (low, middle)
    return low / steps


def _too_large(model: Model, large: list[Item], items: tuple[Item, ...]) -> str:
    from assembly.writers.plates import EDGE, Plate, footprint

    assert model.plate is not None
    sizes = [footprint(item) for item in items]
    longest, widest = (max(size[at] for size in sizes) for at in range(2))
    over = max(longest / (max(model.plate) - 2 * EDGE), widest / (min(model.plate) - 2 * EDGE))
    smaller = math.ceil(model.size * over * _STEPS - 1e-6) / _STEPS
    trials = [(f"--scale 1:{decimal(smaller)}", replace(model, size=smaller))] if smaller <= LEAST else []
    room = Plate(*(float(max(PLATES[0], math.ceil((size + 2 * EDGE) / 10) * 10)) for size in (longest, widest)))
    if max(room) <= PLATES[1]:
        trials.append((f"--plate {decimal(room.width)}x{decimal(room.depth)}", replace(model, plate=room)))
    part, (along, across) = max(((item.part.facts.name, footprint(item)) for item in large), key=lambda each: each[1])
    plate = f"{decimal(model.plate.width)} x {mm(model.plate.depth)}"
    both = ((f"{words} with {more}", thicker) for words, trial in trials for more, thicker in _thicker(trial))
    cures = _that_do(trials) or _that_do(both)
    lies = f"the {part} lies {decimal(along)} x {mm(across)} at 1:{decimal(model.size)}"
    return f"--plate: {lies}, too large for a plate of {plate} with {mm(EDGE)} free along its edges; {_either(cures)}"


def _that_do(trials: Iterable[tuple[str, Model]]) -> list[str]:
    return [words for words, trial in trials if _prints(trial)]


def _either(cures: list[str]) -> str:
    """Return the cures that were found to do, as the end of a message."""
    if not cures:
        return "no other --scale, --clearance, --times, --nozzle or --plate alone does; change several, or the design"
    return f"{' or '.join(cures)} would do"
