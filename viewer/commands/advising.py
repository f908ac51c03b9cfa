"""What `lapwright advise` does: reads what changes cost and what is on sale, searches, and tells."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from assembly.errors import InputError
from assembly.files.number_words import number_meant, share_meant
from viewer.commands.answer import Answer, Steps, partial_line
from viewer.commands.libraries import loading
from viewer.commands.studies import first_order_warning, share_beyond

if TYPE_CHECKING:
    from viewer.commands.jobs import Job
    from viewer.reports.output.record import Output


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What the command's words ask for; None where nothing is said."""

    reach: str | None = None
    at_most: int = 3
    costs: str | None = None
    stock: str = "stock"
    boxes: int = 20_000
    seed: int = 1


def advised(job: Job, asked: Asked) -> Answer:
    """Return the fewest and cheapest changes that reach a share of good boxes.

    Raises
    ------
    InputError
        If what was asked for is no share, nothing can be changed, or a check of the design says nothing.
    """
    with loading("looking for changes"):
        from assembly.advice.advice import advise  # numpy and numba, 0.4 s
    from assembly.advice.candidates import Supplies
    from assembly.files.costs import read_costs
    from assembly.files.stock import read_stock
    from viewer.commands.kept_files import kept_files
    from viewer.reports.advice_report import advice_text

    reach = read_share(asked.reach)
    supplies = Supplies(costs=read_costs(asked.costs), stock=read_stock(asked.stock))
    beyond = share_beyond(job.design, job.workshop, asked.seed)
    with Steps() as steps, steps.run("trying sets of changes") as run:
        found = steps.take(
            lambda: advise(
                job.design,
                job.workshop,
                supplies,
                reach=reach,
                at_most=asked.at_most,
                boxes=asked.boxes,
                seed=asked.seed,
                run=run,
            )
        )
    assert found
    pair = job.design, job.workshop
    command = f"lapwright check {job.typed}"
    warning = first_order_warning(beyond)
    text = advice_text(*pair, supplies.costs, found, command=command, kept=kept_files(job), warning=warning)

    def data() -> Output:
        from viewer.reports.output.advice import advice_output

        return advice_output(*pair, supplies.costs, found, beyond)

    return Answer(
        text="\n".join([*partial_line(found.partial, f"{found.boxes:,} boxes"), text]),
        data=data,
        kept=found.reached,
        partial=found.partial,
    )


def read_share(text: str | None) -> float | None:
    """Return the share of boxes that was asked for; None where none is.

    Raises
    ------
    InputError
        If it is no share of boxes that a class could reach.
    """
    if text is None:
        return None
    try:
        share = float(text)
    except ValueError:
        share, hint = math.nan, number_meant(text)
    else:
        hint = share_meant(share) if share >= 2 else ""
    if 0 < share < 1:
        return share
    if share == 1:
        hint = "that every box of every class comes out good can't be promised"
    msg = f"--reach: got {text}, must be a share of boxes over 0 and under 1, such as 0.8 for 8 boxes in 10"
    raise InputError(f"{msg}; {hint}" if hint else msg)
