"""The front door: one short function a command; what is heavy is imported by `viewer.commands.jobs`, when it is needed.

Results go to standard output, errors and progress to the error stream. Exit codes:
0 done, and for `check` every limit kept by the required share of boxes; 1 `check` found that it is not;
2 the input can't be used; 3 a file can't be written or a library can't be loaded; 130 interrupted; 143 terminated.
"""

from __future__ import annotations

import sys
from typing import Annotated

import typer

from assembly.errors import ExportError, LapwrightError, LibraryError, SolidError, StoppedError, escaped
from assembly.files.shipped import shipped_designs, shipped_workshops
from assembly.model.outcomes import OUTCOMES
from assembly.writers.formats import FORMATS
from viewer.commands import advising, checking, jobs, options, section_job, showing, studies
from viewer.commands.printing import INTERRUPTED, NOT_WRITTEN, TERMINATED, answer, list_files, say, tell, wrote

NOT_KEPT, UNUSABLE = 1, 2
SHIPPED_DEMO = "frost_watch"
EVERY_FORMAT = ",".join(FORMATS)
EXIT_CODES = {
    "0": "done; of check and section, good enough",
    "1": "check, advise or section: not good enough, however close",
    "2": "the input can't be used; nothing was written",
    "3": "a file can't be written, or a library can't be loaded",
    "130": "stopped by Ctrl-C; a study prints what is known so far, marked as partial",
    "143": "ended by SIGTERM, with nothing printed or left half-written",
}

app = typer.Typer(
    name="lapwright",
    cls=options.Commands,
    help=(
        "Preview and fit-check a small lap-jointed timber box that a whole class makes by hand.\n\n"
        "Answers go to standard output, errors and progress to the error stream. What can hurt someone is said in the "
        "steps of the making; your own rules, risk assessment and supervision come first."
    ),
    epilog=options.listed("Exit codes", EXIT_CODES),
    add_completion=False,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)

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


@app.command(epilog=options.listed("Outcomes", {each.label: each.means for each in OUTCOMES.values()}))
def check(
    design: DesignName,
    settings: Settings = None,
    boxes: Annotated[int | None, typer.Option(help="How many boxes to simulate; 100000 if nothing is said.")] = None,
    digits: Annotated[
        int | None,
        typer.Option(help="Simulate boxes until every figure holds still to this many digits of its spread, 1 to 4."),
    ] = None,
    points: Annotated[
        str,
        typer.Option(
            metavar="random|sobol",
            help="Random boxes, or boxes at scrambled Sobol' points: as many then say more of sizes, and about the "
            "same of gaps.",
        ),
    ] = "random",
    scrambles: Annotated[
        int | None,
        typer.Option(help="Independent scrambles of the Sobol' points, over which errors are taken; 16 if not given."),
    ] = None,
    seed: Seed = 1,
    workshop: WorkshopName = None,
    rule: Annotated[
        str | None,
        typer.Option(
            metavar="MM",
            help="Say what a class would call good with a rule read to this, which limits that rule gets wrong, "
            "and whether one read to 0.5 would do better.",
        ),
    ] = None,
    plots: Plots = None,
    details: Details = False,
    as_json: AsJson = False,
) -> None:
    """Print what to cut, what to expect, and whether it is enough.

    What to cut: finished sizes in mm, the waste of saw and sander not included. A wall's length runs along its grain.
    The plaque's length is that of the flat sheet, with the bend taken into account.

    What to expect: each simulated box has its own errors of marking, sawing, sanding, gauging, chiselling and paring,
    is pressed together as clamps would, and is measured. Half of all boxes are better than the typical one. Under
    "nine boxes in ten", one box in twenty is below the first figure and one in twenty above the second. "keep it" is
    the share of boxes that keep that one limit. A figure has only the digits that this many boxes give it.

    In a class: whole classes are simulated, as what a class shares, such as its timber and its sander, does not
    average out inside it. A plain sum of tolerances is set beside the boxes: where it misleads, it is said.
    """
    job = jobs.read(design, settings, workshop)
    size = checking.StudyLength(boxes=boxes, digits=digits, points=points, scrambles=scrambles)
    found = checking.checked(job, size, seed=seed, rule=rule, plots=plots, details=details)
    tell(found, as_json)
    if not found.kept:
        raise typer.Exit(NOT_KEPT)


@app.command()
def causes(
    design: DesignName,
    settings: Settings = None,
    of: Annotated[
        str, typer.Option(metavar="OUTCOME", help=f"The outcome to look into, one of {', '.join(OUTCOMES)}.")
    ] = "joint_gap",
    boxes: Annotated[int, typer.Option(help="How many boxes to simulate for each operation and each change.")] = 20_000,
    seed: Seed = 1,
    workshop: WorkshopName = None,
    plots: Plots = None,
    details: Details = False,
    as_json: AsJson = False,
) -> None:
    """Print what is behind the variation, and what would help.

    What is behind: each operation's share in the variation of one outcome, and who shares the error.

    What would help: every single change by itself, on the same simulated boxes, ranked by the good boxes that a class
    gains. A change that makes things worse says why, as far as the figures show it. What is done already is not tried.
    """
    job = jobs.read(design, settings, workshop)
    tell(studies.caused(job, of=of, boxes=boxes, seed=seed, plots=plots, details=details), as_json)


@app.command()
def advise(
    design: DesignName,
    settings: Settings = None,
    reach: Annotated[
        str | None,
        typer.Option(
            metavar="SHARE",
            help="Share of boxes that are to be good, over 0 and under 1; what the design requires if nothing is said.",
        ),
    ] = None,
    at_most: Annotated[int, typer.Option("--at-most", metavar="N", help="Changes taken together, 1 to 6.")] = 3,
    costs: Annotated[
        str | None,
        typer.Option(
            metavar="FILE",
            help="What changes cost a maker in money and minutes: a TOML file of the rows that differ from "
            "configs/costs.toml.",
        ),
    ] = None,
    stock: Annotated[
        str, typer.Option(metavar="FILE", help="Thicknesses on sale, a TOML file of one line; stock is one that ships.")
    ] = "stock",
    boxes: Annotated[int, typer.Option(help="How many boxes to simulate for each of the last few sets.")] = 20_000,
    seed: Seed = 1,
    workshop: WorkshopName = None,
    as_json: AsJson = False,
) -> None:
    """Print the fewest changes that make enough boxes good.

    Of those the cheapest comes first, with what to type and what to write into files.

    Tried are aids, marking from the part, squaring up, paring, what is left to sand, the gauge's side, lap share,
    thicknesses on sale, and lid holes marked through, in sets of up to so many. Limits stay as they are: one that no
    change can keep is named.

    In the list every set is better than any that costs no more money, no more minutes and no more changes.

    Exit code 0: the share is reached; 1: it is not.
    """
    asked = advising.Asked(reach=reach, at_most=at_most, costs=costs, stock=stock, boxes=boxes, seed=seed)
    found = advising.advised(jobs.read(design, settings, workshop), asked)
    tell(found, as_json)
    if not found.kept:
        raise typer.Exit(NOT_KEPT)


@app.command()
def worst(
    design: DesignName,
    settings: Settings = None,
    joint: Annotated[
        str | None, typer.Option(help="One joint, such as right-back; all four if nothing is said.")
    ] = None,
    of: Annotated[
        str | None,
        typer.Option(metavar="OUTCOME", help="One limit of the design, by its outcome; all if nothing is said."),
    ] = None,
    limit_case: Annotated[
        bool, typer.Option("--limit-case", help="Tell how wide joints open with every error at its limit, too.")
    ] = False,
    effort: Annotated[
        float | None,
        typer.Option(help="How much work goes into proofs of the limit case: 1 as if nothing is said, 0 none."),
    ] = None,
    details: Details = False,
    seed: Seed = 1,
    workshop: WorkshopName = None,
    as_json: AsJson = False,
) -> None:
    """Print the worst fits to expect, and what makes a bad box.

    Poor boxes are simulated ones that 95 and 99 in 100 are better than; each has its number.

    The likeliest bad box of a limit: of all errors that break it, the most probable ones, as sizes on the parts, and
    how many boxes are at least as bad. Seldom ones are searched for, and weighed among boxes drawn around them.

    The limit case: every error as far out as the workshop's file allows at the most, 3 standard deviations of a normal
    one, all at once and against one joint. It is searched for, and a proof bounds it. No class sees it.
    """
    asked = studies.WorstAsked(joint=joint, of=of, limit_case=limit_case, effort=effort, details=details)
    tell(studies.worst(jobs.read(design, settings, workshop), asked, seed=seed), as_json)


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
    """Print what differs between two designs or workshops.

    Every simulated box of the second has the errors of the one in the first. Limits that only one of them has are
    named.
    """
    made_in, other = studies.workshops_of(workshop), options.second_of(first, second, then, workshop)
    pair = (
        jobs.read(first, settings, made_in[0]),
        jobs.read(other, settings, made_in[1], then=then),
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
    """Check, picture and export the shipped frost-watch box.

    It prints what `lapwright check frost_watch` prints, then draws the box apart and writes STEP, STL and GLB.
    """
    job = jobs.read(SHIPPED_DEMO, settings, workshop)
    found = checking.checked(job, checking.StudyLength(boxes=boxes), seed=seed)
    if found.partial:
        tell(found, as_json)
    if not as_json:  # the answer comes before the geometry kernel is loaded
        say(found.text + "\n")
    files = [
        *showing.pictured(job, to, showing.PictureRequest(seed=seed)),
        *jobs.exported(job, to, EVERY_FORMAT, "1:1"),
    ]
    answer(wrote(files), lambda: found.data().model_copy(update={"command": "demo", "files": files}), as_json)


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
        typer.Option(
            "--as-made",
            metavar="p95|likeliest|limit",
            help="Draw the errors of a simulated box that 95 in 100 are better than, of the likeliest bad box, or of "
            "the limit case.",
        ),
    ] = None,
    of: Annotated[
        str | None,
        typer.Option(
            metavar="JOINT|OUTCOME",
            help="Whose limit the likeliest bad box breaks, such as right-back or closed_share; that of the widest "
            "joint if nothing is said.",
        ),
    ] = None,
    times: Annotated[
        str | None,
        typer.Option(
            metavar="1..20",
            help="How many times as large to show them, as far as the box's faces do not cross; 1 is true size.",
        ),
    ] = None,
    step: Annotated[
        str | None,
        typer.Option(
            metavar="N|all", help="Draw one step of the making instead, or every one, a file each: all or none."
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
    list_files("picture", showing.pictured(jobs.read(design, settings, workshop), to, asked), as_json)


@app.command()
def view(
    design: DesignName,
    settings: Settings = None,
    seed: Seed = 1,
    workshop: WorkshopName = None,
) -> None:
    """Open a window on the box, its fits and its making.

    Drag to turn, click a part to name it; ? lists every key. Whatever the mouse does, a key does too.

    "drawn": nominal sizes; as made, a simulated box that 95 in 100 are better than, the limit case or the likeliest bad
    box, which are looked for when they are first asked for. "errors x": how many times as large the errors are drawn;
    words and figures stay those of the true box. "apart": how far the box is taken apart. "making": its steps, one by
    one. "marks": the marks of the fits.

    The window remembers nothing and writes nothing; libraries under it keep lists of fonts and shaders in your own
    cache folder.
    """
    showing.viewed(jobs.read(design, settings, workshop), seed=seed)


@app.command()
def export(
    design: DesignName,
    settings: Settings = None,
    formats: Annotated[str, typer.Option("--as", metavar="LIST", help=f"Any of {', '.join(FORMATS)}.")] = EVERY_FORMAT,
    scale: Annotated[str, typer.Option(metavar="1:N", help="Scale, drawn to real, such as 1:2.")] = "1:1",
    to: Folder = "exports",
    as_json: AsJson = False,
) -> None:
    """Write the box as files for the technician.

    STEP is exact, STL has a file for each part, GLB has colours. Each file is read back before it is kept. Sizes are
    the drawn ones, without errors, times the scale.
    """
    list_files("export", jobs.exported(jobs.read(design, settings), to, formats, scale), as_json)


@app.command()
def section(
    design: DesignName,
    lapped: Annotated[
        str | None, typer.Option(metavar="MM", help='Thickness of the lapped walls to try; "3/8 in" works too.')
    ] = None,
    plain: Annotated[str | None, typer.Option(metavar="MM", help="Thickness of the plain walls to try.")] = None,
    height: Annotated[str | None, typer.Option(metavar="MM", help="Height of the walls to try.")] = None,
    timber: Annotated[str | None, typer.Option(metavar="NAME", help="Another timber, plywood or MDF, by name.")] = None,
    keep: Annotated[str, typer.Option(metavar="SIZE", help="Size of the box to keep: outside or inside.")] = "outside",
    stock: Annotated[
        str | None,
        typer.Option(
            metavar="FILE",
            help="Thicknesses on sale, a TOML file of one line: every pair of them is judged, "
            "as a table and a map; with a thickness given, what a cure may take.",
        ),
    ] = None,
    settings: Settings = None,
    boxes: Boxes = 20_000,
    seed: Seed = 1,
    workshop: WorkshopName = None,
    to: Folder = "exports",
    details: Details = False,
    as_json: AsJson = False,
) -> None:
    """Say whether another timber section is sound, and what to do.

    The verdict is sound, with care, does not fit the contents, or not sound. With it come what to do, the good boxes of
    a class before and after, and the nearest cure: what lapwright check takes, where no row fails and next to no good
    boxes are lost against the present section. With --details comes every figure behind them. It is not a structural
    design.

    With --stock and no thickness, every pair of thicknesses on sale is judged. A stock file is one line, such as
    sections = [6, 9, 12, "3/8 in"].

    Exit code 0: sound, or with care; 1: it fails.
    """
    asked = section_job.SectionRequest(
        lapped=lapped,
        plain=plain,
        height=height,
        timber=timber,
        keep=keep,
        stock=stock,
        boxes=boxes,
        seed=seed,
        to=to,
        details=details,
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
    list_files("new", [jobs.started(file, to)], as_json)


def main() -> None:
    """Run the command line; every refusal is one message on the error stream and one exit code."""
    try:
        app(prog_name="lapwright")  # not the file that it was started from
    except (StoppedError, KeyboardInterrupt, SystemExit) as end:
        code = end.code if isinstance(end, SystemExit) else INTERRUPTED
        if code not in {INTERRUPTED, TERMINATED}:
            raise
        _end("stopped; nothing is left half-written", int(code))
    except LapwrightError as error:
        _end(str(error), NOT_WRITTEN if isinstance(error, (ExportError, LibraryError, SolidError)) else UNUSABLE)
    except OSError as error:
        _end(f"{error.filename or 'a file'}: can't be used ({error.strerror or error})", NOT_WRITTEN)


def _end(message: str, code: int) -> None:
    message = escaped(message, keep="\n")
    print(f"lapwright: {message}", file=sys.stderr)
    sys.exit(code)


if __name__ == "__main__":
    main()
