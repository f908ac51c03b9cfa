"""What `sheets` does: lays all pages out, sets them as a PDF and writes it with the class's form."""

from __future__ import annotations

from typing import TYPE_CHECKING

from assembly.errors import ExportError
from assembly.text import one_of
from viewer.commands import jobs
from viewer.commands.libraries import loading
from viewer.commands.paging import EDITIONS
from viewer.commands.progress import progress

if TYPE_CHECKING:
    from pathlib import Path

    from viewer.commands.jobs import Job
    from viewer.scene.scene import Scene

CAUSE_BOXES = 2_000  # for each operation; enough to tell which has the largest total effect on the joint gap
FORECAST_BOXES = 10_000
_TAIL = 16  # bytes within which a PDF ends (ISO 32000-1, 7.5.5, from memory)


def sheets_written(job: Job, to: str, *, reader: str, paper: str, seed: int) -> list[str]:
    """Write the sheets of a design and the form for its class, and return both files.

    Raises
    ------
    InputError
        If there is no such reader or paper, a part is too large for the paper, or words can't be set.
    """
    one_of("--for", reader, EDITIONS)
    with loading("setting sheets"):
        from viewer.sheets.book import book
        from viewer.sheets.page import paper_size
        from viewer.sheets.readings import readings
        from viewer.sheets.typeset import pdf, refuse_unknown
    from assembly.files.writing import publish
    from assembly.learning.form import form_text
    from assembly.learning.instrument_files import read_instruments

    size = paper_size(paper)
    refuse_unknown([job.design.name, *([job.design.plaque.wording] if job.design.plaque else [])])
    folder = jobs.folder_for(to)
    teacher = _teacher(job, seed) if reader == "teacher" else None
    with progress("setting sheets"):
        pages = book(job.design, job.workshop, apart(job), size, _causes(job, seed), teacher).pages
        with loading("setting sheets"):
            content = pdf(pages, job.design.name)
    form = form_text(readings(job.design), job.design.makers, read_instruments())
    ending = "_teacher" if reader == "teacher" else ""
    files = {
        folder / f"{job.stem}_sheets{ending}.pdf": content,
        folder / f"{job.stem}_sheets_readings.csv": form.encode(),
    }
    return [file.as_posix() for file in publish(files, whole)]


def whole(file: Path) -> None:
    """Refuse a PDF that has no end."""
    content = file.read_bytes()
    if file.suffix == ".pdf" and b"%%EOF" not in content[-_TAIL:]:
        msg = f"{file.name}: written, but it reads back without its end; nothing was kept; set the sheets again"
        raise ExportError(msg)


def _teacher(job: Job, seed: int) -> str:
    from viewer.commands.checking import StudyLength, checked

    return checked(job, StudyLength(boxes=FORECAST_BOXES), seed=seed).text


def _causes(job: Job, seed: int) -> list[str]:
    """Return the operations by their total effect on the joint gap, the largest first."""
    from assembly.study.check import BoxModel
    from assembly.study.sensitivity import causes

    found = causes(BoxModel(job.design, job.workshop), ("joint_gap",), boxes=CAUSE_BOXES, seed=seed)
    return [cause.name for cause in found.causes["joint_gap"]]


def apart(job: Job) -> Scene:
    """Return the nominal box taken apart."""
    box = jobs.built(job)
    from assembly.solids.box import box_arrays

    return jobs.apart(job, box_arrays(box))
