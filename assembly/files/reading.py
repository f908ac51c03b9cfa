"""From a TOML file to a design or a workshop, or to every fault of the file at once, each with its line and cure.

    design = read_design("frost_watch", ["timber.plain=9"])
    workshop = maker(design, "frost_watch")

A file is named by its path or, where it ships with the package, by its bare name. Settings are `key=value` as on the
command line after `--set` (`assembly.files.settings`), or settings that are read already.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from pydantic import TypeAdapter, ValidationError

from assembly.errors import ConfigError, Problem
from assembly.files.fault_words import record_in, where_of, without_echoes, words_for
from assembly.files.settings import Setting, key_words, setting_of, toml_key
from assembly.files.shipped import cure_of, design_file, shipped_workshops, workshop_file
from assembly.files.toml_source import read_table
from assembly.model.design import Design
from assembly.model.workshop import Record, Workshop
from assembly.rules.design_rules import DESIGN_RULES, WORKSHOP_RULES, run
from assembly.text import did_you_mean, near_names

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from assembly.files.settings import File
    from assembly.files.toml_source import TomlSource
    from assembly.rules.design_rules import Rule

R = TypeVar("R", bound=Record)


def read_design(path: str | Path, settings: Sequence[str | Setting] = ()) -> Design:
    """Return the design of a file, with settings tried on it.

    Parameters
    ----------
    path : str or Path
        A design file, or a shipped design's name.
    settings : sequence of str or Setting
        `key=value` each, as after `--set`; those of the workshop are left to `maker`.

    Raises
    ------
    ConfigError
        With every fault of the file and of the settings.
    """
    file = design_file(path)
    table = read_table(file, str(path))
    table.refuse_another_kind(Design, Workshop, "design", "workshop")
    _lay(table, settings, "design")
    return design_of(table, _maker_faults(table.values, file.parent))


def read_workshop(
    name_or_path: str | Path, beside: Path | None = None, settings: Sequence[str | Setting] = ()
) -> Workshop:
    """Return the workshop of a file, with settings tried on it.

    Parameters
    ----------
    name_or_path : str or Path
        A shipped workshop's name, or the path of a workshop file.
    beside : Path, optional
        Folder from which a path starts; the current one when left out.
    settings : sequence of str or Setting
        `workshop.key=value` each; those of the design are passed over.

    Raises
    ------
    ConfigError
        With every fault of the file and of the settings.
    """
    file = workshop_file(name_or_path, beside or Path())
    if file is None:
        fault = Problem(
            where="file",
            line=None,
            what=f"no such workshop; {cure_of(str(name_or_path), 'workshop file', shipped_workshops())}",
        )
        raise ConfigError(str(name_or_path), [fault])
    table = read_table(file, str(name_or_path))
    table.refuse_another_kind(Workshop, Design, "workshop", "design")
    aids = _aids(table)
    _lay(table, settings, "workshop")
    _refuse_no_aid(table, aids)
    return workshop_of(table)


def maker(
    design: Design, path: str | Path, override: str | Path | None = None, settings: Sequence[str | Setting] = ()
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
    settings : sequence of str or Setting
        As for `read_workshop`.
    """
    if override is not None:
        return read_workshop(override, settings=settings)
    return read_workshop(design.made_by, design_file(path).parent, settings)


def _lay(table: TomlSource, settings: Sequence[str | Setting], file: File) -> None:
    """Lay the settings of one kind of file over its values; those of the other kind are passed over."""
    for each in settings:
        setting = setting_of(each) if isinstance(each, str) else each
        if setting.file == file:
            table.lay(setting)


def _aids(table: TomlSource) -> dict[str, Any]:
    found = table.values.get("aids", {})
    return dict(found) if isinstance(found, dict) else {}


def _refuse_no_aid(table: TomlSource, known: dict[str, Any]) -> None:
    """Refuse settings of an aid that the file does not have and that they do not give whole, and forget them."""
    for name, aid in _aids(table).items():
        if name in known or not isinstance(aid, dict) or "title" in aid:
            continue
        setting = next(each for each in table.laid if each.key[:2] == ("aids", name))
        guess = did_you_mean(name, known)
        here = f"aids here: {', '.join(known)}" if known else "this workshop has none"
        what = f"no aid {name!r}; {guess}{' ' if guess else ''}{here[0].upper() if guess else here[0]}{here[1:]}"
        table.faults.append(Problem(where=setting.place, line=None, what=what))
        del table.values["aids"][name]


def design_of(source: TomlSource, also: Sequence[Problem] = ()) -> Design:
    """Return the design that a source says.

    Raises
    ------
    ConfigError
        With every fault: those met while reading, those of the design, and `also` those that its reader found.
    """
    left = _left_over(source.values)
    values = {name: value for name, value in source.values.items() if name not in left}
    faults = [*source.faults, *left.values(), *_record_faults(values, Design, DESIGN_RULES), *also]
    return _record_or_faults(Design, values, source.placed(faults), source.name)


def _left_over(values: dict[str, Any]) -> dict[str, Problem]:
    """Return the fault of each part that a box does without, of which a table inside its own was left."""
    found = {}
    for name, field in Design.model_fields.items():
        table, record = values.get(name), record_in(field.annotation)
        if field.is_required() or record is None or not isinstance(table, dict) or not table:
            continue
        if all(isinstance(each, dict) for each in table.values()) and any(
            inner.is_required() and record_in(inner.annotation) is None for inner in record.model_fields.values()
        ):
            key = f"{name}.{next(iter(table))}"
            what = f"[{key}] is left without [{name}]: take it out, too"
            found[name] = Problem(where=key, line=None, what=what)
    return found


def workshop_of(source: TomlSource) -> Workshop:
    """Return the workshop that a source says.

    Raises
    ------
    ConfigError
        With every fault; a setting that an aid in use keeps from counting is one.
    """
    faults = source.faults + _record_faults(source.values, Workshop, WORKSHOP_RULES)
    found = _record_or_faults(Workshop, source.values, source.placed(faults), source.name)
    if idle := list(_idle(source, found)):
        raise ConfigError(source.name, idle)
    return found


def record_of(source: TomlSource, model: type[R], rules: tuple[Rule, ...] = ()) -> R:
    """Return the record of another kind of file that a source says; `rules` judge what goes together in it.

    Raises
    ------
    ConfigError
        With every fault.
    """
    faults = source.placed([*source.faults, *_record_faults(source.values, model, rules)])
    return _record_or_faults(model, source.values, faults, source.name)


def _idle(source: TomlSource, workshop: Workshop) -> Iterator[Problem]:
    """Yield a fault for each setting of an operation's number that an aid in use gives, as it would change nothing."""
    for setting in source.laid:
        for key in setting.leaves:
            if key[0] != "operations" or len(key) != 4:
                continue
            place = workshop.key_of(".".join(key[1:3]), key[3])
            if place != key:
                aid, instead = toml_key(place[1:2]), key_words("workshop", place)
                what = (
                    f"changes nothing, as the aid {aid} is used and gives this number; set {instead}, or "
                    f"{key_words('workshop', (*place[:2], 'used'))}=false"
                )
                yield Problem(where=setting.place, line=None, what=what)


def _record_faults(values: dict[str, Any], model: type[Record], rules: tuple[Rule, ...]) -> list[Problem]:
    """Return the faults of every section on its own, then those of the rules whose sections have none."""
    try:
        return run(rules, dict(model.model_validate(values)))
    except ValidationError as error:
        errors = error.errors(include_url=False)
    bad = {str(where_of(error)[0]) for error in errors}
    slips = (near for name in bad - set(model.model_fields) for near in near_names(name, model.model_fields))
    sections = _good_sections(values, model, {*bad, *slips})
    faults = [
        Problem(where=".".join(map(str, where_of(error))), line=None, what=words_for(model, error))
        for error in without_echoes(errors, model)
    ]
    return faults + run(rules, sections)


def _good_sections(values: dict[str, Any], model: type[Record], bad: set[str]) -> dict[str, object]:
    """Read each section that has no fault of its own, so that the rules of the others can still run.

    A section that is missing is among the faults, also where a slip beside it is named in its stead: a rule never meets
    what is not there. What may be left out is there by its default.
    """
    good = {name: field for name, field in model.model_fields.items() if name not in bad}
    return {
        name: _section(model, name).validate_python(values[name]) if name in values else field.default
        for name, field in good.items()
    }


@cache
def _section(model: type[Record], name: str) -> TypeAdapter[object]:
    """Return what reads one section of a file by itself; made anew it takes longer than all reading."""
    return TypeAdapter[object](model.model_fields[name].annotation or object)


def _maker_faults(values: dict[str, Any], folder: Path) -> list[Problem]:
    """Return the fault of a design whose workshop does not exist."""
    name = values.get("made_by")
    if not isinstance(name, str) or not name or workshop_file(name, folder):
        return []
    cure = cure_of(name, "workshop file", shipped_workshops())
    return [Problem(where="made_by", line=None, what=f"got {name!r}, no such workshop; {cure}")]


def _record_or_faults(model: type[R], values: dict[str, Any], faults: list[Problem], source: str) -> R:
    if faults:
        raise ConfigError(source, faults)
    return model.model_validate(values)
