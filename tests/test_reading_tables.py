"""Tables left out, misspelt or of another kind, and characters that are not seen: each named, none reaches a rule."""

import itertools
import re
import tomllib
import unicodedata

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from sweep import some
from test_reading_random import DEMO, TOOLS, outcome, spots, toml

from assembly.errors import ConfigError, InputError, Problem, escaped, unseen
from assembly.files.reading import read_design, read_workshop
from assembly.files.schemas import schema
from assembly.files.stock import read_stock
from assembly.model.design import Design
from assembly.model.workshop import Workshop

KINDS = {"design": (DEMO, read_design, Design), "workshop": (TOOLS, read_workshop, Workshop)}
OTHER = {  # what may stand where a table is wanted
    "number": 15,
    "text": "pine",
    "flag": True,
    "array": [1, 2],
    "tables": [{"name": "pine"}],
    "empty": {},
}
# One of each kind that is not seen: control, escape, direction marks, byte-order mark, separators, a tag.
HIDDEN = ("\x07", "\x1b", "\x9b", "\u061c", "\u200e", "\u202e", "\u2066", "\ufeff", "\u2028", "\u2029", "\U000e0041")


def tables(data):
    """Return the path of every table."""
    return [path for path in spots(data) if isinstance(at(data, path), dict)]


def at(data, path):
    for name in path:
        data = data[name]
    return data


def misspelt(name):
    """Return slips of the hand in a name: a letter left out, doubled, swapped with the next, in capitals."""
    middle = len(name) // 2
    return (
        name[:middle] + name[middle + 1 :],
        name[:middle] + name[middle] + name[middle:],
        name[: middle - 1] + name[middle] + name[middle - 1] + name[middle + 1 :],
        name.upper(),
    )


def changes(text):
    """Return every way in which one table of a file can be wrong: its path and a new name or another value."""
    found = []
    for path in tables(tomllib.loads(text)):
        found += [(path, "name", None), *((path, "name", slip) for slip in misspelt(path[-1]))]
        found += [(path, "value", value) for value in OTHER.values()]
    return found


def written(text, wrong, folder):
    """Write a file with tables that are wrong and return its path; a table inside one that is gone stays gone."""
    data = tomllib.loads(text)
    for path, what, new in wrong:
        try:
            table = at(data, path[:-1])
            old = table.pop(path[-1])
        except (KeyError, TypeError, AttributeError, IndexError):
            continue
        if what == "value":
            table[path[-1]] = new
        elif new is not None:
            table[new] = old
    file = folder / "wrong.toml"
    file.write_text("".join(f"{toml(key)} = {toml(value)}\n" for key, value in data.items()) + "\n#", encoding="utf-8")
    return file


@pytest.mark.parametrize("kind", KINDS)
def test_every_table_left_out_misspelt_or_of_another_kind_is_a_record_or_faults(tmp_path, kind):
    """One after another, all of them; what is read is a whole record, and what is refused names the table."""
    text, read, model = KINDS[kind]
    for path, what, new in changes(text):
        found = outcome(read, written(text, [(path, what, new)], tmp_path))
        if isinstance(found, model):
            continue
        words = str(found)
        assert path[0] in words or (new and str(new) in words), (path, what, new, words)
        assert "Undefined" not in words


@pytest.mark.parametrize("kind", KINDS)
@given(data=st.data())
@settings(max_examples=some(200))
def test_several_wrong_tables_are_a_record_or_faults(tmp_path_factory, kind, data):
    text, read, model = KINDS[kind]
    wrong = data.draw(st.lists(st.sampled_from(changes(text)), min_size=2, max_size=4))
    found = outcome(read, written(text, wrong, tmp_path_factory.getbasetemp()))
    assert isinstance(found, model) or found.problems


def test_a_misspelt_table_is_told_once_and_rules_that_need_it_wait(tmp_path):
    """Rules of the other tables still run; those of the cable hole in its wall do not, as no timber is known."""
    text = DEMO.replace("[timber]", "[tiber]").replace("stem_hole = 8", "stem_hole = 5")
    file = tmp_path / "box.toml"
    file.write_text(text, encoding="utf-8")
    number = {line: n for n, line in enumerate(text.splitlines(), 1)}
    with pytest.raises(ConfigError) as caught:
        read_design(file)
    assert [str(problem) for problem in caught.value.problems] == [
        f"line {number['[tiber]']}: tiber: unknown key; did you mean 'timber'?",
        (
            f"line {number['[stem]'] + 2}: stem.diameter: got 6 mm, thicker than its hole in the plaque; at most "
            "plaque.stem_hole, 5 mm, passes"
        ),
        (
            f"line {number['plaque_spare.min = 0']}: limits.plaque_spare: asks for at least 0 mm, but perfectly placed "
            "holes leave -0.5 mm; lower the limit or make plaque.stem_hole or plaque.screw.hole larger"
        ),
    ]


# Characters that are not seen


def seen_only(error):
    """Assert that a refusal brings nothing to a terminal but text and line ends."""
    assert not [c for c in str(error) if c != "\n" and unseen(c)]
    assert not [c for problem in error.problems for c in str(problem) if unseen(c)]


def places(data):
    """Return the path of every key and of every text."""
    return [(path, kind) for path in spots(data) for kind in ("key", "text") if kind == "key" or at_text(data, path)]


def at_text(data, path):
    return isinstance(at(data, path), str)


@pytest.mark.parametrize("kind", KINDS)
def test_what_is_not_seen_is_shown_escaped_in_every_key_and_text_and_refused_there(tmp_path, kind):
    text, read, _ = KINDS[kind]
    for number, (path, place) in enumerate(places(tomllib.loads(text))):
        character = HIDDEN[number % len(HIDDEN)]
        data = tomllib.loads(text)
        table, last = at(data, path[:-1]), path[-1]
        if place == "key":
            table[f"{last[:1]}{character}{last[1:]}"] = table.pop(last)
        else:
            table[last] = f"{table[last]}{character}"
        file = tmp_path / "odd.toml"
        file.write_text("".join(f"{toml(key)} = {toml(value)}\n" for key, value in data.items()), encoding="utf-8")
        found = outcome(read, file)
        assert isinstance(found, ConfigError), (path, place, character)
        seen_only(found)
        assert repr(character)[1:-1] in str(found), (path, place)


@pytest.mark.parametrize("character", HIDDEN)
@pytest.mark.parametrize("key", ["name", "timber.name", "base.material", "lid.material", "stem.name", "plaque.wording"])
def test_no_name_of_a_design_has_characters_that_are_not_seen(key, character):
    found = outcome(read_design, "frost_watch", [f'{key}="a{toml(character)[1:-1]}b"'])
    value = f"a{character}b"
    assert str(found) == (
        f"frost_watch: 1 to fix\n  --set {key}: got {value!r}, in which character 2 is {character!r}; must be one line "
        "of text, without tabs, control characters, direction marks or a space in front"
    )


@pytest.mark.parametrize("character", HIDDEN)
def test_no_name_of_a_workshop_has_characters_that_are_not_seen(tmp_path, character):
    file = tmp_path / "room.toml"
    hidden, value = toml(character)[1:-1], f"a{character}b"
    fault = (
        f"got {value!r}, in which character 2 is {character!r}; must be one line of text, without tabs, control "
        "characters, direction marks or a space in front"
    )
    file.write_text(
        f'name = "a{hidden}b"\n[aids."a{hidden}b"]\ntitle = "a{hidden}b"\nreplaces."saw.offset" = {{}}\n', "utf-8"
    )
    found = outcome(read_workshop, file)
    key = f"aids.{escaped(value)}"
    assert [str(problem) for problem in found.problems] == [
        f"line 1: name: {fault}",
        f"line 2: {key}: {fault}",
        f"line 3: {key}.title: {fault}",
    ]


def test_names_in_other_scripts_are_names():
    """Joiners are not seen either, but Persian, Sinhala and joined emoji can't be spelt without them."""
    for name in ("Gärtnerei", "温室の番人", "می‌خواهم", "ශ්‍රී", "Frost\u00a0watch", "👩‍🌾"):
        assert read_design("frost_watch", [f'name="{name}"']).name == name


def test_the_schemas_refuse_the_characters_that_reading_refuses():
    """Every character of the basic plane but the halves of others, which no file can hold."""
    for kind, path in (("design", ("name",)), ("workshop", ("name",))):
        pattern = re.compile(at(schema(kind)["properties"], path)["pattern"])
        for code in itertools.chain(range(0xD800), range(0xE000, 0x10000)):
            assert bool(pattern.search(f"a{chr(code)}b")) is not unseen(chr(code)), hex(code)


WORDS = st.text(st.sampled_from([*HIDDEN, "\udc9b", *"ab.=\"'"]) | st.characters(), max_size=12)


@given(WORDS, WORDS)
@example("\ud800", "\udcff")
@settings(max_examples=some(250))
def test_settings_and_names_of_files_bring_nothing_unseen_to_a_message(key, value):
    for found in (
        outcome(read_design, "frost_watch", [f"{key}={value}", f"name={value}", f'"{key}".x=1']),
        outcome(read_design, key + "\x1b"),
        outcome(read_workshop, key + "\x1b"),
        outcome(read_stock, key + "\x1b"),
    ):
        assert isinstance(found, (ConfigError, Design))
        if isinstance(found, ConfigError):
            seen_only(found)
        else:
            assert not any(map(unseen, found.name))


def test_a_stock_file_brings_nothing_unseen_to_a_message(tmp_path):
    file = tmp_path / "stock.toml"
    for line in ('sections = ["6\\u202e"]', '"se\\u001bctions" = [6]', '["a\\u2028b"]\nsections = [6]', "x = '\u200e"):
        file.write_text(line, encoding="utf-8")
        found = outcome(read_stock, str(file))
        assert isinstance(found, ConfigError)
        seen_only(found)


def test_every_refusal_escapes_what_is_not_seen_whatever_it_was_worded_from():
    hidden = "".join(HIDDEN) + "\ud800"
    assert {unicodedata.category(c) for c in hidden} == {"Cc", "Cf", "Cs", "Zl", "Zp"}
    message = str(InputError(f"a{hidden}b\nc"))
    assert message.isprintable() is False  # it keeps its line end
    assert [line.isprintable() for line in message.split("\n")] == [True, True]
    assert str(Problem(where="a\nb", line=3, what="c\x1bd")) == r"line 3: a\nb: c\x1bd"
    assert str(Problem(where="x" * 500, line=None, what="y")) == f"{'x' * 116} ...: y"
