"""The command that sets what is printed on paper."""

from __future__ import annotations

from typing import Annotated

import typer

from viewer.commands import jobs, sheets_job
from viewer.commands.paging import EDITIONS
from viewer.commands.printing import list_files
from viewer.front.shared import AsJson, DesignName, Folder, Seed, Settings, WorkshopName


def sheets(
    design: DesignName,
    settings: Settings = None,
    reader: Annotated[
        str, typer.Option("--for", metavar="|".join(EDITIONS), help="Whose edition: the pupils', or the teacher's.")
    ] = "pupil",
    paper: Annotated[str, typer.Option(metavar="A4|A3|Letter", help="What they are printed on.")] = "A4",
    seed: Seed = 1,
    workshop: WorkshopName = None,
    to: Folder = "exports",
    as_json: AsJson = False,
) -> None:
    """Write sheets to mark out by, and templates, as a PDF.

    First comes the assembly page; then a sheet for each different part, at true size where the paper takes it, with
    every line that a pupil draws, the steps with room for initials, and what can hurt; then full-size templates. Print
    at 100 %: two bars of 100 mm on every page check the printer. The size on which the joint gap depends most is
    marked to be checked with a caliper. The teacher's edition begins with what `lapwright check` says.

    Beside it a form for the class is written, a row for each maker and place to measure; makers have numbers.
    """
    found = sheets_job.sheets_written(jobs.read(design, settings, workshop), to, reader=reader, paper=paper, seed=seed)
    list_files("sheets", found, as_json)
