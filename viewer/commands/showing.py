"""What the commands that show a box do: pictures as made, turning, or of one step of the making; and the window."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, cast

from assembly.errors import InputError
from viewer.commands import jobs
from viewer.commands.libraries import loading
from viewer.commands.made_boxes import agreed_as_made, agreed_times, box_as_made, made_ending, scene_as_made, sought
from viewer.commands.progress import progress
from viewer.commands.typed import as_typed, number

if TYPE_CHECKING:
    from viewer.commands.jobs import Job
    from viewer.commands.made_boxes import AsMade
    from viewer.commands.watching import WatchedScenes
    from viewer.picture.write import Ground
    from viewer.scene.scene import Scene
    from viewer.window.window import Window

GROUNDS = ("white", "transparent")
SIZE, TURN_SIZE = "1920x1080", "800x600"
_LONGEST = 40  # characters of a size; Python reads no number of thousands of digits
TURNS = 36  # pictures to one turn


@dataclass(frozen=True, slots=True, kw_only=True)
class PictureRequest:
    """What a picture shall show, in the words of the command; None for what was not said."""

    explode: float | str | None = None
    as_made: str | None = None
    of: str | None = None
    times: float | str | None = None
    step: str | None = None
    size: str | None = None
    ground: str = "white"
    spin: str | None = None
    seed: int = 1


def pictured(job: Job, to: str, asked: PictureRequest) -> list[str]:
    """Draw what is asked for, and return the files written: a PNG or one for each step; a GIF if one is asked for."""
    size, turn_size = _agreed(job, asked)
    ground = cast("Ground", asked.ground)
    steps = [] if asked.step is None else steps_of(job, asked.step)
    from viewer.picture.write import begun, write_picture

    if len(steps) > 1:
        return _steps_pictured(job, jobs.folder_for(to), steps, size, ground)
    still = jobs.folder_for(to) / f"{job.stem}{_ending(asked, steps)}.png"
    with progress("drawing a picture"), begun() as child:
        scene = step_shown(job, steps[0]) if steps else shown(job, asked)
        write_picture(scene, still, size, ground, child=child)
    if asked.spin is None:
        return [still.as_posix()]
    moving = jobs.folder_for(to) / asked.spin
    with progress(f"drawing {TURNS} pictures of one turn"):
        write_picture(scene, moving, turn_size, turns=TURNS)
    return [still.as_posix(), moving.as_posix()]


def _steps_pictured(job: Job, folder: Path, steps: list[int], size: tuple[int, int], ground: Ground) -> list[str]:
    """Draw every step into a file of its own."""
    from viewer.picture.write import begun, write_pictures

    files = [folder / f"{job.stem}_step_{number:02d}.png" for number in steps]
    with progress(f"drawing {len(steps)} steps") as bar, begun() as child:
        scenes = steps_shown(job, steps)
        write_pictures(list(zip(scenes, files, strict=True)), size, ground, bar, child=child)
    return [file.as_posix() for file in files]


def _agreed(job: Job, asked: PictureRequest) -> tuple[tuple[int, int], tuple[int, int]]:
    """Return the sizes of a picture and of one that turns; refuse words that do not go together.

    Raises
    ------
    InputError
        If one of them is none of those allowed, or goes with another that is not there.
    """
    agreed_as_made(asked.as_made, asked.of)
    agreed_step(asked)
    if asked.explode is not None:
        number("--explode", asked.explode, (0, 1), "0 (closed) to 1 (taken apart); give 0.5 for halfway")
    agreed_times(job, asked.as_made, asked.times, seed=asked.seed)
    _agreed_looks(asked)
    return size_of(asked.size or SIZE), size_of(asked.size or TURN_SIZE)


def agreed_step(asked: PictureRequest) -> None:
    """Refuse what does not go with a step of the making."""
    given = {"--explode": asked.explode, "--as-made": asked.as_made, "--times": asked.times}
    said = [option for option, value in given.items() if value is not None]
    if asked.step is not None and said:
        them = "it" if len(said) == 1 else "them"
        msg = f"--step: shows the timber before it is a box, and can't go with {' and '.join(said)}; leave {them} out"
        raise InputError(msg)
    if asked.step == "all" and asked.spin is not None:
        msg = "--spin: turns one picture, and --step all draws many; give --step a number, or leave out --spin"
        raise InputError(msg)


def _agreed_looks(asked: PictureRequest) -> None:
    if asked.ground not in GROUNDS:
        msg = f"--ground: got {asked.ground!r}, must be white or transparent"
        raise InputError(msg)
    if asked.spin is not None and Path(asked.spin).suffix.lower() != ".gif":
        msg = f"--spin: got {asked.spin!r}, must end in .gif"
        raise InputError(msg)
    if asked.spin is not None and asked.ground == "transparent":
        msg = "--ground: a turning picture has a white ground; leave out --ground or --spin"
        raise InputError(msg)


def _ending(asked: PictureRequest, steps: list[int]) -> str:
    """Return what is added to a file's name so that different pictures of a design do not replace one another."""
    if steps:
        return f"_step_{steps[0]:02d}"
    return made_ending(asked.as_made, asked.of, asked.times)


def size_of(words: str) -> tuple[int, int]:
    """Return width and height of a picture from words such as 1600x1200.

    Raises
    ------
    InputError
        If they are not two whole numbers of pixels that can be had, with an x between.
    """
    from viewer.picture.write import LEAST_SIDE, MOST_SIDE

    found = re.fullmatch(r"([0-9]+)[x×]([0-9]+)", words.strip().lower())
    sides = tuple(map(int, found.groups())) if found and len(words) < _LONGEST else ()
    if not sides or not all(LEAST_SIDE <= side <= MOST_SIDE for side in sides):
        msg = (
            f"--size: got {words!r}, must be width x height, each {LEAST_SIDE} to {MOST_SIDE} pixels, such as 1600x1200"
        )
        raise InputError(msg)
    return sides[0], sides[1]


def steps_of(job: Job, words: str) -> list[int]:
    """Return the numbers of the steps that are asked for: one, or all of them.

    Raises
    ------
    InputError
        If there is no such step.
    """
    from assembly.planning.making import making_order

    count = len(making_order(job.design, job.workshop).steps)
    if words == "all":
        return list(range(1, count + 1))
    if not re.fullmatch(r"[0-9]{1,9}", words) or not 1 <= int(words) <= count:
        msg = (
            f"--step: got {as_typed(words)}, must be 1 to {count}, the steps of making this box, or all to draw each; "
            "list names them"
        )
        raise InputError(msg)
    return [int(words)]


def shown(job: Job, asked: PictureRequest) -> Scene:
    """Return the scene of the box that is asked for, nominal or as it was made."""
    explode = 1.0 if asked.explode is None else float(asked.explode)
    if asked.as_made is None:
        box = jobs.built(job)
        with loading("drawing a picture"):
            from assembly.solids.box import box_arrays
        return jobs.scene_of(job, box_arrays(box), jobs.sampled(job, seed=asked.seed), explode)
    drawn = box_as_made(job, cast("AsMade", asked.as_made), of=asked.of, seed=asked.seed)
    return scene_as_made(job, drawn, float(asked.times or 1), explode)


def step_shown(job: Job, step: int) -> Scene:
    """Return the scene of one step of the making."""
    return steps_shown(job, [step])[0]


def steps_shown(job: Job, steps: list[int]) -> list[Scene]:
    """Return the scenes of steps of the making."""
    from assembly.planning.making import making_order

    order, box = making_order(job.design, job.workshop), jobs.built(job)
    from assembly.solids.box import box_arrays

    return jobs.step_scenes(job, order, box_arrays(box), steps)


@dataclass(frozen=True, slots=True, kw_only=True)
class ViewRequest:
    """On which box a window shall open, in the words of the command; None for what was not said."""

    as_made: str | None = None
    of: str | None = None
    seed: int = 1


def viewed(job: Job, asked: ViewRequest) -> None:
    """Open a window on a job and return when it is closed.

    Raises
    ------
    InputError
        If the box that is asked for is none, or its limit is none of the design's.
    LibraryError
        If there is no screen to open it on.
    """
    from viewer.commands.libraries import need_screen

    if agreed_as_made(asked.as_made, asked.of) == "likeliest":
        sought(job, "likeliest", asked.of, jobs.sampled(job, seed=asked.seed))
    need_screen()
    with progress("opening the window"):
        scenes, window = opened(job, asked)
    from viewer.window.events import run

    try:
        run(window)
    finally:
        scenes.end()


def opened(job: Job, asked: ViewRequest, *, off_screen: bool = False) -> tuple[WatchedScenes, Window]:
    """Return what a window on a job shows, to be ended after use, and the window."""
    from viewer.commands.watching import WatchedScenes
    from viewer.window.state import State, with_drawn

    scenes = WatchedScenes(job, seed=asked.seed, of=asked.of)
    with loading("opening a window"):
        from viewer.window.window import Window

    window = Window(State(bounds=scenes.bounds()), scenes, off_screen=off_screen)
    if asked.as_made is not None:
        window.show(with_drawn(window.state, cast("AsMade", asked.as_made)))
    return scenes, window
