"""Files and settings mutated at random: a record or faults in our words, and never another exception."""

import copy
import tomllib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sweep import some

from assembly.errors import ConfigError
from assembly.files.reading import read_design, read_workshop
from assembly.files.shipped import shipped
from assembly.model.design import Design
from assembly.model.workshop import Workshop

DEMO = shipped("frost_watch").read_text(encoding="utf-8")
TOOLS = shipped("new_to_tools").read_text(encoding="utf-8")
# Values that a slip, a joke or a broken program may leave in a file.
ODD = st.one_of(
    st.floats(),
    st.integers(-(10**30), 10**30),
    st.text(max_size=20),
    st.booleans(),
    st.just([]),
    st.just([{}]),
    st.just({}),
    st.just({"max": "x"}),
    st.just(10**400),
)


def outcome(read, *args):
    """Return what was read, or its refusal; anything else that is raised goes on up."""
    try:
        return read(*args)
    except ConfigError as error:
        return error


def spots(table, path=()):
    """Return the path of every key of nested tables."""
    found = []
    for key, value in table.items():
        found.append((*path, key))
        if isinstance(value, dict):
            found += spots(value, (*path, key))
    return found


def toml(value):
    """Spell a value as TOML; only what these tests write."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return '"' + "".join(c if c.isalnum() and c.isascii() else f"\\U{ord(c):08x}" for c in value) + '"'
    if isinstance(value, dict):
        return "{" + ", ".join(f"{toml(key)} = {toml(item)}" for key, item in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(toml, value)) + "]"
    return repr(value)


@st.composite
def mutated(draw, text):
    """Draw a valid file with one to three keys deleted, renamed or given an odd value."""
    data = copy.deepcopy(tomllib.loads(text))
    for _ in range(draw(st.integers(1, 3))):
        *tables, last = draw(st.sampled_from(spots(data)))
        table = data
        for name in tables:
            table = table[name]
        change = draw(st.sampled_from(["delete", "rename", "odd"]))
        old = table.pop(last)
        if change != "delete":
            name = draw(st.text(st.characters(codec="utf-8"), max_size=6)) if change == "rename" else last
            table[name] = old if change == "rename" else draw(ODD)
        if not data:
            break
    return "".join(f"{toml(key)} = {toml(value)}\n" for key, value in data.items())


@pytest.mark.parametrize(("text", "read", "kind"), [(DEMO, read_design, Design), (TOOLS, read_workshop, Workshop)])
@given(data=st.data())
@settings(max_examples=some(250), deadline=None)
def test_a_mutated_file_gives_a_record_or_faults_in_our_words(tmp_path_factory, text, read, kind, data):
    path = tmp_path_factory.getbasetemp() / "mutated.toml"
    path.write_text(data.draw(mutated(text)), encoding="utf-8")
    found = outcome(read, path)
    assert isinstance(found, kind) or found.problems
    for word in ("pydantic", "Input should", "https:", "Traceback"):
        assert word not in str(found)


SETTINGS = st.builds("{}={}".format, st.sampled_from(["box.length", "limits.step"]), st.text())


@given(st.lists(st.text(max_size=30) | SETTINGS, max_size=3))
@settings(max_examples=some(250), deadline=None)
def test_any_setting_gives_a_design_or_faults(words):
    found = outcome(read_design, "frost_watch", words)
    assert isinstance(found, Design) or found.problems
