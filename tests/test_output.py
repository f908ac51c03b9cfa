"""The schema of all that `--json` prints: it ships as the records are, describes every key, and fits real answers."""

import json
import re
from copy import deepcopy

import jsonschema
import pytest
from commands import SCHEMA, hold_to_schema
from sweep import long

from assembly.files.shipped import configs_folder, shipped_designs
from assembly.model.outcomes import OUTCOMES
from assembly.study.intervals import Interval
from viewer import cli
from viewer.reports.output.record import EstimateOutput
from viewer.reports.output.schema import ANSWERS, FILE, output_schema, schema_text

BOXES = ("--boxes", "100")
# Every command with --json, with what makes it quick; DESIGN stands for each shipped design.
COMMANDS = {
    "check": ("check", "DESIGN", *BOXES, "--rule", "1"),
    "causes": ("causes", "DESIGN", "--boxes", "60"),
    "advise": ("advise", "DESIGN", "--at-most", "1", "--boxes", "1000", "--stock", "few.toml"),
    "worst": ("worst", "DESIGN", "--joint", "left-front"),
    "compare": ("compare", "DESIGN", "starter", "--boxes", "2000"),
    "section": ("section", "DESIGN", "--lapped", "8", *BOXES),
    "section, of a stock file": ("section", "DESIGN", "--stock", "few.toml", "--to", "maps", *BOXES),
    "readings": ("readings", "DESIGN", "--makers", "1", "--minutes", "2"),
    "learn": ("learn", "frost_watch", "few.csv"),
    "outcome": ("outcome", "frost_watch", "example_boxes"),
    "order": ("order", "DESIGN", "--makers", "2"),
    "picture": ("picture", "DESIGN", "--size", "480x480"),
    "export": ("export", "DESIGN", "--as", "stl"),
    "page": ("page", "DESIGN"),
    "sheets": ("sheets", "DESIGN"),
    "new": ("new", "DESIGN_of_mine.toml"),
}
# Answers of another shape, of one design.
OTHERS = {
    "check, with plots": ("check", "frost_watch", *BOXES, "--plots", "drawn"),
    "check, Sobol' points": ("check", "frost_watch", *BOXES, "--points", "sobol"),
    "check, one box": ("check", "frost_watch", "--boxes", "1"),
    "check, no limits": ("check", "no_limits.toml", *BOXES),
    "causes, with plots": ("causes", "frost_watch", "--boxes", "60", "--plots", "drawn"),
    "advise, no limits": ("advise", "no_limits.toml", "--at-most", "1", "--boxes", "1000"),
    "section, a sheet": ("section", "frost_watch", "--timber", "MDF", *BOXES),
    "section, a sheet of unknown thickness": ("section", "frost_watch", "--timber", "birch plywood", *BOXES),
    "order, straight, of its own stock": (
        "order",
        "frost_watch",
        "--straight",
        "--spares",
        "10%",
        "--stock",
        "few.toml",
    ),
    "export, all": ("export", "frost_watch", "--as", "stl,step,glb"),
}


def test_the_schema_ships_as_the_records_are():
    committed = (configs_folder() / FILE).read_text(encoding="utf-8")
    assert committed == schema_text(), "run: python -m viewer.reports.output.schema"
    jsonschema.Draft202012Validator.check_schema(json.loads(committed))


def objects(schema):
    """Yield every object of a schema that has keys of its own."""
    if isinstance(schema, dict):
        if isinstance(schema.get("properties"), dict):
            yield schema
        for each in schema.values():
            yield from objects(each)
    elif isinstance(schema, list):
        for each in schema:
            yield from objects(each)


def test_every_key_is_described_always_there_and_no_other_is_allowed():
    """Always, but for outcomes of a section that a design may leave out."""
    absent = {name for name, each in OUTCOMES.items() if each.section}
    found = list(objects(output_schema()))
    assert len(found) > 30
    for each in found:
        assert each["additionalProperties"] is False
        assert each["required"] == [key for key in each["properties"] if key not in absent]
        for key, schema in each["properties"].items():
            assert schema.get("description", ""), (each.get("title"), key)


def test_every_record_says_what_it_is():
    assert [name for name, each in output_schema()["$defs"].items() if not each.get("description")] == []


def commands_with_json():
    return {command.__name__ for command in cli.COMMANDS if "as_json" in command.__annotations__}


def test_every_command_with_json_is_tried_and_has_its_record():
    """`demo` is a check with files: it is tried in `test_cli`."""
    tried = {words[0] for words in COMMANDS.values()}
    assert tried | {"demo"} == commands_with_json()
    keys = [answer.model_json_schema()["properties"]["command"] for answer in ANSWERS]
    assert {name for key in keys for name in key.get("enum", [key.get("const")])} == commands_with_json()


def tried(run, folder, words):
    """Run a command in a folder with a stock file and a design without limits, and hold its answer to the schema."""
    (folder / "few.toml").write_text("sections = [6, 9, 15]\n", encoding="utf-8")
    few = "class,maker,part,end,feature,at,measured_mm,instrument\n1,1,left,,thickness,,15.1,caliper\n"
    (folder / "few.csv").write_text(few, encoding="utf-8")
    design = (configs_folder() / "frost_watch.toml").read_text(encoding="utf-8")
    (folder / "no_limits.toml").write_text(re.sub(r"(?ms)^\[limits\].*?(?=^\[|\Z)", "", design), encoding="utf-8")
    code, out, err = run(*words, "--json")
    assert (code in {0, 1}, err) == (True, "")
    data = json.loads(out)
    assert data["command"] == words[0]
    hold_to_schema(data)


OF_EVERY_DESIGN = ("check", "section", "new")  # the others take turns
SWEPT = ("causes", "export")  # of one design in a run, of every design in a sweep


def turns():
    """Return every command with the designs that it is asked of."""
    designs = shipped_designs()
    for number, name in enumerate(COMMANDS):
        for turn, design in enumerate(designs):
            its_turn = turn == number % len(designs)
            if name in (*OF_EVERY_DESIGN, *SWEPT) or its_turn:
                yield pytest.param(name, design, marks=[long] if name in SWEPT and not its_turn else [])


@pytest.mark.parametrize(("name", "design"), list(turns()))
def test_what_every_command_prints_keeps_the_schema(run, tmp_path, name, design):
    tried(run, tmp_path, [word.replace("DESIGN", design) for word in COMMANDS[name]])


@pytest.mark.parametrize("words", OTHERS.values(), ids=OTHERS)
def test_answers_of_another_shape_keep_it_too(run, tmp_path, words):
    tried(run, tmp_path, words)


def test_a_key_too_many_or_too_few_is_told(run):
    """What the schema does not describe fails, at the top and deep down: so no key comes without a description."""
    data = json.loads(run("check", "frost_watch", *BOXES, "--json")[1])
    assert SCHEMA.is_valid(data)
    for change in (
        lambda data: data.update(extra=1),
        lambda data: data["outcomes"]["lean"]["mean"].update(level=0.95),
        lambda data: data["outcomes"].update(wobble=data["outcomes"]["lean"]),
        lambda data: data["outcomes"].pop("lean"),
        lambda data: data["forecast"]["range"].pop(),
        lambda data: data["pass_share"].update(interval="guessed"),
        lambda data: data.update(command="compare"),
    ):
        changed = deepcopy(data)
        change(changed)
        assert not SCHEMA.is_valid(changed)


def figures(data):
    """Yield every estimate of an answer."""
    if isinstance(data, dict):
        if "interval" in data:
            yield data
        for each in data.values():
            yield from figures(each)
    elif isinstance(data, list):
        for each in data:
            yield from figures(each)


def test_every_figure_lies_in_its_interval_and_says_how_that_was_found(run):
    data = json.loads(run("check", "frost_watch", "--boxes", "2000", "--rule", "1", "--json")[1])
    found = list(figures(data))
    assert all(each["low"] <= each["value"] <= each["high"] for each in found)
    assert {each["interval"] for each in found} == {
        "wilson", "wilson-classes", "clopper-pearson", "normal", "density", "delta", "paired-share",
    }  # fmt: skip
    described = EstimateOutput.model_json_schema()["properties"]["interval"]["description"]
    assert all(f"{each}: {each.meaning}" in described for each in Interval)
