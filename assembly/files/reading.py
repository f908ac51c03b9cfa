"""From a TOML file to a design or a workshop, or to every fault of the file at once, each with its line and cure.

    design = read_design("frost_watch", ["timber.plain=9"])
    workshop = maker(design, "frost_watch")

A file is named by its path or, where it ships with the package, by its bare name. Settings are `key=value` as on the
command line after `--set`: a dotted key, and a value as in TOML (a bare word is text). A key that begins with
`workshop.` changes the workshop and not the design: `workshop.shoulder_from=drawing`, `workshop.pare.rounds=2`; what is
no key of a workshop is taken as an operation, so that `workshop.saw.offset.spread=0.2` is enough.
"""

from __future__ import annotations

from difflib import get_close_matches
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from pydantic import TypeAdapter, ValidationError

from assembly.errors import ConfigError, Problem
from assembly.files.fault_words import where_of, without_echoes, words_for
from assembly.files.shipped import STARTER, design_file, shipped_workshops, workshop_file
from assembly.files.toml_source import read_table
from assembly.model.design import Design
from assembly.model.workshop import Operations, Record, Workshop
from assembly.rules.design_rules import DESIGN_RULES, WORKSHOP_RULES, run

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.files.toml_source import Key
    from assembly.rules.design_rules import Rule

R = TypeVar("R", bound=Record)

WORKSHOP_PREFIX = "workshop"


def read_design(path: str | Path, settings: Sequence[str] = ()) -> Design:
    """Return the design of a file, with settings tried on it.

    Parameters
    ----------
    path : str or Path
        A design file, or a shipped design's name.
    settings : sequence of str
        `key=value` each, as after `--set`; those of the workshop are left to `maker`.

    Raises
    ------
    ConfigError
        With every fault of the file and of the settings.
    """
    file = design_file(path)
    table = read_table(file, str(path))
    table.refuse_another_kind(Design, Workshop, "design", "workshop")
    table.apply(setting for setting in settings if not _for_workshop(setting))
    faults = (
        table.faults + _record_faults(table.values, Design, DESIGN_RULES) + _maker_faults(table.values, file.parent)
    )
    return _record_or_faults(Design, table.values, table.placed(faults), str(path))


def read_workshop(name_or_path: str | Path, beside: Path | None = None, settings: Sequence[str] = ()) -> Workshop:
    """Return the workshop of a file, with settings tried on it.

    Parameters
    ----------
    name_or_path : str or Path
        A shipped workshop's name, or the path of a workshop file.
    beside : Path, optional
        Folder from which a path starts; the current one when left out.
    settings : sequence of str
        `workshop.key=value` each; those of the design are passed over.

    Raises
    ------
    ConfigError
        With every fault of the file and of the settings.
    """
    file = workshop_file(name_or_path, beside or Path())
    if file is None:
        fault = Problem(where="file", line=None, what=f"no such workshop; {_workshops_cure(str(name_or_path))}")
        raise ConfigError(str(name_or_path), [fault])
    table = read_table(file, str(name_or_path))
    table.refuse_another_kind(Workshop, Design, "workshop", "design")
    table.apply(filter(_for_workshop, settings), _workshop_key)
    faults = table.faults + _record_faults(table.values, Workshop, WORKSHOP_RULES)
    return _record_or_faults(Workshop, table.values, table.placed(faults), str(name_or_path))


def maker(
    design: Design, path: str | Path, override: str | Path | None = None, settings: Sequence[str] = ()
) -> Workshop:
    """Return the workshop in which a design is made.

    Parameters
    ----------
    design : Design
        Its `made_by` names the workshop.
    path : str or Path
        The design's file, or its shipped name: `made_by` may be a path from that file's folder.
    override : str or Path, optional
        Another workshop to use, by name or by path from the current folder.
    settings : sequence of str
        As for `read_workshop`.
    """
    if override is not None:
        return read_workshop(override, settings=settings)
    return read_workshop(design.made_by, design_file(path).parent, settings)


def starter_design() -> Design:
    """Return the design that `lapwright new` starts from."""
    return read_design(STARTER)


def _for_workshop(setting: str) -> bool:
    return setting.split("=", maxsplit=1)[0].strip().startswith(f"{WORKSHOP_PREFIX}.")


def _workshop_key(key: Key) -> Key:
    """Turn a key as set into its place in a workshop file: an operation's name may stand alone."""
    rest = key[1:]
    near = get_close_matches(rest[0], [*Operations.model_fields, *Workshop.model_fields], n=1)
    return rest if near and near[0] in Workshop.model_fields else ("operations", *rest)


def _record_faults(values: dict[str, Any], model: type[Record], rules: tuple[Rule, ...]) -> list[Problem]:
    """Return the faults of every section on its own, then those of the rules whose sections have none."""
    try:
        return run(rules, dict(model.model_validate(values)))
    except ValidationError as error:
        errors = error.errors(include_url=False)
    sections = _good_sections(values, model, {str(where_of(error)[0]) for error in errors})
    faults = [
        Problem(where=".".join(map(str, where_of(error))), line=None, what=words_for(model, error))
        for error in without_echoes(errors, model)
    ]
    return faults + run(rules, sections)


def _good_sections(values: dict[str, Any], model: type[Record], bad: set[str]) -> dict[str, object]:
    """Read each section that has no fault of its own, so that the rules of the others can still run.

    A section that is missing is among the faults, also where a slip beside it is told in its stead: a rule never meets
    what is not there.
    """
    good = {name: field for name, field in model.model_fields.items() if name not in bad}
    return {
        name: TypeAdapter[object](field.annotation or object).validate_python(values[name])
        if name in values
        else field.default
        for name, field in good.items()
    }


def _maker_faults(values: dict[str, Any], folder: Path) -> list[Problem]:
    """Return the fault of a design whose workshop does not exist."""
    name = values.get("made_by")
    if not isinstance(name, str) or not name or workshop_file(name, folder):
        return []
    return [Problem(where="made_by", line=None, what=f"got {name!r}, no such workshop; {_workshops_cure(name)}")]


def _workshops_cure(name: str) -> str:
    names = sorted(shipped_workshops())
    near = get_close_matches(name, names, n=1)
    guess = f"did you mean '{near[0]}'? " if near else ""
    return f"{guess}give the path of a workshop file, or a shipped one: {', '.join(names)}"


def _record_or_faults(model: type[R], values: dict[str, Any], faults: list[Problem], source: str) -> R:
    if faults:
        raise ConfigError(source, faults)
    return model.model_validate(values)
