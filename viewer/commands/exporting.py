"""The box as files for other programs: which formats, of what model, and what is written."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from assembly.errors import InputError
from assembly.text import decimal, did_you_mean, listed, mm
from assembly.writers.formats import FORMATS, read_scale
from assembly.writers.outlines import OUTLINES
from viewer.commands import jobs
from viewer.commands.libraries import loading
from viewer.commands.outlining import AS_USUAL, Machine, files_of, outlines, refuse_idle
from viewer.commands.progress import progress

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from assembly.files.writing import Meant
    from assembly.solids.box import BuiltBox
    from assembly.writers.formats import Scale
    from assembly.writers.threemf import Item
    from viewer.commands.display_model import Model, Thin
    from viewer.commands.jobs import Job
    from viewer.reports.output.record import Output

EVERY_FORMAT = ",".join(FORMATS)
PLATES = "3mf"  # the format in which parts are laid out for a printer
PRINTED = ("stl", PLATES)  # the formats that printers take


@dataclass(frozen=True, slots=True, kw_only=True)
class ExportRequest:
    """What files are to be like, as it was typed; None for what was not."""

    formats: str = EVERY_FORMAT
    scale: str = "1:1"
    clearance: str | None = None
    nozzle: str | None = None
    plate: str | None = None
    as_made: str | None = None
    of: str | None = None
    times: str | None = None
    seed: int = 1
    machine: Machine = AS_USUAL

    @property
    def of_model(self) -> tuple[str, ...]:
        """The options given that only a box's solids take."""
        given = {
            "--clearance": self.clearance,
            "--nozzle": self.nozzle,
            "--plate": self.plate,
            "--as-made": self.as_made,
        }
        return tuple(option for option, value in given.items() if value is not None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Exported:
    """The files that were written, what is to be known of them, and which of their walls are thin for the nozzle."""

    files: list[str]
    removed: list[str]  # that an earlier export left in the folders
    remarks: tuple[str, ...] = ()
    nozzle: float = 0.0
    thin: tuple[Thin, ...] = ()

    def lines(self) -> list[str]:
        """Word it."""
        lines = [f"wrote {file}" for file in self.files]
        lines += [*(f"removed {file}" for file in self.removed), *self.remarks]
        if self.thin:
            lines.append(f"Thin for a nozzle of {mm(self.nozzle)}, under two widths of it:")
        for wall in self.thin:
            doubt = ", under one width: it may not print" if wall.under_nozzle else ""
            lines.append(f"  {wall.part}, {wall.wall} {mm(wall.size)}{doubt}")
        return lines

    def data(self) -> Output:
        """Return it as it is told in JSON."""
        from viewer.reports.output.files import ExportOutput, ThinWallOutput

        thin = [
            ThinWallOutput(part=each.part, wall=each.wall, size=each.size, under_nozzle=each.under_nozzle)
            for each in self.thin
        ]
        return ExportOutput(
            command="export", files=self.files, removed=self.removed, remarks=list(self.remarks), thin_walls=thin
        )


def exported(job: Job, to: str, asked: ExportRequest) -> Exported:
    """Write the box, nominal or as made, or its plaque's outline, in every format of a list, and tell what was written.

    Nothing is written where one of them can't be had. What an earlier export left in a folder that is filled goes.

    Raises
    ------
    InputError
        If a word is none of those allowed, or what it asks for can't be printed or cut.
    """
    from assembly.files.writing import publish_each
    from assembly.writers.names import left_over
    from viewer.commands.display_model import thin_walls

    names, drawn = formats_of(asked.formats), read_scale(asked.scale)
    outlined, solid = ([name for name in names if (name in OUTLINES) is flat] for flat in (True, False))
    refuse_idle(outlined, asked.machine)
    agreed(job, asked, solid)
    found = outlines(job, outlined, asked.machine, drawn.factor) if outlined else None
    model = model_of(job, asked, solid, drawn)
    thin = thin_walls(model)
    with progress(f"writing {', '.join(names)}"):
        laid = _laid(model) if solid else None  # it may be refused, so no folder is made yet
        folder, ending = jobs.folder_for(to), _ending(asked, model, drawn)
        targets = {name: folder / f"{job.stem}{ending}{FORMATS[name].suffix}" for name in solid}
        targets |= {name: folder / f"{job.stem}-{name}" for name in outlined}
        drafted = _of_box(model, laid, {name: targets[name] for name in solid}) if laid else {}
        drafted |= {name: files_of(found, name, targets[name]) for name in outlined if found}
        files = {path: file for name in names for path, file in drafted[name].items()}
        old = [path for name in names for path in left_over(name, targets[name], files)]
        written = publish_each(files, old)
    return Exported(
        files=[file.as_posix() for file in written],
        removed=[file.as_posix() for file in old],
        remarks=(*model.told, *(found.remarks if found else ())),
        nozzle=model.nozzle,
        thin=thin,
    )


def _laid(model: Model) -> tuple[BuiltBox, tuple[tuple[Item, ...], ...]]:
    """Return a model's box, and its parts on plates where these are asked for."""
    from viewer.commands.display_model import held_to_plate

    box = model.box()
    return box, held_to_plate(model, box)


def _of_box(
    model: Model, laid: tuple[BuiltBox, tuple[tuple[Item, ...], ...]], targets: Mapping[str, Path]
) -> dict[str, dict[Path, Meant]]:
    """Return the files of a box by format, nothing of them written yet."""
    box, plates = laid
    drafted = {}
    for name, target in targets.items():
        with loading(f"writing {name}"):
            files_of_box = FORMATS[name].load()
        drafted[name] = files_of_box(box, target, model.scale)
    if model.plate:
        from assembly.writers.plates import plate_files

        drafted[PLATES] |= plate_files(box.name, plates, model.plate, targets[PLATES])
    return drafted


def agreed(job: Job, asked: ExportRequest, names: Sequence[str]) -> None:
    """Refuse words that do not go together.

    Raises
    ------
    InputError
        If one of them is none of those allowed, or goes with another that is not there.
    """
    from viewer.commands.made_boxes import agreed_as_made, agreed_times

    if asked.of_model and not names:
        solids = listed(list(FORMATS))
        msg = f"{asked.of_model[0]}: is for {solids}, which were not asked for; add one of them to --as"
        raise InputError(msg)
    agreed_as_made(asked.as_made, asked.of)
    agreed_times(job, asked.as_made, asked.times, seed=asked.seed)
    if asked.plate is not None and PLATES not in names:
        msg = f"--plate: lays parts out in {PLATES} files, and --as has none; add {PLATES} to --as, or leave it out"
        raise InputError(msg)
    if asked.clearance is not None and asked.as_made is not None:
        msg = (
            "--clearance: takes from the faces what --as-made would show of them, so that no gap is what it is called; "
            "leave out one of them"
        )
        raise InputError(msg)


def model_of(job: Job, asked: ExportRequest, names: Sequence[str], drawn: Scale) -> Model:
    """Return the model that is asked for; a box as made is looked for, which may take seconds."""
    from viewer.commands.display_model import Model, clearance_of, nozzle_of, plate_of

    clearance = clearance_of(asked.clearance)
    nozzle, plate = nozzle_of(asked.nozzle), None if asked.plate is None else plate_of(asked.plate)
    printed = not set(PRINTED).isdisjoint(names) or clearance > 0 or asked.nozzle is not None
    model = Model(
        design=job.design,
        size=1 / drawn.factor,
        clearance=clearance,
        nozzle=nozzle if printed else 0.0,
        plate=plate,
    )
    return model if asked.as_made is None else _as_made(job, asked, model)


def _as_made(job: Job, asked: ExportRequest, model: Model) -> Model:
    from assembly.solids.as_made import checked_times
    from viewer.commands.made_boxes import agreed_as_made, box_as_made, what_is_wrong

    kind = agreed_as_made(asked.as_made, asked.of)
    assert kind is not None
    found = box_as_made(job, kind, of=asked.of, seed=asked.seed)
    times = checked_times(float(asked.times or 1), found.settled)
    return replace(model, made=found.settled, times=times, told=what_is_wrong(found, times))


def _ending(asked: ExportRequest, model: Model, drawn: Scale) -> str:
    """Return what is added to files' names so that no model of a design takes the place of another."""
    from viewer.commands.made_boxes import made_ending

    play = f"_clearance_{decimal(model.clearance)}" if model.clearance else ""
    return f"{made_ending(asked.as_made, asked.of, asked.times)}{drawn.ending}{play}"


def formats_of(words: str) -> tuple[str, ...]:
    """Return the file formats that a list such as step,stl names, each once."""
    known = (*FORMATS, *OUTLINES)
    names = [name.strip().lower() for name in words.split(",")]
    for name in names:
        if name not in known:
            hint = did_you_mean(name, known)
            msg = f"--as: got {name!r}, must be a list of {', '.join(known)}, such as step,stl"
            raise InputError(f"{msg}; {hint}" if hint else msg)
    return tuple(dict.fromkeys(names))
