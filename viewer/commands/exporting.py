"""The box as files for other programs: which formats, to which scale, and what is written."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from assembly.errors import InputError
from assembly.text import did_you_mean
from assembly.writers.formats import FORMATS, read_scale
from viewer.commands import jobs
from viewer.commands.libraries import loading
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


def exported(job: Job, to: str, asked: ExportRequest) -> list[str]:
    """Write the nominal box in every format of a list, and return the files written."""
    names, drawn = formats_of(asked.formats), read_scale(asked.scale)
    folder = jobs.folder_for(to)
    files: list[Path] = []
    with progress(f"writing {', '.join(names)}"):
        box = jobs.built(job)
        for name in names:
            with loading(f"writing {name}"):
                write = FORMATS[name].load()
            files += write(box, folder / f"{job.stem}{drawn.ending}{FORMATS[name].suffix}", drawn.factor)
    return [file.as_posix() for file in files]


def formats_of(words: str) -> tuple[str, ...]:
    """Return the file formats that a list such as step,stl names, each once."""
    names = [name.strip().lower() for name in words.split(",")]
    for name in names:
        if name not in FORMATS:
            hint = did_you_mean(name, FORMATS)
            msg = f"--as: got {name!r}, must be a list of {', '.join(FORMATS)}, such as step,stl"
            raise InputError(f"{msg}; {hint}" if hint else msg)
    return tuple(dict.fromkeys(names))
