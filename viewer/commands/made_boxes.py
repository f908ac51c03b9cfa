"""Boxes that are drawn as they were made: a sampled one, the limit case of a joint, the likeliest bad box of a limit.

sought : a box that has to be searched for, which takes seconds, in words and as what the search goes by
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal, cast, get_args

from assembly.errors import InputError
from assembly.text import mm
from viewer.commands import jobs
from viewer.commands.libraries import loading
from viewer.commands.progress import progress
from viewer.commands.typed import as_typed, number

if TYPE_CHECKING:
    from assembly.made.records import SettledBox
    from assembly.model.design import Limit
    from viewer.commands.jobs import Job
    from viewer.scene.scene import Scene

AsMade = Literal["p95", "likeliest", "limit"]
AS_MADE = get_args(AsMade)
LIMIT_NODES = 6_000  # of the search for a limit case that is drawn; twice what the shipped designs take


@dataclass(frozen=True, slots=True, kw_only=True)
class BoxAsMade:
    """A box that is drawn as made: the joint whose limit case it is, or what is said of a likeliest bad box."""

    settled: SettledBox
    limit_of: str | None = None
    bad: str = ""
    beyond: bool = False  # its errors are outside the model's first order


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitCaseSought:
    """The limit case of a joint."""

    joint: str
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BadBoxSought:
    """The likeliest bad box of a limit, given as the model's row of it."""

    row: str
    limit: Limit
    words: str


Sought = LimitCaseSought | BadBoxSought


def agreed_as_made(as_made: str | None, of: str | None) -> AsMade | None:
    """Return which box is drawn as it was made.

    Raises
    ------
    InputError
        If it is none, or a limit is given whose bad box is not drawn.
    """
    if as_made is not None and as_made not in AS_MADE:
        msg = (
            f"--as-made: got {as_made!r}, must be p95 (a sampled box), likeliest (the likeliest bad box) or "
            "limit (every error at its limits)"
        )
        raise InputError(msg)
    if of is not None and as_made != "likeliest":
        msg = (
            f"--of: got {of!r}, which says of what limit the likeliest bad box is drawn; add --as-made "
            "likeliest, or leave out --of"
        )
        raise InputError(msg)
    return cast("AsMade | None", as_made)


def agreed_times(job: Job, as_made: str | None, times: float | str | None, *, seed: int) -> None:
    """Refuse what can't be how many times as large errors are drawn, so far as that is known before the box is.

    Raises
    ------
    InputError
        If it is no such number, or there are no errors to draw.
    """
    if times is None:
        return
    from assembly.solids.as_made import MOST_TIMES, drawable_times

    if as_made is not None:
        # How far the limit case can be drawn is known only once it is found; of a sampled box `as_made` tells it.
        bounds = None if as_made == "p95" else (1.0, MOST_TIMES)
        cure = "or to where the faces of the box cross before; start with --times 2"
        number("--times", times, bounds, f"1 (true size) to {MOST_TIMES:g}, {cure}")
        return
    most = drawable_times(jobs.sampled(job, seed=seed))
    cure = f"add --as-made p95, for which --times may be 1 (true size) to {most:g} with this box"
    msg = f"--times: got {as_typed(times)} without --as-made, and only a box as made has errors to show; {cure}"
    raise InputError(msg)


def made_ending(as_made: str | None, of: str | None, times: float | str | None) -> str:
    """Return what a box as made adds to a file's name, so that it never replaces another; nothing without one."""
    whose = "" if of is None else f"_{of}"
    return "" if as_made is None else f"_{as_made}{whose}_{float(times or 1):g}_times"


def sought(job: Job, kind: Literal["limit", "likeliest"], of: str | None, sampled: SettledBox) -> Sought:
    """Return what is looked for: the limit case of a sampled box's widest joint, or the likeliest bad box `of` a limit.

    `of` is a joint or an outcome; where nothing is said, it is the joint that opens widest, or the first limit.

    Raises
    ------
    InputError
        If there is no such joint, outcome or limit.
    """
    from assembly.model.outcomes import OUTCOMES
    from assembly.nominal.frame import CORNERS, corner_words

    widest = widest_joint(sampled)
    if kind == "limit":
        return LimitCaseSought(joint=widest, words=f"the limit case of the {corner_words(widest)} joint")
    of = None if of is None else _joint_or_outcome(of)
    has = [name for name, _ in jobs.limits_asked(job)]
    if not has:
        msg = "likeliest: the design sets no limits, so no box is bad; set one, such as --set limits.joint_gap.max=1.5"
        raise InputError(msg)
    joint = of if of in CORNERS else widest if of in {None, "joint_gap"} and f"gap {widest}" in has else None
    if joint is not None and f"gap {joint}" not in has:
        jobs.limits_asked(job, of="joint_gap")
    row, limit = (jobs.limits_asked(job, joint=joint) if joint else jobs.limits_asked(job, of=of))[0]
    whose = f"the {corner_words(joint)} joint" if joint else f'"{OUTCOMES[row].label}"'
    return BadBoxSought(row=row, limit=limit, words=f"the likeliest bad box of {whose}")


def _joint_or_outcome(word: str) -> str:
    """Return the joint, however it is typed, or the outcome that a word names."""
    from assembly.model.outcomes import outcome_typed
    from assembly.nominal.frame import CORNERS, corner_typed

    try:
        return corner_typed("--of", word)
    except InputError:
        return outcome_typed("--of", word, CORNERS)


def searched(job: Job, box: Sought, *, seed: int) -> BoxAsMade:
    """Search for a box.

    Raises
    ------
    InputError
        If no box is found that breaks the limit.
    """
    return _limit_case(job, box, seed) if isinstance(box, LimitCaseSought) else _bad_box(job, box, seed)


def _limit_case(job: Job, box: LimitCaseSought, seed: int) -> BoxAsMade:
    from assembly.limit_case.search import Worst

    case = Worst(job.design, job.workshop).cases([box.joint], seed=seed, nodes=LIMIT_NODES)[0]
    return BoxAsMade(settled=case.box, limit_of=box.joint, beyond=case.beyond_first_order)


def _bad_box(job: Job, box: BadBoxSought, seed: int) -> BoxAsMade:
    from viewer.reports.bad_box_words import bad_box_words

    (bad,) = jobs.likeliest_boxes(job, [(box.row, box.limit)], seed=seed)
    if bad.box is None:
        msg = f"likeliest: no simulated box, and no search, breaks the limit of {bad.of}; ask for another with --of"
        raise InputError(msg)
    words = bad_box_words(bad.known, bad.off, bad.box)
    return BoxAsMade(settled=bad.box, bad=words, beyond=bad.beyond_first_order)


def box_as_made(job: Job, kind: AsMade, *, of: str | None = None, seed: int) -> BoxAsMade:
    """Return the sampled box, the likeliest bad box of a limit, or the limit case of the sampled box's widest joint."""
    sampled = jobs.sampled(job, seed=seed)
    if kind == "p95":
        return BoxAsMade(settled=sampled)
    box = sought(job, kind, of, sampled)
    with progress(f"looking for {box.words}"):
        return searched(job, box, seed=seed)


def widest_joint(settled: SettledBox) -> str:
    """Return the corner with the widest gap."""
    return settled.frame.corners[int(settled.corner_gaps.argmax())]


def what_is_wrong(drawn: BoxAsMade, times: float) -> tuple[str, ...]:
    """Return what is said beside files of a box as made: its worst joint in true mm, why it is bad, how it is drawn.

    A limit case is told as what it is, and what is beyond the predictions is told so, as on its picture.
    """
    from assembly.nominal.frame import corner_words
    from assembly.solids.stood_clear import CLEAR_WORDS

    settled = drawn.settled
    size = mm(round(float(settled.corner_gaps.max()), 1))
    large = "at true size" if times == 1 else f"{times:g} times as large"
    said = [f"Worst joint: {corner_words(widest_joint(settled))}, {size} wide; errors are drawn {large}."]
    if drawn.limit_of:
        said.append("It is a limit case, not a real box: all errors at their worst for it at once.")
    if drawn.bad:
        said.append(drawn.bad)
    if drawn.beyond:
        said.append("So large errors are beyond what the predictions hold for.")
    return (*said, CLEAR_WORDS)


def scene_as_made(job: Job, drawn: BoxAsMade, times: float, explode: float = 0.0) -> Scene:
    """Return the scene of a box as it was made, its errors drawn `times` as large, its joints marked.

    Raises
    ------
    SolidError
        If its faces cross at so many times.
    """
    with loading("building solids"):
        from assembly.solids.as_made import as_made

    parts, made = as_made(job.design, drawn.settled, times, drawn.limit_of)
    return jobs.scene_of(job, parts, drawn.settled, explode, replace(made, beyond=drawn.beyond, bad=drawn.bad))
