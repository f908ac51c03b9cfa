"""Which files a change to a job is kept in: those that were read, or copies to be made of those that ship."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from assembly.changes.file_rows import file_rows
from assembly.files.key_lines import key_lines
from assembly.files.shipped import design_file, is_shipped
from viewer.commands.jobs import files_of
from viewer.reports.keeping import Kept, KeptFile

if TYPE_CHECKING:
    from viewer.commands.jobs import Job


def kept_files(job: Job) -> Kept:
    """Return the files that changes to a job are written into; copies get names that are free where they go."""
    design, workshop = files_of(job)
    given = job.words.workshop
    kept = _kept(design, f"my_{design.stem}", Path(), job.words.design)
    folder = Path() if given is not None or is_shipped(design) else design_file(job.words.design).parent
    made = _kept(workshop, "my_workshop", folder, given or str(folder / job.design.made_by))
    return Kept(
        design=kept,
        workshop=made,
        design_typed=job.words.design,
        made_by=Path(made.path).name,
        override=given,
        asked=file_rows(job.change, job.design, job.workshop),
    )


def _kept(file: Path, stem: str, folder: Path, typed: str) -> KeptFile:
    """Return a file as it is kept: under the name it was given by, or as a copy in a folder."""
    lines = {
        tuple(map(str, key)): line for key, line in key_lines(file.read_bytes().removeprefix(b"\xef\xbb\xbf")).items()
    }
    if not is_shipped(file):
        return KeptFile(path=typed, lines=lines)
    return KeptFile(path=_free(folder, stem).as_posix(), copy_of=str(file), lines=lines)


def _free(folder: Path, stem: str) -> Path:
    """Return the first of stem.toml, stem_2.toml, ... that is not there yet."""
    number, path = 1, folder / f"{stem}.toml"
    while path.exists():
        number += 1
        path = folder / f"{stem}_{number}.toml"
    return path
