"""Designs on and near the limits of their numbers: as far as fields and rules let a number go, and just short of that.

limit : the last value on the way from an accepted value to a field's bound at which the design is still accepted

Rules are not asked where their limits are: a limit is found by halving, so a new rule is tried without a word here.
"""

import functools
import math
from typing import Literal, get_args, get_origin

from designs import designs
from hypothesis import strategies as st
from pydantic import BaseModel

from assembly.files.fault_words import record_in
from assembly.files.reading import read_design
from assembly.files.shipped import shipped_designs
from assembly.model.design import Design, Limits
from assembly.rules.design_rules import design_faults

HALVINGS = 50  # of a way of at most 2000 mm: the limit is known far better than a rule's own slack of 1e-9 mm
ENDS, SHORT = ("least", "most"), (0.0, 1e-9, 1e-6, 1e-3, 0.1)  # mm or the field's unit; how far short of a limit


def _bound(field, inclusive, beyond, far):
    for rule in field.metadata:
        if hasattr(rule, inclusive):
            return float(getattr(rule, inclusive))
        if hasattr(rule, beyond):
            return math.nextafter(getattr(rule, beyond), far)
    raise AssertionError(field)  # no number of a design is without bounds, limits of outcomes aside


def numbers(model=Design, path=()):
    """Return the least and the most of every number of a design, by path; limits of outcomes have none."""
    found = {}
    for name, field in model.model_fields.items():
        inner = record_in(field.annotation)
        if inner is Limits:
            continue
        if inner:
            found |= numbers(inner, (*path, name))
        elif float in (field.annotation, *get_args(field.annotation)):
            found[*path, name] = (_bound(field, "ge", "gt", math.inf), _bound(field, "le", "lt", -math.inf))
    return found


def choices(model=Design, path=()):
    """Return the options of every key that has a few, by path."""
    found = {}
    for name, field in model.model_fields.items():
        if inner := record_in(field.annotation):
            found |= choices(inner, (*path, name))
        elif get_origin(field.annotation) is Literal:
            found[*path, name] = get_args(field.annotation)
        elif field.annotation is bool:
            found[*path, name] = (False, True)
    return found


NUMBERS, CHOICES = numbers(), choices()


def at(record, path):
    """Return the value at a path; None where a record on the way is not there."""
    return functools.reduce(lambda inner, name: None if inner is None else getattr(inner, name), path, record)


def put(record: BaseModel, path, value):
    """Return a record with the value at a path changed."""
    name, *rest = path
    return record.model_copy(update={name: put(getattr(record, name), rest, value) if rest else value})


def accepted(design):
    return not design_faults(design)


def limit(design, path, bound):
    """Return the limit of a number on the way to a bound of its field."""
    if accepted(put(design, path, bound)):
        return bound
    good, bad = at(design, path), bound
    for _ in range(HALVINGS):
        middle = (good + bad) / 2
        good, bad = (middle, bad) if accepted(put(design, path, middle)) else (good, middle)
    return good


def pushed(design, path, end, short):
    """Return a design with one number at its limit, or so much short of that; as it is where that is not given."""
    start, (least, most) = at(design, path), NUMBERS[path]
    if start is None:
        return design
    last = limit(design, path, least if end == "least" else most)
    value = last - math.copysign(min(short, abs(last - start)), last - start)
    for tried in (round(value, 6), value, last):  # a person writes a limit in few digits
        if least <= tried <= most and accepted(whole := put(design, path, tried)):
            return whole
    raise AssertionError(path)


def read(name):
    """Return a shipped design without limits of outcomes."""
    return read_design(name).model_copy(update={"limits": Limits()})


def groups():
    """Return numbers that are met together: those of each table, with those of the tables inside it."""
    tables = {path[:depth] for path in NUMBERS for depth in range(1, len(path))}
    return [sorted(path for path in NUMBERS if path[: len(table)] == table) for table in sorted(tables)]


@st.composite
def near_limits(draw, most=10):
    """Draw an accepted design, some of its choices changed and up to `most` of its numbers pushed to their limits.

    Half of the designs have the numbers of one table pushed, as one number's limit often hangs on its neighbours.
    """
    start = draw(st.sampled_from(sorted(shipped_designs())).map(read) | designs())
    design = start.model_copy(update={"limits": Limits()})
    for path, options in CHOICES.items():
        changed = put(design, path, draw(st.sampled_from(options))) if at(design, path) is not None else design
        design = changed if accepted(changed) else design
    among = draw(st.just(sorted(NUMBERS)) | st.sampled_from(groups()))
    push = st.tuples(st.sampled_from(among), st.sampled_from(ENDS), st.sampled_from(SHORT))
    for path, end, short in draw(st.lists(push, min_size=1, max_size=most)):
        design = pushed(design, path, end, short)
    return Design.model_validate(design.model_dump())
