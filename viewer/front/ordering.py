"""The command that tells what a class orders."""

from __future__ import annotations

from typing import Annotated

import typer

from viewer.commands import jobs, ordering
from viewer.commands.printing import tell
from viewer.front.shared import AsJson, DesignName, Folder, Seed, Settings, WorkshopName


def order(
    design: DesignName,
    settings: Settings = None,
    makers: Annotated[
        int | None, typer.Option(help="How many makers; as many as the design's class if not given.")
    ] = None,
    spares: Annotated[
        str,
        typer.Option(
            metavar="auto|0|10%",
            help="Spare pieces: auto takes the fewest walls with which the class seldom runs out; a percentage is "
            "rounded up for every kind of piece.",
        ),
    ] = "auto",
    chance: Annotated[
        str | None,
        typer.Option(
            metavar="5%", help="Of running out of a kind of wall, at the most, with --spares auto; 5% if not given."
        ),
    ] = None,
    stock: Annotated[
        str | None,
        typer.Option(
            metavar="FILE",
            help="What is on sale, and prices: a TOML file of the lines that differ from configs/stock.toml.",
        ),
    ] = None,
    straight: Annotated[
        bool, typer.Option("--straight", help="Lay sheets out so that straight cuts from edge to edge part the pieces.")
    ] = False,
    paper: Annotated[str, typer.Option(metavar="A4|A3|Letter", help="What the pages are printed on.")] = "A4",
    seed: Seed = 1,
    workshop: WorkshopName = None,
    to: Folder = "exports",
    as_json: AsJson = False,
) -> None:
    """List what a class orders, and how it is sawn.

    First what the timber yard, the sheet supplier and the shop are told: lengths of timber, sheets, screws, washers,
    stems, and glue as an estimate. Then every piece with its blank, the spares, and how likely the class is to run out
    of walls; how each length and sheet is sawn, with its waste; and costs, where the stock file has prices. The number
    of lengths and sheets is proved the fewest of their size, or said to be at most so many above a bound. Where several
    sizes are on sale, the one that costs least is taken.

    Written are the order and the cut list as CSV, and a PDF with a picture to scale of every length and sheet.

    What is on sale as shipped is common practice: put in what your own suppliers list.
    """
    asked = ordering.OrderRequest(
        makers=makers, spares=spares, chance=chance, stock=stock, straight=straight, paper=paper, seed=seed
    )
    tell(ordering.ordered(jobs.read(design, settings, workshop), asked, to), as_json)
