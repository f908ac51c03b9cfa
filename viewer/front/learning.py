"""The commands that learn a workshop from measured parts, and hold its forecast to finished boxes.

What they do is loaded by the one that is asked for: no other command starts later for it.
"""

from __future__ import annotations

from typing import Annotated

import typer

from viewer.commands import jobs
from viewer.commands.printing import list_files, tell
from viewer.front.shared import AsJson, DesignName, Details, Folder, Seed, Settings, WorkshopName

Instruments = Annotated[
    str | None,
    typer.Option(metavar="FILE", help="A CSV of your own instruments, in place of those that ship."),
]


def readings(
    design: DesignName,
    settings: Settings = None,
    makers: Annotated[
        int | None, typer.Option(help="How many makers; as many as the design's class if not given.")
    ] = None,
    minutes: Annotated[int, typer.Option(help="Minutes that each maker measures for, 1 to 300.")] = 20,
    seed: Seed = 1,
    workshop: WorkshopName = None,
    instruments: Instruments = None,
    to: Folder = "exports",
    as_json: AsJson = False,
) -> None:
    """Write a CSV to fill in with what a class measures.

    It has only rows worth taking in so many minutes: those that would make the forecast surest. A page says how each
    is read, with what, and after which step of the making. Makers are numbers, never names. Leave a cell blank that
    nobody read. A second CSV is for finished boxes: `lapwright outcome` takes it.
    """
    from viewer.commands import learning

    asked = learning.FormRequest(makers=makers, minutes=minutes, seed=seed, instruments=instruments)
    list_files("readings", learning.form(jobs.read(design, settings, workshop), asked, to), as_json)


def learn(
    design: DesignName,
    files: Annotated[list[str], typer.Argument(metavar="READINGS.csv", help="Filled-in readings, one file or more.")],
    settings: Settings = None,
    seed: Seed = 1,
    workshop: WorkshopName = None,
    instruments: Instruments = None,
    to: Folder = "exports",
    details: Details = False,
    as_json: AsJson = False,
) -> None:
    """Learn the workshop from measured parts.

    First what the makers surely do otherwise than the workshop said, and the setting that mends it, where one does.
    Then each figure of the workshop that readings touch: before, learned, between what it lies with 90 % probability,
    and how much the readings said of it. Readings are intervals, as wide as the instrument's division; a maker with one
    reading counts for what it tells. The learned workshop is written as a file that every command takes, with draws
    beside it that say how sure it is: from these `lapwright check` tells the range that what is not known adds. Then:
    what to measure next.

    Optional columns: date; reader, the number of who read it where several read the same thing; trial, which time it
    is where one reads it again. Three readers who read five things twice each show how unsteady an instrument is in
    their hands, which then counts in place of the table of instruments.
    """
    from viewer.commands import learning

    job = jobs.read(design, settings, workshop)
    tell(learning.taught(job, files, seed=seed, instruments=instruments, to=to, details=details), as_json)


def outcome(
    design: DesignName,
    files: Annotated[
        list[str], typer.Argument(metavar="BOXES.csv", help="Readings of finished boxes, one file or more.")
    ],
    settings: Settings = None,
    seed: Seed = 1,
    workshop: WorkshopName = None,
    instruments: Instruments = None,
    to: Folder = "exports",
    as_json: AsJson = False,
) -> None:
    """Hold the forecast to finished boxes.

    `lapwright readings` writes a form for BOXES.csv, and a page that says how each is read, with what. Its columns are
    class,maker,outcome,at,measured_mm,instrument: joint_gap at right-back, right-front, left-back and left-front,
    diagonal at right-back and right-front, and length, width, step, top_step or lean with `at` blank. Forecast boxes
    are read with the same instruments at the same places, and whole classes are compared. One verdict: it holds, it is
    too hopeful, too gloomy, or so few boxes cannot tell. The plot shows each outcome: the forecast as a band, your
    boxes as marks.
    """
    from viewer.commands import learning

    job = jobs.read(design, settings, workshop)
    tell(learning.compared(job, files, seed=seed, instruments=instruments, to=to), as_json)
