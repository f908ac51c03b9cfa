"""The front door: one short function a command; what is heavy is imported by `viewer.commands.jobs`, when it is needed.

Results go to standard output, errors and progress to the error stream. Exit codes:
0 done, and for `check` every limit kept by the required share of boxes; 1 `check` found that it is not;
2 the input can't be used; 3 a file can't be written or a library can't be loaded; 130 interrupted.
"""

from __future__ import annotations

import sys
from typing import Annotated

import typer

from assembly.errors import ExportError, LapwrightError, LibraryError, SolidError
from viewer.commands import checking, jobs, options, section_job, showing, studies
from viewer.commands.printing import INTERRUPTED, NOT_WRITTEN, answer, list_files, say, tell

NOT_KEPT, UNUSABLE = 1, 2
SHIPPED_DEMO = "frost_watch"

app = typer.Typer(
    name="lapwright",
    cls=options.Commands,
    help="Preview and fit-check a small lap-jointed timber box that a whole class makes by hand.",
    add_completion=False,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)

DesignName = Annotated[
    str, typer.Argument(metavar="DESIGN", help="A design file, or the name of a design that ships with lapwright.")
]
Settings = Annotated[
    list[str] | None,
    typer.Option("--set", metavar="KEY=VALUE", help="Try a change without editing the file; may be repeated."),
]
WorkshopName = Annotated[
    str | None, typer.Option("--workshop", metavar="W", help="Another workshop, by file or shipped name.")
]
Boxes = Annotated[int, typer.Option(help="How many boxes to try.")]
Seed = Annotated[int, typer.Option(help="Start of the random numbers; the same seed gives the same figures.")]
Plots = Annotated[
    str | None, typer.Option(metavar="DIR", help="Folder to draw plots into, SVG and PNG; made if it is missing.")
]
AsJson = Annotated[bool, typer.Option("--json", help="Answer as JSON; the README documents its keys.")]
Folder = Annotated[str, typer.Option("--to", metavar="DIR", help="Folder to write into; made if it is missing.")]


@app.command()
def check(
    design: DesignName,
    settings: Settings = None,
    boxes: Annotated[int | None, typer.Option(help="How many boxes to try; 100000 if nothing is said.")] = None,
    digits: Annotated[
        int | None, typer.Option(help="Try boxes until every figure holds still to so many digits of its spread.")
    ] = None,
    points: Annotated[
        str, typer.Option(metavar="random|sobol", help="Try random boxes, or boxes at scrambled Sobol' points.")
    ] = "random",
    scrambles: Annotated[
        int | None, typer.Option(help="Independent scrambles of the Sobol' points; 16 if nothing is said.")
    ] = None,
    seed: Seed = 1,
    workshop: WorkshopName = None,
    rule: Annotated[
        str | None, typer.Option(metavar="MM", help="Tell what a class would call good with a rule read to so much.")
    ] = None,
    plots: Plots = None,
    as_json: AsJson = False,
) -> None:
    """Print what to cut, what to expect, and whether it is enough."""
    job = jobs.read(design, settings, workshop)
    size = checking.Size(boxes=boxes, digits=digits, points=points, scrambles=scrambles)
    found = checking.checked(job, size, seed=seed, rule=rule, plots=plots)
    tell(found, as_json)
    if not found.kept:
        raise typer.Exit(NOT_KEPT)


@app.command()
def causes(
    design: DesignName,
    settings: Settings = None,
    of: Annotated[str, typer.Option(metavar="OUTCOME", help="The outcome to look into.")] = "joint_gap",
    boxes: Annotated[int, typer.Option(help="How many boxes to try for each operation and each change.")] = 20_000,
    seed: Seed = 1,
    workshop: WorkshopName = None,
    plots: Plots = None,
    as_json: AsJson = False,
) -> None:
    """Print which operations are behind the variation of an outcome, and what would help."""
    tell(studies.caused(jobs.read(design, settings, workshop), of=of, boxes=boxes, seed=seed, plots=plots), as_json)


@app.command()
def worst(
    design: DesignName,
    settings: Settings = None,
    joint: Annotated[
        str | None, typer.Option(help="One joint, such as right-back; all four if nothing is said.")
    ] = None,
    seconds: Annotated[float, typer.Option(help="About how long to spend on proofs, in all.")] = 60.0,
    seed: Seed = 1,
    workshop: WorkshopName = None,
    as_json: AsJson = False,
) -> None:
    """Print how wide each joint opens: in poor boxes, and at worst with every error within its limits."""
    tell(studies.worst(jobs.read(design, settings, workshop), joint=joint, seconds=seconds, seed=seed), as_json)


@app.command()
def compare(
    first: Annotated[str, typer.Argument(metavar="A", help="A design file, or the name of a shipped design.")],
    second: Annotated[
        str | None, typer.Argument(metavar="B", help="Another; A itself where --then or two workshops change it.")
    ] = None,
    settings: Settings = None,
    then: Annotated[
        list[str] | None,
        typer.Option("--then", metavar="KEY=VALUE", help="A change to the second only; may be repeated."),
    ] = None,
    boxes: Boxes = 100_000,
    seed: Seed = 1,
    workshop: Annotated[
        list[str] | None,
        typer.Option(
            "--workshop", metavar="W", help="Once: a workshop for both. Twice: the first's, then the second's."
        ),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Print what differs between two designs or workshops, made by the same hands."""
    made_in, other = studies.workshops_of(workshop), options.second_of(first, second, then, workshop)
    pair = (
        jobs.read(first, settings, made_in[0]),
        jobs.read(other, [*(settings or []), *(then or [])], made_in[1]),
    )
    tell(studies.compared(*pair, boxes=boxes, seed=seed, then=then or ()), as_json)


@app.command()
def demo(
    settings: Settings = None,
    boxes: Boxes = 100_000,
    seed: Seed = 1,
    workshop: WorkshopName = None,
    to: Folder = "exports",
    as_json: AsJson = False,
) -> None:
    """Check, picture and export the shipped frost-watch box."""
    job = jobs.read(SHIPPED_DEMO, settings, workshop)
    found = checking.checked(job, checking.Size(boxes=boxes), seed=seed)
    if found.partial:
        tell(found, as_json)
    if not as_json:  # the answer comes before the geometry kernel is loaded
        say(found.text + "\n")
    files = [jobs.pictured(job, to, seed=seed, explode=1.0), *jobs.exported(job, to, "step,stl,glb", "1:1")]
    if as_json:
        answer("", {**found.all_data(), "files": files}, as_json)
    else:
        list_files(files, as_json)


@app.command()
def picture(
    design: DesignName,
    settings: Settings = None,
    explode: Annotated[
        str | None,
        typer.Option(
            metavar="0..1", help="How far apart the parts are drawn: 0 closed, 1 apart, as if nothing is said."
        ),
    ] = None,
    as_made: Annotated[
        str | None,
        typer.Option("--as-made", metavar="p95|limit", help="Draw the errors: of a sampled box, or of the limit case."),
    ] = None,
    times: Annotated[
        str | None, typer.Option(metavar="1..20", help="Show them so many times as large; 1 is true size.")
    ] = None,
    step: Annotated[
        str | None,
        typer.Option(metavar="N|all", help="Draw one step of the making instead, or every one, a file each."),
    ] = None,
    size: Annotated[str | None, typer.Option(metavar="WxH", help="In pixels; 1920x1080 if nothing is said.")] = None,
    ground: Annotated[str, typer.Option(metavar="white|transparent", help="What is behind the parts.")] = "white",
    spin: Annotated[str | None, typer.Option(metavar="FILE.gif", help="Draw it turning once, too.")] = None,
    seed: Seed = 1,
    workshop: WorkshopName = None,
    to: Folder = "exports",
    as_json: AsJson = False,
) -> None:
    """Draw the box, its joints marked as they fit.

    The marks are those of a sampled box: 95 in 100 boxes have a smaller widest gap.
    """
    asked = showing.Asked(
        explode=explode, as_made=as_made, times=times, step=step, size=size, ground=ground, spin=spin, seed=seed
    )
    list_files(showing.pictured(jobs.read(design, settings, workshop), to, asked), as_json)


@app.command()
def view(
    design: DesignName,
    settings: Settings = None,
    seed: Seed = 1,
    workshop: WorkshopName = None,
) -> None:
    """Open a window on the box: turn it, take it apart, see the worst fits and the steps of the making."""
    showing.viewed(jobs.read(design, settings, workshop), seed=seed)


@app.command()
def export(
    design: DesignName,
    settings: Settings = None,
    formats: Annotated[str, typer.Option("--as", metavar="LIST", help="Any of step, stl, glb.")] = "step,stl,glb",
    scale: Annotated[str, typer.Option(metavar="1:N", help="Scale, drawn to real.")] = "1:1",
    to: Folder = "exports",
    as_json: AsJson = False,
) -> None:
    """Write the nominal box as files for the technician."""
    list_files(jobs.exported(jobs.read(design, settings), to, formats, scale), as_json)


@app.command()
def section(
    design: DesignName,
    lapped: Annotated[str | None, typer.Option(metavar="MM", help="Thickness of the lapped walls to try.")] = None,
    plain: Annotated[str | None, typer.Option(metavar="MM", help="Thickness of the plain walls to try.")] = None,
    height: Annotated[str | None, typer.Option(metavar="MM", help="Height of the walls to try.")] = None,
    timber: Annotated[str | None, typer.Option(metavar="NAME", help="Another timber, by name.")] = None,
    keep: Annotated[str, typer.Option(metavar="SIZE", help="Size to keep: outside or inside.")] = "outside",
    stock: Annotated[
        str | None, typer.Option(metavar="FILE", help="Thicknesses on sale: every pair, or what a cure may take.")
    ] = None,
    settings: Settings = None,
    boxes: Boxes = 20_000,
    seed: Seed = 1,
    workshop: WorkshopName = None,
    to: Folder = "exports",
    as_json: AsJson = False,
) -> None:
    """Say whether another timber section still makes a sound joint, and what it changes.

    Exit code 0: sound, or sound with care; 1: not sound.
    """
    asked = section_job.Asked(
        lapped=lapped, plain=plain, height=height, timber=timber, keep=keep, stock=stock, boxes=boxes, seed=seed, to=to
    )
    found = section_job.answered(design, settings, workshop, asked)
    tell(found, as_json)
    if not found.kept:
        raise typer.Exit(NOT_KEPT)


@app.command()
def new(
    file: Annotated[str, typer.Argument(metavar="FILE", help="The design file to write; it must not exist yet.")],
    to: Annotated[str, typer.Option("--to", metavar="DIR", help="Folder that FILE is named from.")] = ".",
    as_json: AsJson = False,
) -> None:
    """Write a commented design file to start from."""
    list_files([jobs.started(file, to)], as_json)


def main() -> None:
    """Run the command line; every refusal is one message on the error stream and one exit code."""
    try:
        app(prog_name="lapwright")  # not the file that it was started from
    except LapwrightError as error:
        _end(str(error), NOT_WRITTEN if isinstance(error, (ExportError, LibraryError, SolidError)) else UNUSABLE)
    except (KeyboardInterrupt, SystemExit) as end:
        if isinstance(end, SystemExit) and end.code != INTERRUPTED:
            raise
        _end("stopped; nothing is left half-written", INTERRUPTED)
    except OSError as error:
        _end(f"{error.filename or 'a file'}: can't be used ({error.strerror or error})", NOT_WRITTEN)


def _end(message: str, code: int) -> None:
    print(f"lapwright: {message}", file=sys.stderr)
    sys.exit(code)


if __name__ == "__main__":
    main()
