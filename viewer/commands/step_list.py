"""The making as a list, for who looks for the number of a step."""

from __future__ import annotations

from typing import TYPE_CHECKING

from assembly.errors import InputError
from viewer.commands.showing import agreed_step

if TYPE_CHECKING:
    from viewer.commands.jobs import Job
    from viewer.commands.showing import PictureRequest


def steps_listed(job: Job, asked: PictureRequest, *, as_json: bool) -> str:
    """Return every step of the making with its number and its stage, and how each is drawn.

    Raises
    ------
    InputError
        If a picture, or the files of one, are asked for, too.
    """
    from assembly.planning.making import making_order
    from viewer.reports.check_report import table

    agreed_step(asked)
    if asked.spin is not None:
        msg = "--spin: turns one picture, and --step list draws none; give --step a number, or leave out --spin"
        raise InputError(msg)
    if as_json:
        msg = "--json: names the files of pictures, and --step list draws none; leave out one of them"
        raise InputError(msg)
    steps = making_order(job.design, job.workshop).steps
    rows = [(str(step.number), step.stage, step.action) for step in steps]
    heading = f"The making of {job.design.name} in {len(steps)} steps. One of them as a picture:"
    command = f"lapwright picture {job.typed} --step {steps[0].number}"
    return "\n".join([heading, command, "", table(("step", "stage", "what to do"), rows, words=(1, 2))])
