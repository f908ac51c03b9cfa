"""The commands that show a box or write its files."""

from __future__ import annotations

from typing import Annotated

import typer

from assembly.writers.formats import FORMATS
from assembly.writers.outlines import OUTLINES
from viewer.commands import checking, exporting, jobs, outlining, paging, showing, step_list
from viewer.commands.printing import answer, list_files, say, tell, wrote
from viewer.front.shared import AsJson, Boxes, DesignName, Folder, Seed, Settings, WorkshopName

SHIPPED_DEMO = "frost_watch"

AsMade = Annotated[
    str | None,
    typer.Option(
        "--as-made",
        metavar="p95|likeliest|limit",
        help="Draw the errors of a simulated box that 95 in 100 are better than, of the likeliest bad box, or of "
        "the limit case.",
    ),
]
BadOf = Annotated[
    str | None,
    typer.Option(
        metavar="JOINT|OUTCOME",
        help="Whose limit the likeliest bad box breaks, such as right-back or closed_share; that of the widest "
        "joint if nothing is said.",
    ),
]
Times = Annotated[
    str | None,
    typer.Option(
        metavar="1..20",
        help="How many times as large to show them, as far as the box's faces do not cross; 1 is true size.",
    ),
]


def demo(
    settings: Settings = None,
    boxes: Boxes = 100_000,
    seed: Seed = 1,
    workshop: WorkshopName = None,
    to: Folder = "exports",
    as_json: AsJson = False,
) -> None:
    """Check, picture and export the shipped frost-watch box.

    It prints what `lapwright check frost_watch` prints, then draws the box apart and writes it in every format.
    """
    job = jobs.read(SHIPPED_DEMO, settings, workshop)
    found = checking.checked(job, checking.StudyLength(boxes=boxes), seed=seed)
    if found.partial:
        tell(found, as_json)
    if not as_json:  # the answer comes before the geometry kernel is loaded
        say(found.text + "\n")
    files = [
        *showing.pictured(job, to, showing.PictureRequest(seed=seed)),
        *exporting.exported(job, to, exporting.ExportRequest()).files,
    ]
    answer(wrote(files), lambda: found.data().model_copy(update={"command": "demo", "files": files}), as_json)


def picture(
    design: DesignName,
    settings: Settings = None,
    explode: Annotated[
        str | None,
        typer.Option(
            metavar="0..1", help="How far apart the parts are drawn: 0 closed, 1 apart, as if nothing is said."
        ),
    ] = None,
    as_made: AsMade = None,
    of: BadOf = None,
    times: Times = None,
    step: Annotated[
        str | None,
        typer.Option(
            metavar="N|all|list",
            help="Draw one step of the making instead, or every one, a file each: all or none; list says what each is.",
        ),
    ] = None,
    size: Annotated[
        str | None, typer.Option(metavar="WxH", help="In pixels, each side 480 to 4096; 1920x1080 if nothing is said.")
    ] = None,
    ground: Annotated[str, typer.Option(metavar="white|transparent", help="What is behind the parts.")] = "white",
    spin: Annotated[str | None, typer.Option(metavar="FILE.gif", help="Draw it turning once, too.")] = None,
    seed: Seed = 1,
    workshop: WorkshopName = None,
    to: Folder = "exports",
    as_json: AsJson = False,
) -> None:
    """Draw the box, its joints marked as they fit.

    The marks are those of a simulated box: 95 in 100 have a smaller widest gap. The picture says what they mean.
    """
    asked = showing.PictureRequest(
        explode=explode, as_made=as_made, of=of, times=times, step=step, size=size, ground=ground, spin=spin, seed=seed
    )
    job = jobs.read(design, settings, workshop)
    if step == "list":
        say(step_list.steps_listed(job, asked, as_json=as_json))
    else:
        list_files("picture", showing.pictured(job, to, asked), as_json)


def view(
    design: DesignName,
    settings: Settings = None,
    as_made: AsMade = None,
    of: BadOf = None,
    seed: Seed = 1,
    workshop: WorkshopName = None,
) -> None:
    """Open a window on the box, its fits and its making.

    Drag to turn, drag with shift to move, click a part to name it; ? lists every key. Whatever the mouse does, a key
    does too.

    "drawn": nominal sizes; as made, a simulated box that 95 in 100 are better than, the limit case or the likeliest bad
    box, which are looked for when they are first asked for. "errors x": how many times as large the errors are drawn;
    words and figures stay those of the true box. "apart": how far the box is taken apart. "making": its steps, one by
    one. "marks": the marks of the fits.

    Where the design's or the workshop's file is changed, the window shows the box that it has now; a file with faults
    is told with them, and the last good box stays.

    The window remembers nothing and writes nothing; libraries under it keep lists of fonts and shaders in your own
    cache folder.
    """
    asked = showing.ViewRequest(as_made=as_made, of=of, seed=seed)
    showing.viewed(jobs.read(design, settings, workshop), asked)


def page(
    design: DesignName,
    settings: Settings = None,
    edition: Annotated[
        str,
        typer.Option("--for", metavar="|".join(paging.EDITIONS), help="Whose edition: the pupils', or the teacher's."),
    ] = "pupil",
    seed: Seed = 1,
    workshop: WorkshopName = None,
    to: Folder = "exports",
    as_json: AsJson = False,
) -> None:
    """Write one page for any browser: the box to turn, its making.

    One .html file that opens from disk, without a network, on a laptop, a tablet or a phone: the box taken apart, its
    parts and sizes, and every step of the making with its lines, its sizes and what can hurt. It needs no program but
    the browser, and asks nothing of any other place. Without scripts or 3D it shows drawings instead.

    The teacher's edition adds predicted fits, a simulated box as made, the limit case and what a class can expect.
    """
    list_files("page", paging.paged(jobs.read(design, settings, workshop), to, edition=edition, seed=seed), as_json)


def export(
    design: DesignName,
    settings: Settings = None,
    formats: Annotated[
        str,
        typer.Option(
            "--as",
            metavar="LIST",
            help=f"Any of {', '.join((*FORMATS, *OUTLINES))}; {', '.join(FORMATS)} if nothing is said.",
        ),
    ] = exporting.EVERY_FORMAT,
    scale: Annotated[str, typer.Option(metavar="1:N", help="Scale, drawn to real, such as 1:2.")] = "1:1",
    clearance: Annotated[
        str | None,
        typer.Option(
            metavar="MM",
            help="The gap in the print between faces that touch, half from each, such as 0.2; on the diameter of a "
            "screw in its hole.",
        ),
    ] = None,
    nozzle: Annotated[
        str | None, typer.Option(metavar="MM", help="Width of the printer's nozzle; 0.4 if nothing is said.")
    ] = None,
    plate: Annotated[
        str | None,
        typer.Option(
            metavar="WxD",
            help="Lay all parts out on plates of this size too, in mm, such as 220x220; 5 mm stay free at each edge.",
        ),
    ] = None,
    as_made: AsMade = None,
    of: BadOf = None,
    times: Times = None,
    kerf: Annotated[
        float | None,
        typer.Option(
            metavar="MM",
            help="Width of the machine's cut, for dxf and svg: 0 where the machine allows for it; usual for the sheet "
            "if nothing is said.",
        ),
    ] = None,
    pens: Annotated[
        str | None,
        typer.Option(
            metavar="FILE",
            help="Colours and widths of the lines of dxf and svg, with what differs from configs/pens.toml.",
        ),
    ] = None,
    seed: Seed = 1,
    workshop: WorkshopName = None,
    to: Folder = "exports",
    as_json: AsJson = False,
) -> None:
    """Write the box as files for the technician.

    STEP is exact, STL has a file for each part, GLB has colours, 3MF is for printers: the whole box, and each part as
    it lies best. Each file is read back before it is kept. Sizes are the drawn ones, without errors, times the scale.

    A display model shrinks its fits, too: --clearance gives every two faces that touch a gap of so many mm in the
    print, and every screw and its holes as much on the diameter, half on either side. Walls under two widths of the
    nozzle are named; under one width they are refused with the scale at which they would do, but for screws, washers
    and the stem, which can be bought.

    With --as-made a class sees what goes wrong: the walls are written as they were made, with no clearance, base and
    lid stand clear of them, and the answer names the worst joint.

    DXF and SVG are the flat plaque for a laser cutter, in true size: a folder with all of it by layer, a file each for
    cut, engraving and bend line, and strips to try the bend on, with a page that says how.
    """
    asked = exporting.ExportRequest(
        formats=formats,
        scale=scale,
        clearance=clearance,
        nozzle=nozzle,
        plate=plate,
        as_made=as_made,
        of=of,
        times=times,
        seed=seed,
        machine=outlining.Machine(kerf=kerf, pens=pens),
    )
    found = exporting.exported(jobs.read(design, settings, workshop), to, asked)
    answer("\n".join(found.lines()), found.data, as_json)


def new(
    file: Annotated[str, typer.Argument(metavar="FILE", help="The design file to write; it must not exist yet.")],
    to: Annotated[str, typer.Option("--to", metavar="DIR", help="Folder that FILE is named from.")] = ".",
    as_json: AsJson = False,
) -> None:
    """Write a commented design file to start from."""
    list_files("new", [jobs.started(file, to)], as_json)
