"""Finished boxes as a class measured them, from CSV files: joint gaps by corner, diagonals, overall sizes, steps.

box : one box of one maker; its readings by outcome, each with where it was taken and between what the value lies
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from assembly.errors import ConfigError, InputError, Problem
from assembly.learning.csv_table import Line, Table, number_in, read_lines, table_file, whole_in
from assembly.model.outcomes import FRAME_OUTCOMES
from assembly.nominal.frame import CORNERS
from assembly.text import decimal, did_you_mean

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from assembly.learning.instruments import Instrument
    from assembly.model.design import Design

COLUMNS = ("class", "maker", "outcome", "at", "measured_mm", "instrument")
EMPTY = "is empty; `lapwright readings DESIGN` writes one to fill in"
DIAGONAL = "diagonal"
# What is read of a box, and where: both diagonals from corner to corner, gaps at each corner, all else once.
AT = {
    "joint_gap": CORNERS,
    DIAGONAL: ("right-back", "right-front"),
    **{name: ("",) for name, each in FRAME_OUTCOMES.items() if each.unit == "mm" and name not in
       {"joint_gap", "diagonal_difference"}},
}  # fmt: skip
REACH = 10.0  # mm off the drawn size that is believed


@dataclass(frozen=True, slots=True, kw_only=True)
class BoxReading:
    """One reading of a finished box."""

    maker: tuple[int, int]
    outcome: str  # of `AT`
    at: str
    value: float
    instrument: Instrument


def drawn(design: Design, outcome: str) -> float:
    """Return the drawn size of what is read; 0 of gaps and steps."""
    sizes = {"length": design.box.length, "width": design.box.width}
    return math.hypot(*sizes.values()) if outcome == DIAGONAL else sizes.get(outcome, 0.0)


def read_boxes(files: Sequence[str], design: Design, instruments: Mapping[str, Instrument]) -> list[BoxReading]:
    """Return the readings of boxes of some files, in an order that does not depend on that of lines and files.

    Raises
    ------
    InputError
        With every fault of all files.
    """
    found: dict[tuple[tuple[int, int], str, str], tuple[BoxReading, str, int]] = {}
    refused = []
    for file in dict.fromkeys(files):
        try:
            table = read_lines(table_file(file), COLUMNS, ("date",), EMPTY)
        except ConfigError as error:
            refused.append(str(error))
            continue
        faults = list(table.faults)
        for line in table.lines:
            made = _reading(line, table, design, instruments)
            if isinstance(made, list):
                faults += made
            elif before := found.get((made.maker, made.outcome, made.at)):
                where = f"line {before[2]}" if before[1] == file else f"line {before[2]} of {before[1]}"
                what = f"{where} reads the same place of the same box, {decimal(before[0].value)}; leave one out"
                faults.append(Problem(where="measured_mm", line=line.number, what=what))
            else:
                found[made.maker, made.outcome, made.at] = (made, file, line.number)
        if faults:
            refused.append(str(ConfigError(file, sorted(faults, key=lambda fault: fault.line or 0))))
    if not refused and not found:
        refused.append(f"{', '.join(files)}: no reading is filled in; fill in the column measured_mm of what was read")
    if refused:
        raise InputError("\n".join(refused))
    return [found[key][0] for key in sorted(found)]


def _reading(  # noqa: C901 - each column has its own fault
    line: Line, table: Table, design: Design, instruments: Mapping[str, Instrument]
) -> BoxReading | list[Problem]:
    """Return the reading of a line, or its faults; none where nothing was read."""
    cells = line.cells
    if not cells["measured_mm"]:
        return []
    faults: list[Problem] = []

    def fault(column: str, what: str) -> None:
        faults.append(Problem(where=column, line=line.number, what=what))

    group = whole_in(cells["class"], what="the class's number", cure="")
    maker = whole_in(cells["maker"], what="the maker's number", cure="; makers are numbers, never names")
    for column, number in (("class", group), ("maker", maker)):
        if isinstance(number, str):
            fault(column, number)
    outcome, at = cells["outcome"].casefold(), cells["at"].casefold()
    if outcome not in AT:
        cure = did_you_mean(outcome, AT, f"there are {', '.join(AT)}")
        fault("outcome", f"got {cells['outcome']!r}, nothing that is read of a box; {cure}")
    elif at not in AT[outcome]:
        allowed = f"one of {', '.join(AT[outcome])}" if AT[outcome] != ("",) else "blank"
        fault("at", f"{f'got {at!r}' if at else 'is blank'}, must be {allowed} for {outcome}")
    instrument = instruments.get(cells["instrument"].casefold())
    if instrument is None or instrument.unit != "mm":
        usable = [name for name, each in instruments.items() if each.unit == "mm"]
        cure = did_you_mean(cells["instrument"], usable, f"there are {', '.join(usable)}")
        fault("instrument", f"got {cells['instrument']!r}, no instrument that reads mm; {cure}")
    value = number_in(cells["measured_mm"], comma=table.comma)
    if isinstance(value, str):
        fault("measured_mm", value)
    elif outcome in AT and instrument and (what := _off(drawn(design, outcome), value, instrument)):
        fault("measured_mm", what)
    if faults or instrument is None:
        return faults
    assert isinstance(value, float)
    assert isinstance(group, int)
    assert isinstance(maker, int)
    return BoxReading(maker=(group, maker), outcome=outcome, at=at, value=value, instrument=instrument)


def _off(meant: float, value: float, instrument: Instrument) -> str:
    """Return what is wrong with a value where a size is meant, or nothing."""
    if abs(value - meant) > REACH:
        slip = f"; that is likely cm: write {decimal(10 * value)}" if abs(10 * value - meant) <= REACH else ""
        near = f"got {decimal(value)}, where {decimal(meant)} mm is drawn and at most {decimal(REACH)} off is believed"
        return near + (slip or "; read it again, or leave the cell blank")
    if not instrument.can_read(value):
        return f"got {decimal(value)}, which {instrument.name!r} does not show: {instrument.shows}; write what was read"
    return ""
