"""What `lapwright section` does, in a few steps: read, try, tell; no geometry kernel is loaded."""

from __future__ import annotations

import re
import zlib
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from assembly.errors import InputError
from viewer.commands.answer import Answer, Steps, attempted, partial_line, written
from viewer.commands.jobs import folder_for, read
from viewer.commands.libraries import loading

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.section.pairs import Table
    from assembly.section.variants import Keep
    from viewer.commands.jobs import Job
    from viewer.reports.output.record import Output
    from viewer.reports.section.pairs_table import Question

_LONGEST = 120  # letters of a map's name before it is cut short and numbered
KEEPS: dict[str, Keep] = {"outside": "outside", "inside": "inside"}


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionRequest:
    """What the command's words ask for; None: as the design has it."""

    lapped: str | None = None  # a number of mm, or a size with its unit such as "3/8 in"
    plain: str | None = None
    height: str | None = None
    timber: str | None = None
    keep: str = "outside"
    stock: str | None = None
    boxes: int = 20_000
    seed: int = 1
    to: str = "exports"
    details: bool = False

    @property
    def sizes(self) -> dict[str, float | None]:
        """Lapped, plain and height in mm; refused where one is no size."""
        return {name: _millimetres(f"--{name}", getattr(self, name)) for name in ("lapped", "plain", "height")}

    @property
    def kept(self) -> Keep:
        """The size that stays."""
        if self.keep not in KEEPS:
            msg = f"--keep: got {self.keep!r}, must be outside or inside"
            raise InputError(msg)
        return KEEPS[self.keep]


def _millimetres(option: str, text: str | None) -> float | None:
    from assembly.files.written_sizes import millimetres

    if text is None:
        return None
    try:
        return float(text)
    except ValueError:
        size = millimetres(text)
    if isinstance(size, str):
        msg = f"{option}: {size}"
        raise InputError(msg)
    return size


def answered(design: str, settings: Sequence[str] | None, workshop: str | None, asked: SectionRequest) -> Answer:
    """Return the answer for one section, or of every pair of a stock file where no thickness is asked about."""
    kept, _ = asked.kept, asked.sizes  # what is no size is refused before anything is read
    job = _unproven(read(design, settings, workshop))
    with loading("judging a section"):
        from assembly.files.stock import read_stock

        stock = read_stock(asked.stock) if asked.stock is not None else None
    if asked.lapped is None and asked.plain is None and stock is not None:
        return _table(job, stock, kept, asked, (*([workshop] if workshop else ()), *(settings or ())))
    return _one(job, stock, kept, asked)


def _unproven(job: Job) -> Job:
    """Take the mark "proven" from a section, or one with other lid screws, that was changed on the command line."""
    from assembly.changes.apply import apply
    from assembly.section.variants import NOT_PROVEN, unproves

    if not unproves(job.change):
        return job
    design, workshop = apply(NOT_PROVEN, job.design, job.workshop)
    return replace(job, design=design, workshop=workshop)


def _one(job: Job, stock: tuple[float, ...] | None, kept: Keep, asked: SectionRequest) -> Answer:
    from assembly.section.section import study_section
    from assembly.section.variants import changed, section_change
    from viewer.reports.section.page import section_text

    change = section_change(job.design, **asked.sizes, timber=asked.timber, keep=kept)
    tried = changed(job.design, change)
    with Steps() as steps, steps.run(f"simulating {asked.boxes:,} boxes of each section") as run:
        study = study_section(
            job.design, tried, job.workshop, keep=kept, stock=stock, boxes=asked.boxes, seed=asked.seed, run=run
        )
    lines = partial_line(study.partial, "the verdict, before the nearest cure was found")

    def data() -> Output:
        from viewer.reports.output.section import section_output

        return section_output(study, change)

    return Answer(
        text="\n".join([*lines, section_text(study, details=asked.details)]),
        data=data,
        kept=not study.verdict.fails,
        partial=study.partial,
    )


def _table(job: Job, stock: tuple[float, ...], kept: Keep, asked: SectionRequest, tries: Sequence[str]) -> Answer:
    from assembly.section.pairs import section_table
    from assembly.section.variants import varied
    from viewer.reports.section.pairs_table import Question, table_text

    vary = partial(varied, job.design, height=asked.sizes["height"], timber=asked.timber, keep=kept)
    with Steps() as steps, steps.run(f"trying {len(stock) ** 2} pairs of sections") as run:
        found = section_table(job.design, stock, job.workshop, vary=vary, boxes=asked.boxes, seed=asked.seed, run=run)
    question = Question(tried=vary(), present=job.design, keep=kept, stock=_named(asked))
    files, unwritten = list[str](), None
    if not found.partial:
        file = folder_for(asked.to) / f"{_stem(job, asked, tries)}.png"
        files, unwritten = attempted(lambda: _map(found, question, file))
    lines = partial_line(found.partial, f"{len(found.cells)} of {found.pairs} pairs, without a map")
    text = [*lines, table_text(question, stock, found), *written(files)]

    def data() -> Output:
        from viewer.reports.output.section import pairs_output

        return pairs_output(found, files)

    return Answer(
        text="\n".join(text),
        data=data,
        kept=any(cell.verdict is not None and not cell.verdict.fails for cell in found.cells),
        partial=found.partial,
        unwritten=unwritten,
    )


def _named(asked: SectionRequest) -> str:
    """Return a stock file's name without its folder and ending."""
    return Path(asked.stock or "").stem


def _stem(job: Job, asked: SectionRequest, tries: Sequence[str]) -> str:
    """Return the map's file name without its ending: all that another map of the same design may differ in.

    `tries` are the workshop and the settings of the command line.
    """
    other = [
        _named(asked),
        "inside" if asked.keep == "inside" else "",
        asked.timber or "",
        f"{asked.height} high" if asked.height else "",
        *(Path(each).stem if "=" not in each else each for each in tries),
    ]
    words = [re.sub(r"[^a-z0-9.]+", "-", word.casefold()).strip("-.") for word in other if word]
    name = "_".join([job.stem, "sections", *words])
    return name if len(name) <= _LONGEST else f"{name[:_LONGEST]}_{zlib.crc32(name.encode()):08x}"


def _map(found: Table, asked: Question, file: Path) -> list[str]:
    """Draw the map and return the file written."""
    from viewer.reports.section.pairs_map import section_map

    with loading("drawing the map"):
        from viewer.reports.plots import write_figures  # matplotlib, 1 s

        figure = section_map(
            found.cells, f"Which sections are sound: {asked.title}", asked.tried.makers, asked.outlined
        )
    return write_figures({file: figure}, "--to")
