"""The box as files for other programs: which formats, to which scale, and what is written."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from assembly.errors import InputError
from assembly.text import did_you_mean
from assembly.writers.formats import FORMATS, read_scale
from assembly.writers.outlines import OUTLINES
from viewer.commands import jobs
from viewer.commands.libraries import loading
from viewer.commands.outlining import AS_USUAL, Machine, outlines, refuse_idle, written
from viewer.commands.progress import progress

if TYPE_CHECKING:
    from pathlib import Path

    from viewer.commands.jobs import Job

EVERY_FORMAT = ",".join(FORMATS)


@dataclass(frozen=True, slots=True, kw_only=True)
class ExportRequest:
    """What files are to be like, as it was typed."""

    formats: str = EVERY_FORMAT
    scale: str = "1:1"
    machine: Machine = AS_USUAL


class Exported(NamedTuple):
    """The files that were written, and what is to be known of them."""

    files: list[str]
    remarks: tuple[str, ...] = ()


def exported(job: Job, to: str, asked: ExportRequest) -> Exported:
    """Write the nominal box, or its plaque's outline, in every format of a list; nothing where one can't be had."""
    names, drawn = formats_of(asked.formats), read_scale(asked.scale)
    outlined = [name for name in names if name in OUTLINES]
    refuse_idle(outlined, asked.machine)
    found = outlines(job, outlined, asked.machine, drawn.factor) if outlined else None
    folder = jobs.folder_for(to)
    files: list[Path] = []
    with progress(f"writing {', '.join(names)}"):
        box = jobs.built(job) if len(outlined) < len(names) else None
        for name in names:
            if found and name in outlined:
                files += written(found, name, folder / f"{job.stem}-{name}")
                continue
            assert box
            with loading(f"writing {name}"):
                write = FORMATS[name].load()
            files += write(box, folder / f"{job.stem}{drawn.ending}{FORMATS[name].suffix}", drawn.factor)
    return Exported([file.as_posix() for file in files], (found.remark,) if found else ())


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
