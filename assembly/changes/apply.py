"""A change applied to a design and its workshop, which are then read as strictly as their files would be."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, TypeVar

from assembly.errors import ConfigError, Problem
from assembly.files.reading import design_of, workshop_of
from assembly.files.toml_source import TomlSource
from assembly.model.workshop import Record

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from assembly.changes.change import Change
    from assembly.files.settings import File
    from assembly.model.design import Design
    from assembly.model.workshop import Workshop

R = TypeVar("R", bound=Record)


def apply(change: Change, design: Design, workshop: Workshop) -> tuple[Design, Workshop]:
    """Return design and workshop with a change, as their files would be read with its settings.

    Raises
    ------
    ConfigError
        With every fault of what comes of it, each naming the setting that it comes from.
    """
    faults: list[Problem] = []
    new_design = _read(change, "design", design, design_of, faults)
    new_workshop = _read(change, "workshop", workshop, workshop_of, faults)
    faults += _another_maker(design, new_design)
    if faults:
        raise ConfigError(change.words, faults)
    return new_design, new_workshop


def _read(change: Change, file: File, record: R, read: Callable[[TomlSource], R], faults: list[Problem]) -> R:
    """Return a record with what a change sets in its file; as it is where that is faulty, the faults added."""
    if not any(each.file == file for each in change.settings):
        return record
    try:
        return read(laid(change, file, record))
    except ConfigError as error:
        faults += error.problems
        return record


def laid(change: Change, file: File, record: Record) -> TomlSource:
    """Return the values of a record's file with what a change sets in it laid over them, not read yet."""
    source = TomlSource(name=change.words, data=b"", values=as_written(record))
    for setting in change.settings:
        if setting.file == file:
            source.lay(setting)
    return source


def as_written(record: Record) -> dict[str, Any]:
    """Return a record as the values of a file that says the same: what was left out stays out."""
    return record.model_dump(exclude_unset=True, exclude_none=True)


def _another_maker(before: Design, after: Design) -> Iterator[Problem]:
    if before.made_by != after.made_by:
        what = "names another workshop, which is read from its own file; give that workshop instead of this change"
        yield Problem(where="--set made_by", line=None, what=what)
