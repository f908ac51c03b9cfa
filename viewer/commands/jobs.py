"""What the commands do, each in a few steps; the heavy libraries are imported in the step that needs them.

Reading takes pydantic, checking numpy and numba, shapes manifold3d, pictures VTK and STEP files the geometry kernel:
none of them is loaded by a command that can do without.
"""

from __future__ import annotations

import shlex
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from assembly.errors import ExportError, InputError
from viewer.commands.libraries import loading

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from assembly.changes.change import Change
    from assembly.learning.files import Draws
    from assembly.made.records import SettledBox
    from assembly.model.design import Design, Limit
    from assembly.model.workshop import Workshop
    from assembly.planning.making import MakingOrder
    from assembly.solids.as_made import AsMade
    from assembly.solids.box import BuiltBox
    from assembly.solids.parts import PartArrays
    from assembly.study.driver import Run
    from viewer.reports.worst_report import LikeliestBox
    from viewer.scene.scene import Scene

DRAWS = ".draws.npz"  # the end of the file with what is not known of a learned workshop
PICTURED = 0.95  # the sampled box that is drawn: 95 in 100 have a smaller widest gap


@dataclass(frozen=True, slots=True, kw_only=True)
class JobWords:
    """A design, changes to it and a workshop in its stead, as they were typed."""

    design: str
    settings: tuple[str, ...]
    workshop: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """A design that was read, the workshop that makes it, and the stem of the files that come of it."""

    design: Design
    workshop: Workshop
    stem: str
    change: Change  # what the command line changed in the files of both
    typed: str  # the words that name them on a command line, changes included
    words: JobWords  # the same apart, without what was typed after `--then`

    @property
    def made_in(self) -> str:
        """The workshop's file as a report names it."""
        from assembly.files.shipped import is_shipped

        named = self.words.workshop or self.design.made_by
        return f"{named}, as shipped" if is_shipped(files_of(self)[-1]) else named

    def draws(self) -> Draws | None:
        """Return what is not known of a learned workshop, from the file beside its own; None where there is none."""
        file = files_of(self)[-1]
        if not file.with_name(f"{file.stem}{DRAWS}").is_file():
            return None
        from assembly.learning.files import draws_beside  # numpy

        return draws_beside(file, self.workshop)


def read(
    design: str,
    settings: Sequence[str] | None = None,
    workshop: str | None = None,
    *,
    then: Sequence[str] | None = None,
) -> Job:
    """Return the design, changed by `settings` and `then`, and the workshop that makes it, or `workshop` in its stead.

    `then` are changes that somebody typed after `--then`, and refusals name them so.
    """
    with loading("reading a design"):
        from assembly.changes.change import asked  # pydantic, 0.2 s, which `--help` can do without
    from assembly.files.reading import maker, read_design

    change = asked(settings or (), then or ())
    found = read_design(design, change.settings)
    made_by = maker(found, design, workshop, change.settings)
    words = [shlex.quote(design), *([] if workshop is None else ["--workshop", shlex.quote(workshop)]), *change.lines]
    return Job(
        design=found,
        workshop=made_by,
        stem=Path(design).stem,
        change=change,
        typed=" ".join(words),
        words=JobWords(design=design, settings=tuple(settings or ()), workshop=workshop),
    )


def workshop_typed(job: Job) -> str:
    """Return what to type after `--workshop` for the workshop of a job: a name that ships, or a path from here."""
    from assembly.files.shipped import is_shipped

    file = files_of(job)[-1]
    return file.stem if is_shipped(file) else file.as_posix()


def read_again(job: Job) -> Job:
    """Return a job as its files have it now.

    Raises
    ------
    ConfigError
        With every fault of a file.
    """
    return read(job.words.design, job.words.settings, job.words.workshop)


def files_of(job: Job) -> tuple[Path, ...]:
    """Return the files that a job was read from: its design's and its workshop's."""
    from assembly.files.shipped import design_file, workshop_file

    file = design_file(job.words.design)
    made_by, folder = job.design.made_by, file.parent
    if job.words.workshop is not None:
        made_by, folder = job.words.workshop, Path()
    workshop = workshop_file(made_by, folder)
    return (file,) if workshop is None else (file, workshop)


def built(job: Job) -> BuiltBox:
    """Return the nominal box of a job as solids."""
    with loading("building solids"):
        from assembly.solids.box import build  # manifold3d; the exact solids are built when STEP asks for them

    return build(job.design)


def sampled(job: Job, *, seed: int) -> SettledBox:
    """Return the sampled box that is drawn: at `PICTURED` of the widest gap."""
    from assembly.study.check import sampled_box

    return sampled_box(job.design, job.workshop, seed=seed, quantile=PICTURED)


def limits_asked(job: Job, *, joint: str | None = None, of: str | None = None) -> list[tuple[str, Limit]]:
    """Return the limits that are asked for, by the rows of the model: of each joint's gap, then of other outcomes.

    Raises
    ------
    InputError
        If there is no such joint or outcome, or the design sets no limit for it.
    """
    from assembly.model.outcomes import outcome_typed
    from assembly.nominal.frame import CORNERS, corner_typed
    from assembly.study.check import BoxModel

    model = BoxModel(job.design, job.workshop)
    limits = dict(model.limits)
    if joint is not None and of is not None:
        msg = "--of: can't be given together with --joint, which asks for the limit of its gap; leave out one of them"
        raise InputError(msg)
    if joint is not None:
        joint = corner_typed("--joint", joint)
    of = None if of is None else outcome_typed("--of", of)
    if of is not None and of not in limits:
        has = f"it has limits for {', '.join(limits)}" if limits else "it has none"
        msg = f"--of: the design sets no limit for {of}; {has}; set one with --set limits.{of}.max=NUMBER"
        raise InputError(msg)
    gap = limits.pop("joint_gap", None)
    joints = CORNERS if joint is None else (joint,)
    asked = [] if gap is None or of not in {None, "joint_gap"} else [(f"gap {corner}", gap) for corner in joints]
    return asked if joint else asked + [(name, limit) for name, limit in limits.items() if of in {None, name}]


def likeliest_boxes(
    job: Job, limits: Sequence[tuple[str, Limit]], *, seed: int, run: Run | None = None
) -> list[LikeliestBox]:
    """Return the likeliest bad box of each limit; where the run is stopped, of the first limits."""
    from assembly.rare.likeliest import bad_boxes, settled
    from assembly.rare.sizes import what_is_off
    from assembly.study.check import BoxModel
    from assembly.study.driver import UNWATCHED
    from viewer.reports.worst_report import LikeliestBox

    model, found = BoxModel(job.design, job.workshop), []
    for known in bad_boxes(model, limits, seed=seed, run=run or UNWATCHED) if limits else ():
        if not len(known.points):
            found.append(LikeliestBox(known=known))
            continue
        box, beyond = settled(known.broken, known.points)
        off = () if known.usual else tuple(what_is_off(known.broken, known.points))
        found.append(LikeliestBox(known=known, off=off, box=box, beyond_first_order=beyond))
    return found


def scene_of(
    job: Job, parts: tuple[PartArrays, ...], settled: SettledBox, explode: float = 0.0, made: AsMade | None = None
) -> Scene:
    """Return the scene of a box, nominal or as `made`, with the joints of a settled one marked."""
    from assembly.made.gap_classes import gap_scale_of
    from assembly.made.sampling import BLOCK
    from viewer.scene.box_scene import scene
    from viewer.scene.scene import TitleBlock

    title_block = TitleBlock(name=job.design.name, boxes=BLOCK, percentile=round(100 * PICTURED))
    return scene(parts, settled, gap_scale_of(job.design), explode, title_block, made)


def apart(job: Job, parts: tuple[PartArrays, ...]) -> Scene:
    """Return the nominal box taken apart, without marks on its joints."""
    from assembly.made.gap_classes import gap_scale_of
    from viewer.scene.box_scene import scene
    from viewer.scene.scene import TitleBlock

    return scene(parts, None, gap_scale_of(job.design), 1.0, TitleBlock(name=job.design.name))


def step_scenes(job: Job, order: MakingOrder, parts: tuple[PartArrays, ...], steps: Iterable[int]) -> list[Scene]:
    """Return the scenes of some steps of the making, given by their numbers."""
    from assembly.made.gap_classes import gap_scale_of
    from viewer.scene.step_scene import step_scene

    scale = gap_scale_of(job.design)
    return [step_scene(order, step, parts, job.design.name, scale) for step in steps]


def folder_for(to: str, option: str = "--to") -> Path:
    """Return the folder to write into, made if it is missing; `option` is what it was given with."""
    folder = Path(to)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except FileExistsError:
        msg = f"{to}: is a file, and a folder is needed to write into; give another with {option}"
        raise ExportError(msg) from None
    except FileNotFoundError:
        msg = f"{to}: can't be made, as {folder.parent} takes no folders; give one that you may write to with {option}"
        raise ExportError(msg) from None
    except OSError as error:
        msg = f"{to}: can't be made ({error.strerror}); give a folder that you may write to with {option}"
        raise ExportError(msg) from None
    return folder


def started(file: str, to: str) -> str:
    """Write a starter design and return its path.

    Raises
    ------
    InputError
        If its name is empty.
    """
    if not Path(file).name:
        msg = f"FILE: got {file!r}, must be the name of a file to write, such as my_box.toml"
        raise InputError(msg)
    from assembly.files.shipped import new_design  # `--help` can do without

    return new_design(folder_for(to) / file).as_posix()
