"""An example class for the frost watch whose true workshop is known: `python -m assembly.learning.example_class`.

It writes configs/example_readings.csv and configs/example_boxes.csv: an invented class of 26, simulated, which saws
wilder and gauges better than beginners are taken to. `TRUE` says how it is; the seed makes the files the same anywhere.
"""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING

import numpy as np

from assembly.files.reading import read_design, read_workshop
from assembly.files.shipped import configs_folder
from assembly.learning.boxes import COLUMNS as BOX_COLUMNS
from assembly.learning.boxes import BoxReading
from assembly.learning.features import FEATURES
from assembly.learning.form import chosen_rows, instrument_of
from assembly.learning.instrument_files import read_instruments
from assembly.learning.next_readings import Next
from assembly.learning.outcome_check import Reader, fixed_draws, forecast_boxes, read_off
from assembly.learning.readings import COLUMNS
from assembly.learning.simulated import figures_of, simulate
from assembly.model.workshop import Disturbance, Workshop, quantities
from assembly.nominal.frame import CORNERS
from assembly.study.check import BoxModel
from assembly.text import decimal

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

DESIGN, BEFORE, MAKERS, SEED = "frost_watch", "new_to_tools", 26, 20_261_014
MINUTES = 14
MISSING = 0.08  # share of readings that nobody took
# Where the class is not as beginners are taken to be; mm and degrees.
TRUE: dict[str, Disturbance] = {
    "saw.offset": Disturbance(bias=0.6, maker_spread=0.35, spread=0.55),
    "sand.offset": Disturbance(bias=0.25, maker_spread=0.10, spread=0.15),
    "lap_mark.offset": Disturbance(bias=0.10, maker_spread=0.10, spread=0.20),
    "lap_saw.offset": Disturbance(bias=0.45, maker_spread=0.25, spread=0.35),
    "gauge.offset": Disturbance(bias=0.05, maker_spread=0.12, spread=0.08),
    "chisel.offset": Disturbance(bias=0.20, maker_spread=0.15, spread=0.20),
    "hole_mark.offset": Disturbance(bias=0.0, maker_spread=0.10, spread=0.20),
}
# The features a teacher picked, the most telling first, and finished boxes as they are read.
PICKED = ("shoulder", "tongue", "waste", "length", "lap_line", "gauge_line", "thickness", "hole_off_x", "hole_off_y")
BOX_ROWS = (
    *(("joint_gap", corner, "feeler blades") for corner in CORNERS),
    *(("diagonal", corner, "steel rule to 0.5 mm") for corner in CORNERS[:2]),
    ("length", "", "steel rule to 0.5 mm"),
    ("width", "", "steel rule to 0.5 mm"),
    ("step", "", "feeler blades"),
)


def true_workshop() -> Workshop:
    """Return the class's true workshop."""
    before = read_workshop(BEFORE)
    table = before.operations.model_dump()
    for name, figures in TRUE.items():
        operation, _, quantity = name.partition(".")
        table[operation][quantity] = figures.model_dump()
    operations = type(before.operations).model_validate(table)
    return before.model_copy(update={"name": "The example class", "operations": operations})


def readings_text() -> str:
    """Return the readings of the class, as it would fill in its form."""
    design, workshop, instruments = read_design(DESIGN), true_workshop(), read_instruments()
    rng = np.random.default_rng(SEED)
    ranked = [Next(feature=name, share=1.0, gained=1.0) for name in PICKED]
    rows = [
        (row.feature.name, row.spot, instruments[instrument_of(row.feature, instruments)])
        for row in chosen_rows(design, ranked, minutes=MINUTES)
    ]
    figures = figures_of(workshop, quantities())
    found = simulate(design, workshop, figures, rows, {1: MAKERS}, rng)
    cells = []
    for each in found:
        value = "" if rng.random() < MISSING else _shown(each.value)
        where = (each.spot.part, each.spot.end, each.feature, each.spot.at)
        cells.append((*each.maker, *where, value, each.instrument.name, "2026-10-14"))
    return _table((*COLUMNS, "date"), cells)


def boxes_text() -> str:
    """Return the readings of the class's finished boxes."""
    design, workshop, instruments = read_design(DESIGN), true_workshop(), read_instruments()
    model, rng = BoxModel(design, workshop), np.random.default_rng(SEED + 1)
    plan = [
        BoxReading(maker=(1, maker), outcome=outcome, at=at, value=0.0, instrument=instruments[name])
        for maker in range(1, MAKERS + 1)
        for outcome, at, name in BOX_ROWS
    ]
    reader = Reader(model, plan, SEED)
    (rows,) = forecast_boxes(model, fixed_draws(workshop), reader.makers, classes=1, seed=SEED)
    cells = []
    for each in plan:
        true = reader.size(each, rows[:, :, each.maker[1] - 1])
        value = float(read_off(each.instrument, true, rng)[0])
        cells.append((*each.maker, each.outcome, each.at, _shown(value), each.instrument.name))
    return _table(BOX_COLUMNS, cells)


def _shown(value: float) -> str:
    return decimal(round(value, 2) + 0.0)


def _table(heads: tuple[str, ...], rows: Sequence[Sequence[object]]) -> str:
    page = io.StringIO()
    csv.writer(page, lineterminator="\n").writerows([heads, *rows])
    return page.getvalue()


def write_example(folder: Path | None = None) -> None:
    """Write both files into a folder, that of the shipped ones if none is given."""
    into = folder or configs_folder()
    (into / "example_readings.csv").write_text(readings_text(), encoding="utf-8")
    (into / "example_boxes.csv").write_text(boxes_text(), encoding="utf-8")


assert set(PICKED) <= set(FEATURES)

if __name__ == "__main__":
    write_example()
