"""What `lapwright readings`, `learn` and `outcome` do; every import of theirs is on demand."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from assembly.errors import InputError
from viewer.commands.answer import Answer, Steps, attempted, written
from viewer.commands.jobs import folder_for
from viewer.commands.libraries import loading

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.learning.instruments import Instrument
    from assembly.learning.learned import Learned
    from assembly.learning.next_readings import Next
    from assembly.learning.posterior import Posterior
    from assembly.model.workshop import Workshop
    from viewer.commands.answer import Steps as Running
    from viewer.commands.jobs import Job
    from viewer.reports.output.record import Output

MINUTES = (1, 300)
MAKERS = (1, 500)
NEXT_CLASSES = 4_000


@dataclass(frozen=True, slots=True, kw_only=True)
class FormRequest:
    """What a form to fill in was asked for with."""

    makers: int | None
    minutes: int
    seed: int
    instruments: str | None


def form(job: Job, asked: FormRequest, to: str) -> list[str]:
    """Write the form and the page that says how it is filled in, and return their paths.

    Raises
    ------
    InputError
        If makers or minutes are out of their range.
    """
    makers = job.design.makers if asked.makers is None else asked.makers
    for option, found, (least, most) in (("--makers", makers, MAKERS), ("--minutes", asked.minutes, MINUTES)):
        if not least <= found <= most:
            msg = f"{option}: got {found}, must be {least} to {most}"
            raise InputError(msg)
    with loading("choosing readings"):
        from assembly.learning.form import chosen_rows, form_files
    from assembly.learning.instrument_files import read_instruments

    instruments = read_instruments(asked.instruments)
    folder = folder_for(to)
    with Steps() as steps:
        ranked = _next(job, None, instruments, asked.seed, steps)
    rows = chosen_rows(job.design, ranked, minutes=asked.minutes)
    return [
        file.as_posix() for file in form_files(job.design, job.workshop, rows, makers, instruments, folder / job.stem)
    ]


def _next(
    job: Job, posterior: Posterior | None, instruments: dict[str, Instrument], seed: int, steps: Running
) -> list[Next]:
    """Return what to measure next; nothing where Ctrl-C came before."""
    from assembly.learning.next_readings import what_next, with_priors
    from assembly.learning.unsure import unsure_counts
    from assembly.study.check import BoxModel

    draws = with_priors(job.design, job.workshop, posterior, seed=seed)
    model, makers = BoxModel(job.design, job.workshop), job.design.makers
    with steps.run("finding out what to measure") as run:
        found = steps.take(lambda: unsure_counts(model, draws, makers=makers, classes=NEXT_CLASSES, seed=seed, run=run))
    if found is None:
        return []
    return what_next(job.design, job.workshop, draws, found, instruments, posterior=posterior, seed=seed)


def taught(
    job: Job, files: Sequence[str], *, seed: int, instruments: str | None, to: str, details: bool = False
) -> Answer:
    """Return what readings teach of a job's workshop, its files written."""
    with loading("learning from readings"):
        from assembly.learning.learned import learn
        from assembly.learning.posterior import ready
    from assembly.files.writing import publish_each
    from assembly.learning.files import Draws, learned_files
    from assembly.learning.habits import habits_of, with_settings
    from assembly.learning.instrument_files import instruments_file, read_instruments
    from assembly.learning.other_design import others
    from assembly.learning.readings import read_readings
    from assembly.learning.unsure import unsure_counts
    from assembly.study.check import BoxModel
    from assembly.study.forecast import class_counts
    from viewer.reports.learning_report import Taught, taught_text

    known = read_instruments(instruments)
    readings = read_readings(files, job.design, job.workshop, known)
    folder = folder_for(to)
    with Steps() as steps:
        with steps.run("getting ready, which takes half a minute the first time"):
            ready()
        with steps.run(f"learning from {len(readings):,} readings") as run:
            learned = steps.take(lambda: learn(job.design, job.workshop, readings, seed=seed, run=run))
        assert learned
        found = learned.posterior
        file = folder / f"{job.stem}_learned.toml"
        found_anew = {each.instrument.name: each.found for each in learned.steadiness if each.used}
        better = folder / f"{job.stem}_instruments.csv"

        def write() -> list[str]:
            meant = learned_files(learned, file)
            meant |= {better: instruments_file((known | found_anew).values())} if found_anew else {}
            return [each.as_posix() for each in publish_each(meant)]

        names, unwritten = attempted(write)
        after = BoxModel(job.design, _as_learned(learned))
        another = others(readings, job.design, job.workshop)
        habits = [] if another else habits_of(job.design, learned.figures, learned.doubtful)
        with steps.run("trying settings") as run:
            settled = steps.take(lambda: with_settings(job.design, learned, habits, _as_learned, seed=seed, run=run))
        makers = job.design.makers
        with steps.run("simulating classes") as run:
            medians = steps.take(lambda: class_counts(after, makers=makers, seed=seed, run=run)[0])
        draws = Draws(quantities=found.quantities, draws=found.draws)
        with steps.run("simulating classes with what is not known") as run:
            unsure = steps.take(lambda: unsure_counts(after, draws, makers=makers, seed=seed, run=run))
        ranked = _next(job, found, known, seed, steps) if not steps.stopped else []
    told = Taught(
        learned=learned,
        another=tuple(another),
        habits=tuple(habits if settled is None else settled),
        medians=medians,
        unsure=unsure.classes if unsure else None,
        next_readings=tuple(ranked),
    )
    text = [taught_text(job.design, told, details=details), *written(names)]

    def data() -> Output:
        from viewer.reports.output.learning import learn_output

        return learn_output(told, files=names, partial=steps.stopped)

    return Answer(text="\n".join(text), data=data, partial=steps.stopped, unwritten=unwritten)


def _as_learned(learned: Learned) -> Workshop:
    """Return the workshop with the learned figures, as its file will be read."""
    import tomllib

    from assembly.learning.files import workshop_text
    from assembly.model import workshop

    return workshop.Workshop.model_validate(tomllib.loads(workshop_text(learned, "")))


def compared(job: Job, files: Sequence[str], *, seed: int, instruments: str | None, to: str) -> Answer:
    """Return how finished boxes compare with the forecast, the plot written."""
    with loading("comparing boxes with their forecast"):
        from assembly.learning.outcome_check import check_outcome
    from assembly.learning.boxes import read_boxes
    from assembly.learning.instrument_files import read_instruments
    from assembly.study.check import BoxModel
    from viewer.reports.outcome_report import outcome_text

    if seed < 0:
        msg = f"seed: got {seed}, must be 0 or more"
        raise InputError(msg)
    boxes = read_boxes(files, job.design, read_instruments(instruments))
    folder = folder_for(to)
    draws = job.draws()
    with Steps() as steps, steps.run("simulating classes") as run:
        model = BoxModel(job.design, job.workshop)
        found = steps.take(lambda: check_outcome(model, boxes, draws, seed=seed, run=run))
    assert found
    with loading("drawing plots"):
        from viewer.reports.outcome_plot import outcome_figure
    from viewer.reports.plots import write_figures

    figures = {folder / f"{job.stem}_outcome.{kind}": outcome_figure(job.design, found) for kind in ("svg", "png")}
    names, unwritten = attempted(lambda: write_figures(figures, "--to"))
    text = "\n".join([outcome_text(job.design, job.workshop, found), *written(names)])

    def data() -> Output:
        from viewer.reports.output.learning import outcome_output

        return outcome_output(found, files=names)

    return Answer(text=text, data=data, unwritten=unwritten)
