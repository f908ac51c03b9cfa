"""What the commands that show a box do: pictures as made, turning, or of one step of the making; and the window."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Literal, cast

from assembly.errors import InputError
from viewer import jobs
from viewer.libraries import loading
from viewer.progress import progress

if TYPE_CHECKING:
    from assembly.made import SettledBox
    from viewer.jobs import Job
    from viewer.opening import Scenes
    from viewer.picture import Ground
    from viewer.scene import Scene
    from viewer.window import Window

AS_MADE = ("p95", "limit")
SIZE, TURN_SIZE = "1920x1080", "800x600"
TURNS = 36  # pictures to one turn
PROOF_SECONDS = 20.0  # for one joint, which takes 3 to 10; a case not proved by then is drawn as it was found


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What a picture shall show, in the words of the command."""

    explode: float = 1.0
    as_made: str | None = None
    times: float | None = None
    step: int | None = None
    size: str | None = None
    ground: str = "white"
    spin: str | None = None
    seed: int = 1


def pictured(job: Job, to: str, asked: Asked) -> list[str]:
    """Draw what is asked for, and return the files written: a PNG, and a GIF that turns if one is asked for."""
    from viewer.picture import write_picture

    _agreed(asked)
    ground = cast("Ground", asked.ground)  # the writer refuses another
    still = jobs.folder_for(to) / f"{job.stem}{_ending(asked)}.png"
    with progress("drawing a picture"):
        scene = shown(job, asked)
        write_picture(scene, still, size_of(asked.size or SIZE), ground)
    if asked.spin is None:
        return [still.as_posix()]
    moving = jobs.folder_for(to) / asked.spin
    with progress(f"drawing {TURNS} pictures of one turn"):
        write_picture(scene, moving, size_of(asked.size or TURN_SIZE), turns=TURNS)
    return [still.as_posix(), moving.as_posix()]


def _agreed(asked: Asked) -> None:
    """Refuse words that do not go together.

    Raises
    ------
    InputError
        If one of them is none of those allowed, or goes with another that is not there.
    """
    if asked.as_made is not None and asked.as_made not in AS_MADE:
        msg = f"--as-made: got {asked.as_made!r}, must be p95 (a sampled box) or limit (every error at its limits)"
        raise InputError(msg)
    if asked.times is not None and asked.as_made is None:
        msg = f"--times: got {asked.times:g} without --as-made, and only a box as made has errors to show; add it"
        raise InputError(msg)
    if asked.step is not None and asked.as_made is not None:
        msg = "--step: shows the timber before it is a box; leave out --as-made"
        raise InputError(msg)
    if asked.spin is not None and Path(asked.spin).suffix.lower() != ".gif":
        msg = f"--spin: got {asked.spin!r}, must end in .gif"
        raise InputError(msg)
    if asked.spin is not None and asked.ground == "transparent":
        msg = "--ground: a turning picture has a white ground; leave out --ground or --spin"
        raise InputError(msg)


def _ending(asked: Asked) -> str:
    """Return what is added to a file's name so that different pictures of a design do not replace one another."""
    if asked.step is not None:
        return f"_step_{asked.step:02d}"
    return "" if asked.as_made is None else f"_{asked.as_made}_{asked.times or 1:g}_times"


def size_of(words: str) -> tuple[int, int]:
    """Return width and height of a picture from words such as 1600x1200.

    Raises
    ------
    InputError
        If they are not two whole numbers with an x between.
    """
    found = re.fullmatch(r"(\d{1,5})[x×](\d{1,5})", words.strip().lower())
    if not found:
        msg = f"--size: got {words!r}, must be width x height in pixels, such as 1600x1200"
        raise InputError(msg)
    return int(found[1]), int(found[2])


def shown(job: Job, asked: Asked) -> Scene:
    """Return the scene that is asked for."""
    if asked.step is not None:
        return step_shown(job, asked.step)
    if asked.as_made is None:
        return jobs.shown(job, seed=asked.seed, explode=asked.explode)
    return made_shown(job, asked)


def made_shown(job: Job, asked: Asked) -> Scene:
    """Return the scene of a box as it was made."""
    with loading("building solids"):
        from viewer.as_made import as_made
    from viewer.scene import Telling, scene

    kind = cast("Literal['p95', 'limit']", asked.as_made)
    settled, limit_of, beyond = settled_box(job, kind, seed=asked.seed)
    parts, made = as_made(job.design, settled, 1.0 if asked.times is None else asked.times, limit_of)
    telling = Telling(name=job.design.name, boxes=_block(), percentile=round(100 * jobs.PICTURED))
    return scene(parts, settled, job.design.glue_limit, asked.explode, telling, replace(made, beyond=beyond))


def _block() -> int:
    from assembly.tolerance.sampling import BLOCK

    return BLOCK


def settled_box(job: Job, kind: Literal["p95", "limit"], *, seed: int) -> tuple[SettledBox, str | None, bool]:
    """Return the sampled box; or the limit case of its widest joint, which joint, and if beyond first order."""
    from assembly.frame import CORNERS
    from assembly.tolerance.check import sampled_box

    sampled = sampled_box(job.design, job.workshop, seed=seed, quantile=jobs.PICTURED)
    if kind == "p95":
        return sampled, None, False
    from assembly.tolerance.worst import Worst

    corner = CORNERS[int(sampled.corner_gaps.argmax())]
    with progress(f"looking for the limit case of the {corner} joint"):
        case = Worst(job.design, job.workshop).cases([corner], seed=seed, seconds=PROOF_SECONDS)[0]
    return case.box, corner, case.beyond_first_order


def step_shown(job: Job, number: int) -> Scene:
    """Return the scene of one step of the making."""
    from assembly.planning.making import making_order
    from viewer.bench import step_scene

    order, box = making_order(job.design, job.workshop), jobs.built(job)
    from assembly.solids.meshes import box_arrays

    return step_scene(order, number, box_arrays(box), job.design.name, job.design.glue_limit)


def viewed(job: Job, *, seed: int) -> None:
    """Open a window on a job and return when it is closed.

    Raises
    ------
    LibraryError
        If there is no screen to open it on.
    """
    from viewer.libraries import need_screen

    need_screen()
    with progress("opening the window"):
        scenes, window = opened(job, seed=seed)
    from viewer.window_run import run

    try:
        run(window)
    finally:
        scenes.end()


def opened(job: Job, *, seed: int, off_screen: bool = False) -> tuple[Scenes, Window]:
    """Return what a window on a job shows, to be ended after use, and the window."""
    from viewer.opening import Scenes
    from viewer.state import State

    scenes = Scenes(job, seed=seed)
    with loading("opening a window"):
        from viewer.window import Window

    return scenes, Window(State(bounds=scenes.bounds()), scenes, off_screen=off_screen)
