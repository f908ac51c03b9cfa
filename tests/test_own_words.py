"""No library's phrase reaches a user, whatever is wrong in files or on the command line; help has README's words.

The libraries' phrases are taken from the libraries themselves: every template of pydantic's errors, and every text that
typer raises or translates.
"""

import ast
import contextlib
import re
import tomllib
from pathlib import Path

import pytest
import typer
from commands import ROOT, runner
from pydantic_core import _pydantic_core
from sweep import ALL
from typer.main import get_command
from typer.testing import CliRunner

from assembly.errors import ConfigError
from assembly.files import fault_words
from assembly.files.costs import read_costs
from assembly.files.reading import read_design, read_workshop
from assembly.files.shipped import shipped
from assembly.files.stock import read_stock
from viewer.cli import app
from viewer.commands import options

# What a slip may leave where a value should be, as TOML spells it: every type of value, and the ends of each.
VALUES = (
    '"x"', '""', '"\\u0007"', '"\\u202e"', f'"{"x" * 300}"', "1.5", "-1", "0", "7", "9" * 400, "1e400", "nan", "-inf",
    "true", "[]", "[1]", "{}", "{ x = 1 }", "1979-05-27", "07:32:00", "1979-05-27T07:32:00Z",
)  # fmt: skip


def fragments(template):
    """Return the parts of a message that stand between what is filled in, as far as they are phrases."""
    return [part.strip() for part in re.split(r"\{.*?\}", template) if re.match(r"[A-Z].{9,}", part)]


def of_pydantic():
    """Return the phrases of every error that pydantic can tell of."""
    return {each for kind in _pydantic_core.list_all_errors() for each in fragments(kind["message_template_python"])}


def of_typer():
    """Return the phrases that typer raises, or translates as parts of what it raises."""
    found = set()
    for file in Path(typer.__file__).parent.rglob("*.py"):
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            called = isinstance(node, ast.Call) and getattr(node.func, "id", "") in {"_", "ngettext"}
            if called or isinstance(node, ast.Raise):
                texts = [each.value for each in ast.walk(node) if isinstance(each, ast.Constant)]
                found |= {part for text in texts if isinstance(text, str) for part in fragments(text)}
    return found


PHRASES = sorted(of_pydantic() | of_typer() | {"pydantic", "Traceback", "https:", "Usage:", "Error:", "Try '"})


def test_the_phrases_are_those_that_are_feared():
    """Else the tests below hold nothing."""
    assert len(PHRASES) > 100
    assert {"Input should be a valid integer", "Field required", "Missing command."} <= set(PHRASES)


def in_our_words(text):
    """Return a text, of which nothing is a library's."""
    assert [phrase for phrase in PHRASES if phrase in text] == [], text
    return text


def leaves(table, path=()):
    """Yield the path of every key of nested tables, of a table after those that stand in it."""
    for key, value in table.items():
        if isinstance(value, dict):
            yield from leaves(value, (*path, key))
        yield (*path, key)


@pytest.fixture
def kinds(monkeypatch):
    """Return the kinds of faults that were worded."""
    found, worded = set(), fault_words.words_for

    def spy(model, error):
        found.add(error["type"])
        return worded(model, error)

    for name in ("reading", "costs", "settings", "stock"):
        module = __import__(f"assembly.files.{name}", fromlist=["words_for"])
        if hasattr(module, "words_for"):
            monkeypatch.setattr(module, "words_for", spy)
    return found


def some_of(values, number):
    """Return the values that a key has in this run: all, or every third one, keys taking turns."""
    return values if ALL else values[number % 3 :: 3]


def refused(read, *args):
    """Return what a reader refuses; nothing where it takes what it is given."""
    with contextlib.suppress(ConfigError):
        read(*args)
        return ""
    with pytest.raises(ConfigError) as refusal:
        read(*args)
    return str(refusal.value)


def test_whatever_stands_in_a_design_is_refused_in_our_words(kinds):
    keys = [".".join(path) for path in leaves(tomllib.loads(shipped("frost_watch").read_text("utf-8")))]
    told = [
        in_our_words(refused(read_design, "frost_watch", [f"{key}={value}"]))
        for number, key in enumerate(keys)
        for value in some_of(VALUES, number)
    ]
    assert sum(map(bool, told)) > 0.7 * len(told)
    assert kinds <= fault_words.WORDS.keys(), "a kind of fault without words of its own"
    assert len(kinds) > 12


def workshop_lines():
    """Yield texts of a workshop with one value of each kind of key gone wrong, or one key gone."""
    data = tomllib.loads(shipped("new_to_tools").read_text("utf-8"))
    seen = set()
    for path in leaves(data):
        kind = (path[0], len(path), path[-1])
        if kind not in seen:
            seen.add(kind)
            yield path


def spelt(value):
    """Return a value as TOML."""
    if isinstance(value, dict):
        return "{" + ", ".join(f'"{key}" = {spelt(item)}' for key, item in value.items()) + "}"
    return str(value).lower() if isinstance(value, bool) else repr(value).replace("'", '"')


def with_value(data, path, value):
    """Return the text of nested tables in which one value is another, as TOML spells it; None leaves the key out."""
    lines = []
    for key, item in data.items():
        if path[:1] != (key,):
            lines.append(f'"{key}" = {spelt(item)}')
        elif len(path) > 1:
            inner = with_value(item, path[1:], value).strip().splitlines()
            lines.append(f'"{key}" = {{{", ".join(inner)}}}')
        elif value is not None:
            lines.append(f'"{key}" = {value}')
    return "\n".join(lines) + "\n"


def test_whatever_stands_in_a_workshop_is_refused_in_our_words(kinds, tmp_path):
    data, file = tomllib.loads(shipped("new_to_tools").read_text("utf-8")), tmp_path / "mine.toml"
    for number, path in enumerate(workshop_lines()):
        for value in (*some_of(VALUES[::2], number), None):
            file.write_text(with_value(data, path, value), encoding="utf-8")
            in_our_words(refused(read_workshop, str(file)))
    assert kinds <= fault_words.WORDS.keys()
    assert {"missing", "float_type", "string_type", "model_type"} <= kinds


@pytest.mark.parametrize("value", VALUES)
def test_whatever_stands_in_costs_or_stock_is_refused_in_our_words(value, tmp_path):
    file = tmp_path / "mine.toml"
    for line in ("currency", "minute", "squared", "squared.minutes", "squared.possible", "aids", "aids.fence"):
        file.write_text(f"{line} = {value}\n", encoding="utf-8")
        in_our_words(refused(read_costs, str(file)))
    file.write_text(f"sections = {value}\n", encoding="utf-8")
    in_our_words(refused(read_stock, str(file)))


@pytest.mark.parametrize(
    "text",
    [
        "a",
        "a =",
        "= 1",
        "[a",
        "a = 'x",
        "a = 1\na = 2",
        "a = yes",
        '"\\q" = 1',
        "a = 1 b = 2",
        "a = [1,",
        "[[a]",
        "\x01",
    ],
)
def test_what_is_not_toml_is_refused_in_our_words(text, tmp_path):
    file = tmp_path / "mine.toml"
    file.write_text(text, encoding="utf-8")
    try:
        tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        own = str(error).split(" (at ")[0]
    told = in_our_words(refused(read_design, str(file)))
    assert "can't be read: " in told
    assert own not in told


COMMANDS = get_command(app).commands


@pytest.mark.parametrize("command", COMMANDS.values(), ids=COMMANDS)
def test_whatever_is_wrong_on_the_command_line_is_refused_in_our_words(command, monkeypatch, capsys):
    """Every option without its value, or with one that it does not take; none such; too many words, or too few."""
    run = runner(monkeypatch, capsys)
    wrong = [
        ("--no-such-option",),
        ("--set",),
        ("a", "b", "c", "d"),
        *([()] if command.name not in {"demo", "view"} else []),
    ]
    for option in command.params:
        name = option.opts[-1]
        if name.startswith("--") and name != "--help":
            wrong += [(name,)] if option.metavar or option.type_descriptor.annotation is not bool else [(f"{name}=x",)]
    for words in wrong:
        if words == () and not any(each.required for each in command.params):
            continue
        code, out, err = run(command.name, *words)
        assert (code, out) == (2, ""), words
        assert err.startswith("lapwright: ")
        in_our_words(err)


def test_what_no_words_were_thought_of_for_is_refused_in_plain_words(monkeypatch, capsys):
    """A kind of refusal that a later typer may bring."""
    monkeypatch.setattr(options, "_WORDS", {})
    assert runner(monkeypatch, capsys)("check", "frost_watch", "--boxes", "x") == (
        2, "", "lapwright: these words can't be used; lapwright --help says what can\n",
    )  # fmt: skip


# What README speaks of that a teacher would look for in the help.
TERMS = (
    "teacher", "pupils", "technician", "class", "maker", "stock", "thickness", "sizes", "allowances", "accuracy",
    "square", "mark out", "files", "simulate", "good enough", "lap-jointed", "walls", "base", "screwed lid", "stem",
    "plaque", "bent acrylic", "drilled holes", "TOML", "millimetres", "degrees", "limit", "joint", "glue", "typical",
    "what to cut", "waste", "changes", "cheapest", "aid", "bad box", "sound", "strength", "structural design",
    "seasons", "cure", "variation", "two designs", "workshops", "picture", "step", "window", "STEP", "STL", "GLB",
    "JSON", "seed", "without editing", "hurt", "supervision", "risk assessment",
)  # fmt: skip


def helped():
    """Return all that the help says, in one line."""
    texts = [CliRunner().invoke(app, [*words, "--help"]).output for words in ((), *([name] for name in COMMANDS))]
    return " ".join(" ".join(texts).split())


def test_lapwright_is_found_by_the_words_that_readme_uses():
    readme, text = (ROOT / "README.md").read_text("utf-8"), helped()
    said = " ".join(readme.split()).lower()
    assert [term for term in TERMS if term.lower() not in said] == [], "not in README"
    assert [term for term in TERMS if term.lower() not in text.lower()] == [], "not in the help"
