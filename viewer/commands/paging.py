"""What `lapwright page` does: the scenes of the box and of its making, as one file for a browser.

The pupils' edition takes neither a study nor a graphics library. The teacher's has a study, a class, the box as it was
made and the search for a limit case, which take seconds.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from assembly.files.writing import publish
from assembly.text import one_of
from viewer.commands import jobs
from viewer.commands.libraries import loading
from viewer.commands.progress import progress

if TYPE_CHECKING:
    from viewer.commands.jobs import Job
    from viewer.page.teacher import ShownBox

EDITIONS = ("pupil", "teacher")
BOXES = 100_000  # of the teacher's study, as `lapwright check` has it
CLASSES = 1_000  # simulated for the forecast
SHOWN_TIMES = 10.0  # errors of the box as made are drawn so many times as large, or as many as can be drawn


def paged(job: Job, to: str, *, edition: str, seed: int) -> list[str]:
    """Write the page of a job and return the file written."""
    one_of("--for", edition, EDITIONS)
    folder = jobs.folder_for(to)
    with progress("making a page"):
        text = page_text(job, edition=edition, seed=seed)
    name = job.stem if edition == "pupil" else f"{job.stem}_teacher"
    files = publish({folder / f"{name}.html": text.encode()}, lambda _: None)  # bytes are compared as it is
    return [file.as_posix() for file in files]


def page_text(job: Job, *, edition: str, seed: int) -> str:
    """Return the page of a job as text."""
    box = jobs.built(job)
    with loading("making a page"):
        from viewer.page.page import page
        from viewer.page.teacher import ShownBox, key
    from assembly.made.gap_classes import gap_scale_of
    from assembly.planning.making import making_order
    from assembly.solids.box import box_arrays

    parts, order = box_arrays(box), making_order(job.design, job.workshop)
    drawn = ShownBox(title="As drawn", words="The parts are drawn without errors.", scene=jobs.apart(job, parts))
    more, sections = ([], "") if edition == "pupil" else _teachers(job, seed)
    patterns = key(gap_scale_of(job.design)) if more else ""
    facts = [part.facts for part in box.parts]
    steps = jobs.step_scenes(job, order, parts, (step.number for step in order.steps))
    return page(order, facts, [drawn, *more], steps, teacher=sections, key=patterns)


def _teachers(job: Job, seed: int) -> tuple[list[ShownBox], str]:
    """Return the boxes as they are made, and the sections on fits and on the class."""
    from assembly.study.check import check
    from assembly.study.forecast import forecast
    from viewer.page import teacher
    from viewer.reports.forecast_report import class_sentences, joint_sentences, limit_sentences, study_has_limits
    from viewer.reports.plots import class_forecast, gap_by_joint

    design = job.design
    study = check(design, job.workshop, boxes=BOXES, seed=seed)
    classed = forecast(design, job.workshop, classes=CLASSES, seed=seed)
    said = ["The design sets no limits, so there is nothing to forecast."]
    plots = {"How wide each joint opens": gap_by_joint(design, study)}
    if study_has_limits(study):
        said = [
            *class_sentences(design, study, classed),
            *limit_sentences(study, classed),
            *joint_sentences(classed),
        ]
        plots["How many boxes of a class come out good"] = class_forecast(design, classed.classes)
    return _as_made(job, seed), teacher.sections(design, study, said, plots)


def _as_made(job: Job, seed: int) -> list[ShownBox]:
    """Return a sampled box with its errors larger than they are, and the limit case of its widest joint."""
    from assembly.solids.as_made import drawable_times
    from viewer.commands.made_boxes import box_as_made, scene_as_made
    from viewer.page.teacher import ShownBox

    sampled, limit = box_as_made(job, "p95", seed=seed), box_as_made(job, "limit", seed=seed)
    times = min(SHOWN_TIMES, drawable_times(sampled.settled))
    titled = (
        (f"As made, errors {times:g} times as large", scene_as_made(job, sampled, times, 1.0)),
        ("Limit case", scene_as_made(job, limit, 1.0, 1.0)),
    )
    return [ShownBox(title=title, words=" ".join(one.caption.paragraphs), scene=one) for title, one in titled]
