"""A fault that pydantic found, in the words of this trade: what was found, what is allowed, and the cure.

`words_for` looks the fault's type up in one table of small functions; a type that is not in it gets plain words too,
so that no library's own text reaches a user.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, get_args, get_origin

from pydantic import BaseModel

from assembly.errors import unseen
from assembly.files.number_words import length_meant, number_meant, share_meant
from assembly.model.pens import NO_COLOUR
from assembly.model.workshop import ANGLES, UNSEEN, Disturbance, quantities
from assembly.text import decimal, did_you_mean, listed, near_names

if TYPE_CHECKING:
    from collections.abc import Callable

    from pydantic.fields import FieldInfo
    from pydantic_core import ErrorDetails

WITHOUT = (False, "none", "None", "null", "no", "")  # what somebody writes for a part that a box is to do without
EXAMPLES = {"making": "{ temperature = 20, humidity = 45 }", "home": "{ temperature = 5, humidity = 80 }"}
_KEY = "[key]"  # pydantic's last part of a path where a key itself is at fault


@dataclass(frozen=True, slots=True)
class Spot:
    """What the models say of the place that a fault is at."""

    path: tuple[str | int, ...]
    model: type[BaseModel] | None  # the record that holds the key
    field: FieldInfo | None  # None where no such key is known

    @property
    def bounds(self) -> tuple[float | None, float | None]:
        """Least and most that the field allows, where it says."""
        rules = self.field.metadata if self.field else []
        least = next((rule.ge for rule in rules if hasattr(rule, "ge")), None)
        most = next((rule.le for rule in rules if hasattr(rule, "le")), None)
        return least, most

    @property
    def unit(self) -> str:
        """Unit with a space before it, or nothing."""
        if self.model is Disturbance and len(self.path) >= 3:
            row = str(self.path[-2]) if "replaces" in self.path else f"{self.path[-3]}.{self.path[-2]}"
            return " degrees" if row in ANGLES else " mm"
        extra = self.field.json_schema_extra if self.field else None
        return f" {extra['unit']}" if isinstance(extra, dict) and "unit" in extra else ""

    @property
    def meaning(self) -> str:
        """What the field is."""
        return (self.field.description or "") if self.field else ""


def record_in(annotation: Any) -> type[BaseModel] | None:  # noqa: ANN401 - a type form may be any object
    """Return the record that a field's annotation holds, None if it holds none."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    return next(filter(None, map(record_in, get_args(annotation))), None)


def spot(model: type[BaseModel], path: tuple[str | int, ...]) -> Spot:
    """Follow a path through the records."""
    holder: type[BaseModel] | None = model
    field: FieldInfo | None = None
    free = False  # whether the next part is a name of the user's own, in a table of named things
    for index, part in enumerate(path):
        if free:
            free, holder = False, record_in(field.annotation) if field else None
            continue
        field = holder.model_fields.get(str(part)) if holder else None
        if field is None:
            return Spot(path, holder, None)
        inner = record_in(field.annotation)
        free = get_origin(field.annotation) is dict
        if inner and not free and index + 1 < len(path):
            holder = inner
    return Spot(path, holder, field)


def shown(value: object) -> str:
    """Word a value as it was found, as it would be written in the file and not too long."""
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list):
        return "an array"
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, int) and abs(value) >= 10**40:
        return "a number of more than 40 digits"
    text = repr(value) if isinstance(value, str | int | float) else str(value)
    return text if len(text) <= 60 else f"{text[:56]} ..."


def meant(at: Spot, value: float) -> str:
    """Word the suspicion that a length was given in cm or inches, or a share in percent; empty where none fits."""
    least, most = at.bounds
    if at.unit == " mm" and least is not None and most is not None:
        words = length_meant(value, least, most)
    else:
        words = share_meant(value) if not at.unit and most == 1 and value >= 2 else ""
    return f"; {words}" if words else ""


def _allowed(at: Spot) -> str:
    least, most = at.bounds
    if least is not None and most is not None:
        return f"{decimal(least)} to {decimal(most)}{at.unit}"
    words = {"gt": "over", "ge": "at least", "lt": "under", "le": "at most"}
    rules = at.field.metadata if at.field else []
    parts = [
        f"{word} {decimal(getattr(rule, sign))}{at.unit}"
        for rule in rules
        for sign, word in words.items()
        if hasattr(rule, sign)
    ]
    return " and ".join(parts)


def _range(at: Spot, error: ErrorDetails) -> str:
    value = error["input"]
    return f"got {shown(value)}, must be {_allowed(at)}{meant(at, value) or named(at)}"


def named(at: Spot) -> str:
    """Word what the field is in short, in brackets after a space; nothing where the record does not say."""
    meaning = (at.field.title if at.field else None) or at.meaning
    return f" ({meaning})" if meaning else ""


def _unknown(at: Spot, _: ErrorDetails) -> str:
    word = str(at.path[-1])
    if "replaces" in at.path and len(at.path) >= 2 and (row := f"{at.path[-2]}.{word}") in quantities():
        return f'write the row\'s name in quotes: "{row}" = {{ ... }}'
    names = list(at.model.model_fields) if at.model else []
    if word in EXAMPLES:
        return f"unknown key; did you mean [climate] with {word} = {EXAMPLES[word]}?"
    cure = did_you_mean(word, names, f"keys here are {', '.join(names)}")
    return f"unknown key; {cure}"


def _missing(at: Spot, _: ErrorDetails) -> str:
    if at.path[0] == "climate" and at.path[1] in EXAMPLES:
        place = str(at.path[1])
        return f"missing; a [climate] table needs {place} = {EXAMPLES[place]} with your own figures"
    record = record_in(at.field.annotation) if at.field else None
    if record and at.field:
        named_by_user = get_origin(at.field.annotation) is dict
        needed = [name for name, field in record.model_fields.items() if field.is_required() and not named_by_user]
        keys = f" with {', '.join(needed)}" if needed else named(at)
        return f"missing; add a table [{'.'.join(map(str, at.path))}]{keys}"
    return f"missing; add {at.path[-1]} = ..., {at.meaning}{f', in{at.unit}' if at.unit else ''}"


def _number(at: Spot, error: ErrorDetails) -> str:
    kind = "a whole number" if error["type"].startswith("int") else f"a number{f' of{at.unit}' if at.unit else ''}"
    if isinstance(error["input"], str) and (words := number_meant(error["input"])):
        return f"got {shown(error['input'])}, must be {kind}; {words}{named(at)}"
    cure = ", without quotes or a unit" if isinstance(error["input"], str) else ""
    return f"got {shown(error['input'])}, must be {kind}{cure}{named(at)}"


def _finite(at: Spot, error: ErrorDetails) -> str:
    return f"got {shown(error['input'])}, must be a finite number{f' of{at.unit}' if at.unit else ''}{named(at)}"


def _text(at: Spot, error: ErrorDetails) -> str:
    return f"got {shown(error['input'])}, must be text in double quotes{named(at)}"


def _table(at: Spot, error: ErrorDetails) -> str:
    if at.field is not None and not at.field.is_required() and len(at.path) == 1 and error["input"] in WITHOUT:
        return f"got {shown(error['input'])}; to do without it, take {_tables(at)} out of the file"
    return f"got {shown(error['input'])}, must be a table of keys"


def _tables(at: Spot) -> str:
    """Return the tables that a part of the box has in its file, such as [plaque] and [plaque.screw]."""
    name, record = str(at.path[0]), record_in(at.field.annotation) if at.field else None
    fields = record.model_fields.items() if record else ()
    inner = [f"[{name}.{key}]" for key, field in fields if field.is_required() and record_in(field.annotation)]
    return f"the table{'s' if inner else ''} {listed([f'[{name}]', *inner])}"


def _choice(at: Spot, error: ErrorDetails) -> str:
    options = [str(option) for option in get_args(at.field.annotation)] if at.field else []
    guess = did_you_mean(str(error["input"]), options)
    return f"got {shown(error['input'])}, must be one of {', '.join(map(repr, options))}{'; ' if guess else ''}{guess}"


def _short(at: Spot, error: ErrorDetails) -> str:
    return f"got {shown(error['input'])}, which is empty{named(at)}"


def _long(_: Spot, error: ErrorDetails) -> str:
    found = len(str(error["input"]))
    return f"got {found} characters, must be at most {error['ctx']['max_length']}; shorten it"


def _characters(_: Spot, error: ErrorDetails) -> str:
    text = str(error["input"])
    where = next((f", in which character {at} is {c!r}" for at, c in enumerate(text, 1) if unseen(c)), "")
    cure = "must be one line of text, without tabs, control characters, direction marks or a space in front"
    return f"got {shown(text)}{where}; {cure}" if where else f"got {shown(text)}, {cure}"


def _colour(_: Spot, error: ErrorDetails) -> str:
    hex_digits = "# and two hex digits each of red, green and blue"
    return f'got {shown(error["input"])}, must be a colour as {hex_digits}, in double quotes, such as "#a8552f"'


def _flag(at: Spot, error: ErrorDetails) -> str:
    return f"got {shown(error['input'])}, must be true or false, without quotes{named(at)}"


WORDS: dict[str, Callable[[Spot, ErrorDetails], str]] = {
    "missing": _missing,
    "extra_forbidden": _unknown,
    "greater_than": _range,
    "greater_than_equal": _range,
    "less_than": _range,
    "less_than_equal": _range,
    "finite_number": _finite,
    "bool_type": _flag,
    "float_type": _number,
    "int_type": _number,
    "string_type": _text,
    "literal_error": _choice,
    "model_type": _table,
    "dict_type": _table,
    "string_too_short": _short,
    "too_short": _short,
    "string_too_long": _long,
    "string_pattern_mismatch": _characters,
    "string_unicode": _characters,
    UNSEEN: _characters,
    NO_COLOUR: _colour,
}


def where_of(error: ErrorDetails) -> tuple[str | int, ...]:
    """Return the path of a fault; that of a key is where its value stands."""
    place = error["loc"]
    return place[:-1] if place[-1:] == (_KEY,) and error["input"] == place[-2] else place


def words_for(model: type[BaseModel], error: ErrorDetails) -> str:
    """Return one fault of a record in plain words: what was found, what is allowed and the cure.

    Parameters
    ----------
    model : type
        The record that was to be read.
    error : ErrorDetails
        One of pydantic's errors; its own text is not used.
    """
    at = spot(model, where_of(error))
    word = WORDS.get(error["type"])
    return word(at, error) if word else f"got {shown(error['input'])}, which can't be used{named(at)}"


def without_echoes(errors: list[ErrorDetails], model: type[BaseModel]) -> list[ErrorDetails]:
    """Drop each missing key that an unknown key beside it is a slip of: one slip is one fault."""
    slips: set[tuple[str | int, ...]] = set()
    for error in errors:
        at = spot(model, error["loc"])
        if error["type"] == "extra_forbidden" and at.model:
            meant = near_names(str(error["loc"][-1]), at.model.model_fields)
            slips.update((*error["loc"][:-1], name) for name in meant)
    return [error for error in errors if error["type"] != "missing" or error["loc"] not in slips]
