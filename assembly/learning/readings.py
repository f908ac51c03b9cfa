"""Readings of parts, from CSV files that a class filled in, and what they say to a chain.

reading : who made the part (class and maker, by number), where it was read, what it read, with what
reader  : by number, who read it, where several read the same thing
trial   : by number, which time the reader reads it, where one reads the same thing again
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from assembly.data.tables import INCH
from assembly.errors import ConfigError, InputError, Problem
from assembly.learning.csv_table import Line, Table, number_in, read_lines, table_file, whole_in
from assembly.learning.features import FEATURES, Feature, Place, Spot
from assembly.learning.likelihood import Datum
from assembly.text import decimal, did_you_mean

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping, Sequence

    from assembly.learning.instruments import Instrument
    from assembly.model.design import Design
    from assembly.model.workshop import Workshop

SHARED = 5  # places that two files read of one class, from which on they are likely two classes
COLUMNS = ("class", "maker", "part", "end", "feature", "at", "measured_mm", "instrument")
OPTIONAL = ("reader", "trial", "date")
EMPTY = "is empty; `lapwright readings DESIGN` writes one to fill in"
Shared = tuple[int, str, str]  # a class, and two files that have readings of it
Fault = Callable[[str, str], None]  # takes a column and what is wrong in it
LARGE = 3.0  # mm: of what is drawn larger, a third is the most that a reading may be off; of what is smaller,
OFF = 5.0  # mm so much
CORNERS_READ = 3  # of a piece's length, at the most: of a flat end the fourth follows


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One reading."""

    maker: tuple[int, int]  # class, maker
    feature: str
    spot: Spot
    value: float  # mm, or degrees
    instrument: Instrument
    reader: int
    trial: int
    date: str
    file: str
    line: int

    @property
    def thing(self) -> tuple[tuple[int, int], str, Spot]:
        """What was read."""
        return self.maker, self.feature, self.spot

    @property
    def key(self) -> tuple[tuple[int, int], int, Spot, int, int, float]:
        """Its place among all readings, whatever the order of lines and files."""
        return self.maker, list(FEATURES).index(self.feature), self.spot, self.reader, self.trial, self.value


def read_readings(
    files: Sequence[str], design: Design, workshop: Workshop, instruments: Mapping[str, Instrument]
) -> list[Reading]:
    """Return the readings of some files, in an order that does not depend on that of lines and files.

    Raises
    ------
    InputError
        With every fault of all files.
    """
    reader = _Reader(design, workshop, instruments)
    found: list[Reading] = []
    faults: dict[str, list[Problem]] = {file: [] for file in files}
    for file in dict.fromkeys(files):
        try:
            table = read_lines(table_file(file), COLUMNS, OPTIONAL, EMPTY)
        except ConfigError as error:
            faults[file] += error.problems
            continue
        faults[file] += table.faults
        for line in table.lines:
            made = reader.reading(line, table, file)
            if isinstance(made, Reading):
                found.append(made)
            else:
                faults[file] += made
    shared = _shared_classes(found)
    for one in [*shared.values(), *_twice(found, shared), *_too_many_corners(found)]:
        faults[one[0]].append(one[1])
    refused = [str(ConfigError(file, sorted(some, key=_line))) for file, some in faults.items() if some]
    if refused:
        raise InputError("\n".join(refused))
    if not found:
        msg = f"{', '.join(files)}: no reading is filled in; fill in the column measured_mm of what was read"
        raise InputError(msg)
    return sorted(found, key=lambda each: each.key)


def _line(fault: Problem) -> int:
    return fault.line or 0


def data_of(readings: Sequence[Reading], design: Design, workshop: Workshop) -> list[Datum]:
    """Return what readings say, in their order."""
    data = []
    for each in readings:
        low, high = each.instrument.interval(each.value)
        size = FEATURES[each.feature].size(Place(design, workshop, each.spot))
        unsteady = each.instrument.unsteadiness
        data.append(Datum(maker=each.maker, size=size, low=low, high=high, unsteadiness=unsteady))
    return data


class _Reader:
    """Reads lines of one design's readings."""

    def __init__(self, design: Design, workshop: Workshop, instruments: Mapping[str, Instrument]) -> None:
        self.design, self.workshop, self.instruments = design, workshop, instruments
        self.spots = {name: found for name, each in FEATURES.items() if (found := each.spots(design))}

    def reading(self, line: Line, table: Table, file: str) -> Reading | list[Problem]:
        """Return the reading of a line, or its faults; none where nothing was read."""
        cells = line.cells
        if not cells["measured_mm"]:
            return []
        faults: list[Problem] = []

        def fault(column: str, what: str) -> None:
            faults.append(Problem(where=column, line=line.number, what=what))

        numbers: dict[str, int] = {}
        for column, cell, what, cure in (
            ("class", cells["class"], "the class's number", ""),
            ("maker", cells["maker"], "the maker's number", "; makers are numbers, never names"),
            ("reader", cells.get("reader") or "1", "the reader's number", ""),
            ("trial", cells.get("trial") or "1", "the number of the time that it was read", ""),
        ):
            number = whole_in(cell, what=what, cure=cure)
            if isinstance(number, str):
                fault(column, number)
            else:
                numbers[column] = number
        feature, spot = self._feature(cells, fault), None
        if feature:
            spot = self._spot(feature, cells, fault)
        instrument = self.instruments.get(cells["instrument"].casefold())
        if instrument is None:
            fault("instrument", f"got {cells['instrument']!r}, no such instrument; {self._meant(cells['instrument'])}")
        value = number_in(cells["measured_mm"], comma=table.comma)
        if isinstance(value, str):
            fault("measured_mm", value)
        elif feature and spot and instrument:
            self._judge(feature, spot, instrument, value, fault)
        if faults or not (feature and spot and instrument and isinstance(value, float)):
            return faults
        return Reading(
            maker=(numbers["class"], numbers["maker"]),
            feature=feature.name,
            spot=spot,
            value=value,
            instrument=instrument,
            reader=numbers["reader"],
            trial=numbers["trial"],
            date=cells.get("date", ""),
            file=file,
            line=line.number,
        )

    def _meant(self, word: str) -> str:
        """Return which instrument may be meant; all where a division is: one near in letters is far in mm."""
        every = f"there are {', '.join(self.instruments)}"
        return every if any(sign.isdigit() for sign in word) else did_you_mean(word, self.instruments, every)

    def _feature(self, cells: Mapping[str, str], fault: Fault) -> Feature | None:
        name = cells["feature"].casefold()
        if name in self.spots:
            return FEATURES[name]
        if name in FEATURES:
            fault("feature", f"{name!r} is of a part that this design does not have; it has {', '.join(self.spots)}")
        else:
            cure = did_you_mean(name, self.spots, f"there are {', '.join(self.spots)}")
            fault("feature", f"got {cells['feature']!r}, no such feature; {cure}")
        return None

    def _spot(self, feature: Feature, cells: Mapping[str, str], fault: Fault) -> Spot | None:
        asked = Spot(*(cells[name].casefold() for name in ("part", "end", "at")))
        left = self.spots[feature.name]
        if asked in left:
            return asked
        for name in ("part", "end", "at"):
            allowed = list(dict.fromkeys(getattr(each, name) for each in left))
            found = getattr(asked, name)
            if found not in allowed:
                words = ", ".join(allowed) if allowed != [""] else "blank"
                shown = f"got {found!r}" if found else "is blank"
                fault(name, f"{shown}, must be {'one of ' if len(allowed) > 1 else ''}{words} for {feature.name}")
                return None
            left = [each for each in left if getattr(each, name) == found]
        return None

    def _judge(self, feature: Feature, spot: Spot, instrument: Instrument, value: float, fault: Fault) -> None:
        if instrument.unit != feature.unit:
            fault("instrument", f"{instrument.name!r} reads {instrument.unit}, and {feature.name} is in {feature.unit}")
            return
        drawn = nominal(feature, Place(self.design, self.workshop, spot))
        reach = drawn / 3 if drawn > LARGE else OFF
        if abs(value - drawn) > reach:
            slips = ((10, "cm"), (INCH, "inches"), (0.1, "tenths of a mm"))
            slip = next((f"; that is likely {unit}: write {decimal(round(value * times, 1))}" for times, unit in slips
                         if abs(value * times - drawn) <= reach / 2), "")  # fmt: skip
            unit = "mm" if feature.unit == "mm" else "degrees"
            fault(
                "measured_mm",
                f"got {decimal(value)}, where {decimal(drawn)} {unit} is drawn and at most {decimal(reach)} off is "
                f"believed{slip or '; read it again, or leave the cell blank'}",
            )
        elif not instrument.can_read(value):
            fault(
                "measured_mm",
                f"got {decimal(value)}, which {instrument.name!r} does not show: {instrument.shows}; write what was "
                "read, or name the instrument that it was read with",
            )


def nominal(feature: Feature, place: Place) -> float:
    """Return the size without errors."""
    size = feature.size(place)
    return size.form.const + sum(min(first.const, second.const) for first, second in size.pairs)


def _twice(readings: Sequence[Reading], told: Collection[Shared]) -> list[tuple[str, Problem]]:
    """Return a fault for each line that reads what an earlier one did, by the same reader at the same time.

    Of files that are `told` to share a class each by itself.
    """
    first: dict[object, Reading] = {}
    found = []
    for each in readings:
        key = each.thing, each.reader, each.trial
        before = first.setdefault(key, each)
        if (each.maker[0], before.file, each.file) in told:
            before = first.setdefault((each.file, *key), each)
        if before is not each:
            where = f"line {before.line}" if before.file == each.file else f"line {before.line} of {before.file}"
            differs = (
                f"reads {decimal(each.value)}, and {where} {decimal(before.value)} for the same place of the same maker"
            )
            same = f"says the same as {where}"
            cure = "leave one out, or number those who read in a column reader, or their readings in a column trial"
            what = f"{same if before.value == each.value else differs}; {cure}"
            found.append((each.file, Problem(where="measured_mm", line=each.line, what=what)))
    return found


def _shared_classes(readings: Sequence[Reading]) -> dict[Shared, tuple[str, Problem]]:
    """Return a fault for each class that two files read much of, each with other numbers: likely two classes."""
    pairs: dict[Shared, list[bool]] = {}
    first: dict[object, Reading] = {}
    for each in readings:
        before = first.setdefault((each.thing, each.reader, each.trial), each)
        if before.file != each.file:
            pairs.setdefault((each.maker[0], before.file, each.file), []).append(before.value != each.value)
    found = {}
    for (number, one, two), differ in pairs.items():
        if len(differ) >= SHARED and sum(differ) > len(differ) / 2:
            what = (
                f"{one} has readings of class {number}, too: {len(differ)} of the same places, {sum(differ)} of them "
                "with other numbers; if these are two classes, write another number in the column class of one file; "
                "if not, number those who read in a column reader, or their readings in a column trial"
            )
            found[number, one, two] = (two, Problem(where="class", line=None, what=what))
    return found


def _too_many_corners(readings: Sequence[Reading]) -> list[tuple[str, Problem]]:
    """Return a fault for each reading of a fourth corner of a piece's length."""
    corners: dict[object, list[str]] = {}
    found = []
    for each in readings:
        if each.feature == "length":
            known = corners.setdefault((each.maker, each.spot.part), [])
            if each.spot.at not in known:
                known.append(each.spot.at)
                if len(known) > CORNERS_READ:
                    what = "is the fourth corner of one piece, which follows from the other three; leave one blank"
                    found.append((each.file, Problem(where="at", line=each.line, what=what)))
    return found
