"""What `lapwright order` does: reads what is on sale, works the order out, writes its tables and pages."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING

from assembly.errors import InputError
from viewer.commands.answer import Answer, Steps, attempted, partial_line, written
from viewer.commands.jobs import folder_for
from viewer.commands.libraries import loading
from viewer.commands.sheets_job import whole

if TYPE_CHECKING:
    from pathlib import Path

    from assembly.model.on_sale import Stock
    from assembly.order.class_pieces import SpareRule
    from assembly.order.order import Order
    from viewer.commands.jobs import Job
    from viewer.reports.output.record import Output
    from viewer.sheets.page import Point

MOST_SPARE = 200.0  # %
_PERCENT = re.compile(r"\s*(?P<number>\d+(?:\.\d+)?)\s*%\s*")
_BARE = re.compile(r"\s*(?P<number>\d*\.?\d+)\s*")


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderRequest:
    """What the command's words ask for; None where nothing is said."""

    makers: int | None = None
    spares: str = "auto"
    chance: str | None = None
    stock: str | None = None
    straight: bool = False
    paper: str = "A4"
    seed: int = 1


def spare_rule(spares: str, chance: str | None) -> SpareRule:
    """Return how spares are reckoned, as the command's words have it.

    Raises
    ------
    InputError
        If they are no percentages, or both are given where only one counts.
    """
    from assembly.order.class_pieces import CHANCE, SpareRule
    from assembly.order.spoilage import CHANCES

    if spares.strip() == "auto":
        least, most = (100 * each for each in CHANCES)
        share = CHANCE if chance is None else _share("--chance", chance, least, most)
        return SpareRule(chance=share)
    share = 0.0 if spares.strip() == "0" else _share("--spares", spares, 0.0, MOST_SPARE, "auto, 0 or ")
    if chance is not None:
        msg = "--chance: only --spares auto goes by a chance; leave out one of the two"
        raise InputError(msg)
    return SpareRule(share=share)


def _share(option: str, text: str, least: float, most: float, also: str = "") -> float:
    """Return a percentage as a share."""
    found = _PERCENT.fullmatch(text)
    if found and least <= float(found["number"]) <= most:
        return float(found["number"]) / 100
    msg = f"{option}: got {text!r}, must be {also}a percentage from {least:g}% to {most:g}%, such as 5%"
    if not found and (bare := _BARE.fullmatch(text)):
        number = float(bare["number"])
        meant = number if number >= 1 else 100 * number
        msg += f"; write {meant:g}%" if least <= meant <= most else ""
    raise InputError(msg)


def for_makers(job: Job, makers: int | None) -> Job:
    """Return a job with another number of makers, where one is asked for.

    Raises
    ------
    InputError
        If it is none that one order can be for.
    """
    from assembly.order.order import MAKERS

    if makers is None:
        return job
    least, most = MAKERS
    if not least <= makers <= most:
        msg = f"--makers: got {makers}, must be {least} to {most}"
        raise InputError(msg)
    return replace(job, design=job.design.model_copy(update={"makers": makers}))


def ordered(job: Job, asked: OrderRequest, to: str) -> Answer:
    """Return what a class orders, its files written.

    Raises
    ------
    InputError
        If what is asked for is none, a piece goes into nothing on sale, or words can't be set on pages.
    """
    with loading("working an order out"):
        from assembly.order.order import order_for
    from assembly.files.stock import read_on_sale
    from viewer.reports.order_report import order_text
    from viewer.sheets.page import paper_size

    rule, job, size = spare_rule(asked.spares, asked.chance), for_makers(job, asked.makers), paper_size(asked.paper)
    stock = read_on_sale(asked.stock)
    _refuse_unset(job, stock, asked.stock or "")
    folder = folder_for(to)
    with Steps() as steps, steps.run("simulating boxes and classes") as run:
        work = partial(order_for, straight=asked.straight, seed=asked.seed, draws=job.draws(), run=run)
        found = steps.take(lambda: work(job.design, job.workshop, stock, rule))
    assert found
    files, unwritten = list[str](), None
    if not found.partial:
        files, unwritten = attempted(lambda: _write(found, stock, asked.stock, size, folder / job.stem))

    def data() -> Output:
        from viewer.reports.output.order import order_output

        return order_output(found, files)

    lines = partial_line(found.partial, f"{found.classes:,} simulated classes, and nothing is written")
    text = "\n".join([*lines, order_text(found, stock.sections, asked.stock), *written(files)])
    return Answer(text=text, data=data, partial=found.partial, unwritten=unwritten)


def _refuse_unset(job: Job, stock: Stock, named: str) -> None:
    """Refuse words that the pages' letters do not have, before anything is worked out."""
    with loading("setting pages"):
        from viewer.sheets.typeset import refuse_unknown
    from assembly.order.stray_names import stray_names

    design = job.design
    stems = [design.stem.name] if design.stem else []
    refuse_unknown(
        [
            design.name,
            design.timber.name,
            design.base.material,
            design.lid.material,
            *stems,
            stock.prices.currency,
            named,
            *(each.name for each in stray_names(design, stock)),
        ]
    )


def _write(order: Order, stock: Stock, named: str | None, paper: Point, stem: Path) -> list[str]:
    """Write the order's tables and pages, all or none, and return their names."""
    from assembly.files.spreadsheet import csv_text
    from assembly.files.writing import publish
    from viewer.reports.order_pages import order_pages
    from viewer.reports.order_tables import order_table, piece_table

    with loading("setting pages"):
        from viewer.sheets.typeset import pdf

        pages = pdf(order_pages(order, stock.sections, named, paper), order.design.name)
    files = {
        stem.with_name(f"{stem.name}_order.csv"): csv_text(order_table(order)).encode(),
        stem.with_name(f"{stem.name}_cut_list.csv"): csv_text(piece_table(order)).encode(),
        stem.with_name(f"{stem.name}_order.pdf"): pages,
    }
    return [file.as_posix() for file in publish(files, whole)]
