"""A form to fill in: rows worth taking in the minutes that a class has, and a page that says how each is read."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass
from typing import TYPE_CHECKING

from assembly.errors import ExportError
from assembly.files.writing import misread, publish
from assembly.learning.box_form import box_form_text, box_lines
from assembly.learning.features import FEATURES, Feature, Place, Spot
from assembly.learning.readings import COLUMNS, CORNERS_READ, nominal
from assembly.planning.making import making_order
from assembly.text import decimal

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from assembly.learning.instruments import Instrument
    from assembly.learning.next_readings import Next
    from assembly.model.design import Design
    from assembly.model.workshop import Workshop
    from assembly.planning.making import MakingOrder

WORTH = 0.002  # of the forecast's variance: what 20 readings would take away at the least
FIRST = 2  # readings of each feature by each maker before any gets more: one alone shows no maker's own spread


@dataclass(frozen=True, slots=True)
class FormRow:
    """One reading that each maker is asked for."""

    feature: Feature
    spot: Spot


def chosen_rows(design: Design, ranked: Sequence[Next], *, minutes: float) -> list[FormRow]:
    """Return the readings that a maker takes in so many minutes, in the order of the making.

    Features are taken in their rank, two readings of each that is worth it, then one more of each in turn.
    """
    worth = [FEATURES[each.feature] for each in ranked if each.gained >= WORTH] or [*FEATURES.values()][:1]
    left = 60.0 * minutes
    chosen: list[FormRow] = []
    spots = {each.name: _spots(each, design) for each in worth}
    take = FIRST
    while any(spots.values()):
        before = len(chosen)
        for feature in worth:
            for spot in spots[feature.name][:take]:
                if feature.seconds <= left:
                    chosen.append(FormRow(feature, spot))
                    spots[feature.name].remove(spot)
                    left -= feature.seconds
        if len(chosen) == before:
            break
        take = 1
    order = list(FEATURES)
    return sorted(chosen, key=lambda row: order.index(row.feature.name))


def _spots(feature: Feature, design: Design) -> list[Spot]:
    """Return where a feature is read: from one to the next another piece and another corner."""
    found = feature.spots(design)
    if feature.name == "length":  # up to three corners of a piece
        corners = list(dict.fromkeys(spot.at for spot in found))[:CORNERS_READ]
        found = [spot for spot in found if spot.at in corners]
    by_corner: dict[str, list[Spot]] = {}
    for spot in found:
        by_corner.setdefault(spot.at, []).append(spot)
    groups = [each[turn % len(each) :] + each[: turn % len(each)] for turn, each in enumerate(by_corner.values())]
    return [group[at] for at in range(len(groups[0])) for group in groups]


def form_files(
    design: Design,
    workshop: Workshop,
    rows: Sequence[FormRow],
    makers: int,
    instruments: Mapping[str, Instrument],
    stem: Path,
) -> tuple[Path, ...]:
    """Write the form of parts, that of finished boxes and the page of both, all or none, and return their paths."""
    folder, name = stem.parent, stem.name
    page = page_text(design, workshop, rows, instruments)
    page += "\n" + "\n".join(box_lines(f"{name}_boxes.csv", instruments))
    texts = {"readings.csv": form_text(rows, makers, instruments), "boxes.csv": box_form_text(makers, instruments)}
    files = {folder / f"{name}_{end}": text.encode() for end, text in (texts | {"readings.md": page}).items()}
    lengths = {len(list(csv.reader(io.StringIO(text)))) for text in texts.values()}

    def check(draft: Path) -> None:
        if draft.suffix == ".csv" and len(list(csv.reader(io.StringIO(draft.read_text())))) not in lengths:
            raise misread(draft, "with other rows")

    try:
        return publish(files, check)
    except UnicodeDecodeError as error:  # pragma: no cover - our own text
        raise ExportError(str(error)) from error


def instrument_of(feature: Feature, instruments: Mapping[str, Instrument]) -> str:
    """Return the instrument that suits a feature, of those that there are."""
    fitting = [name for name, each in instruments.items() if each.unit == feature.unit]
    return feature.instrument if feature.instrument in instruments else next(iter(fitting), "")


def form_text(rows: Sequence[FormRow], makers: int, instruments: Mapping[str, Instrument]) -> str:
    """Return the form as CSV: a line for each reading of each maker, nothing measured yet."""
    page = io.StringIO()
    sheet = csv.writer(page, lineterminator="\n")
    sheet.writerow(COLUMNS)
    for maker in range(1, makers + 1):
        for row in rows:
            where = (row.spot.part, row.spot.end, row.feature.name, row.spot.at)
            sheet.writerow([1, maker, *where, "", instrument_of(row.feature, instruments)])
    return page.getvalue()


def page_text(
    design: Design, workshop: Workshop, rows: Sequence[FormRow], instruments: Mapping[str, Instrument]
) -> str:
    """Return the page that says how each reading is taken, with what, and after which step of the making."""
    order, seconds = making_order(design, workshop), sum(row.feature.seconds for row in rows)
    used = dict.fromkeys(instrument_of(row.feature, instruments) for row in rows)
    lines = [
        f"# How to measure the parts of: {design.name}",
        "",
        f"Each maker reads {len(rows)} sizes, about {decimal(round(seconds / 60))} minutes in all.",
        "Write the number that you read into the column measured_mm, as the instrument shows it; angles in degrees.",
        "Leave a cell blank that nobody read. Makers are numbers, never names; another class gets another number.",
        "Each row says where: part is the wall, by the name on it; end is the side that its end points to; at is a",
        "corner of that end: on the inside or outside face, at the bottom or top edge, as the box stands.",
        "Where several read the same thing, add a column reader with the reader's number; where one reads it again, a",
        "column trial: 1 the first time, 2 the second.",
        "Of a stack of feeler blades write the thickest single blade of the set that is no thicker.",
        "Steps are those of `lapwright picture --step N`.",
        "",
        "What each instrument shows; a file of your own takes their place with --instruments:",
        "",
        *(f"- {name}: {instruments[name].shows}" for name in used if name in instruments),
        "",
    ]
    for name in dict.fromkeys(row.feature.name for row in rows):
        feature = FEATURES[name]
        here = [row for row in rows if row.feature.name == name]
        count = len(here)
        times = "once" if count == 1 else f"{count} times"
        lines += [
            f"## {name}, {times}",
            "",
            f"When: {moment(feature, order)}. With: {instrument_of(feature, instruments)}.",
            "",
            feature.how,
            "",
            f"Drawn: {'; '.join(_drawn(row, design, workshop) for row in here)}.",
            "",
        ]
    lines += [
        "Your own rules, your risk assessment and competent supervision come first.",
        "Measure when the tool is at rest and put away.",
        "",
    ]
    return "\n".join(lines)


def _drawn(row: FormRow, design: Design, workshop: Workshop) -> str:
    """Return where a row is read, and the size there without errors."""
    where = " ".join(word for word in (row.spot.part, row.spot.end, row.spot.at) if word)
    return f"{where} {decimal(round(nominal(row.feature, Place(design, workshop, row.spot)), 1))}"


def moment(feature: Feature, order: MakingOrder) -> str:
    """Return when a feature is read: before the first step, or after the last step of its operation."""
    if not feature.after:
        return "before the first step, as the timber came"
    steps = [step for step in order.steps if step.operation in feature.after]
    return f"after step {steps[-1].number} ({steps[-1].stage})" if steps else "when the box is made"
