"""The commands that work something out about many boxes; where that is a verdict, their exit code tells it."""

from __future__ import annotations

from typing import Annotated

import typer

from assembly.model.outcomes import OUTCOMES
from viewer.commands import advising, checking, jobs, options, section_job, studies
from viewer.commands.printing import tell
from viewer.front.shared import AsJson, Boxes, DesignName, Details, Folder, Plots, Seed, Settings, WorkshopName

NOT_KEPT = 1


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

    First comes whether it is enough. "Made by" names the workshop's file and the aids in use.

    What to cut: finished sizes in mm; a blank has the waste of saw and sander on it, and a class's totals are of blanks
    without gaps. A wall's length runs along its grain. The plaque's length is that of the flat sheet, the bend
    taken into account.

    What to expect: each simulated box has its own errors of marking, sawing, sanding, gauging, chiselling and paring,
    is pressed together as clamps would, and is measured. Half of all boxes are better than the typical one. Under
    "nine boxes in ten", one box in twenty is below the first figure and one in twenty above the second. "keep it" is
    the share of boxes that keep that one limit. A figure has only the digits that this many boxes give it.

    In a class: whole classes are simulated, as what a class shares, such as its timber and its sander, does not
    average out inside it. Where a plain sum of tolerances would change the answer, it is said; with
    --details, where it misleads at all.
    """
    job = jobs.read(design, settings, workshop)
    size = checking.StudyLength(boxes=boxes, digits=digits, points=points, scrambles=scrambles)
    found = checking.checked(job, size, seed=seed, rule=rule, plots=plots, details=details)
    tell(found, as_json)
    if not found.kept:
        raise typer.Exit(NOT_KEPT)


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
    What comes in many amounts, left to sand, lap share and thicknesses, only lapwright advise tries; an error half as
    wide or without its mean is only here, as it is a wish and nothing that somebody can do.
    """
    job = jobs.read(design, settings, workshop)
    tell(studies.caused(job, of=of, boxes=boxes, seed=seed, plots=plots, details=details), as_json)


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
        str,
        typer.Option(
            metavar="FILE", help="Thicknesses on sale: a TOML file with sections = ...; stock is one that ships."
        ),
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
    details: Details = False,
    as_json: AsJson = False,
) -> None:
    """Print what differs between two designs or workshops.

    First comes which is better, by how many good boxes of a class, and how sure that is; then how a typical box
    changes. Every simulated box of the second has the errors of the one in the first. Limits that only one of them has
    are named.
    """
    made_in, other = studies.workshops_of(workshop), options.second_of(first, second, then, workshop)
    pair = studies.read_pair(first, other, settings, made_in, then)
    tell(studies.compared(*pair, boxes=boxes, seed=seed, then=then or (), details=details), as_json)


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
            help="Thicknesses on sale, a TOML file with sections = ...: every pair of them is judged, "
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
    boxes are lost against the present section. With --details comes every figure behind them, and what the seasons do.
    It is not a structural design, and no figure is a strength.

    With nothing to try it answers for the present section, led by what the seasons do to base and lid.

    With --stock and no thickness, every pair of thicknesses on sale is judged. A line such as
    sections = [6, 9, 12, "3/8 in"] is all that a stock file needs for it.

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
