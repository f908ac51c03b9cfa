"""Arguments and options that several commands take alike, with what `--help` says of them."""

from __future__ import annotations

from typing import Annotated

import typer

from assembly.files.shipped import shipped_designs, shipped_workshops

DesignName = Annotated[
    str,
    typer.Argument(metavar="DESIGN", help=f"A design file, or one that ships: {', '.join(shipped_designs())}."),
]
Settings = Annotated[
    list[str] | None,
    typer.Option(
        "--set",
        metavar="KEY=VALUE",
        help="Try a change without editing a file, such as timber.plain=9 or workshop.saw.offset.spread=0.2; "
        "may be repeated.",
    ),
]
WorkshopName = Annotated[
    str | None,
    typer.Option(
        "--workshop",
        metavar="W",
        help=f"Another workshop: a file, or one that ships: {', '.join(shipped_workshops())}.",
    ),
]
Boxes = Annotated[int, typer.Option(help="How many boxes to simulate.")]
Seed = Annotated[
    int, typer.Option(help="Start of the random numbers, 0 or more; the same seed gives the same figures.")
]
Plots = Annotated[
    str | None,
    typer.Option(metavar="DIR", help="Folder for plots of what is printed, SVG and PNG; made if it is missing."),
]
Details = Annotated[
    bool, typer.Option("--details", help="Tell the statistics and every figure behind the answer, too.")
]
AsJson = Annotated[
    bool,
    typer.Option("--json", help="Answer as JSON, with every digit; configs/output.schema.json describes every key."),
]
Folder = Annotated[str, typer.Option("--to", metavar="DIR", help="Folder to write into; made if it is missing.")]
