"""An instrument's own unsteadiness, found from things that were read over again, in place of the table's.

It is found where several read the same things, each with a number in the column reader, or one reads them again, with a
number in the column trial (`assembly.learning.two_way`). It counts in place of the table's where there is enough of it:
`ENOUGH` degrees of freedom, and a division that does not hide it. A division adds d²/12 to a variance (Sheppard; JCGM
100:2008, F.2.2.1), which is taken off; where the spread is below half a division that holds no more.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from itertools import groupby
from typing import TYPE_CHECKING

from assembly.learning.two_way import TwoWay, largest_layout, two_way

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from assembly.learning.instruments import Instrument
    from assembly.learning.readings import Reading
    from assembly.learning.two_way import Component

ENOUGH = 10  # degrees of freedom: the interval's ends are then within 0.74 and 1.59 of the figure
HIDDEN = 0.5  # divisions: of less spread a division says nothing
FROM = "found"
FEW, COARSE, BLADES, USED = "few", "coarse", "blades", "used"


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """A standard deviation and its 90 % interval, in the instrument's unit."""

    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Steadiness:
    """What was found of an instrument."""

    instrument: Instrument  # as the table has it
    things: int
    readers: int
    times: int
    freedom: int  # degrees of freedom of `own`
    own: Spread  # before it is rounded to the division
    between: Spread | None  # readers' own; None of a single one
    together: Spread | None  # interaction; None where none is found
    counts: str  # USED, or why the table's figure stays: FEW, COARSE or BLADES

    @property
    def used(self) -> bool:
        """Whether it counts in place of the table's."""
        return self.counts == USED

    @property
    def found(self) -> Instrument:
        """The instrument with what was found, and its source."""
        people = "1 reader" if self.readers == 1 else f"{self.readers} readers"
        times = "once" if self.times == 1 else f"{self.times} times"
        source = f"unsteadiness: {FROM} from {self.things} things that {people} read {times} each"
        return replace(self.instrument, given=round(self.own.value, 4), source=source)


def found_in(readings: Sequence[Reading]) -> list[Steadiness]:
    """Return what readings show of each instrument that read anything over again."""
    found = []
    for instrument, some in groupby(sorted(readings, key=_name), key=_name):
        mine = list(some)
        read: dict[object, dict[int, list[float]]] = defaultdict(lambda: defaultdict(list))
        for each in sorted(mine, key=lambda each: (each.key, each.trial)):
            read[each.thing][each.reader].append(each.value)
        layout = largest_layout(read)
        if layout is not None:
            values, _ = layout
            found.append(_steadiness(mine[0].instrument, values.shape, two_way(values)))
            assert found[-1].instrument.name == instrument
    return found


def _name(reading: Reading) -> str:
    return reading.instrument.name


def _steadiness(instrument: Instrument, shape: tuple[int, ...], found: TwoWay) -> Steadiness:
    freedom = (found.both.freedom if found.pooled else 0) + found.rest.freedom
    own = _spread(found.repeated, instrument.division**2 / 12)
    coarse = found.repeated.value**0.5 < HIDDEN * instrument.division
    counts = BLADES if instrument.blades else FEW if freedom < ENOUGH else COARSE if coarse else USED
    return Steadiness(
        instrument=instrument,
        things=shape[0],
        readers=shape[1],
        times=shape[2],
        freedom=freedom,
        own=own,
        between=_spread(found.between) if found.between else None,
        together=_spread(found.together) if found.together else None,
        counts=counts,
    )


def _spread(component: Component, less: float = 0.0) -> Spread:
    value, low, high = (max(each - less, 0.0) ** 0.5 for each in (component.value, component.low, component.high))
    return Spread(value=value, low=low, high=high)


def with_found(readings: Sequence[Reading], found: Sequence[Steadiness]) -> list[Reading]:
    """Return readings by instruments as found, where what was found counts."""
    better: Mapping[str, Instrument] = {each.instrument.name: each.found for each in found if each.used}
    return [replace(each, instrument=better.get(each.instrument.name, each.instrument)) for each in readings]
