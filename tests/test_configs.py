"""Every shipped file is read, keeps its schema, and the figures of MODEL.md, 2.3."""

import json
import re
import tomllib

import jsonschema
import pytest

from assembly.files.reading import maker, read_design, read_workshop
from assembly.files.schemas import MODELS, schema, schema_text
from assembly.files.shipped import configs_folder, shipped_designs, shipped_workshops
from assembly.model.design import Limits
from assembly.model.workshop import quantities

ALL = {**dict.fromkeys(shipped_designs(), "design"), **dict.fromkeys(shipped_workshops(), "workshop")}

# The table of starting values: bias, class, maker, cut (common practice, no source).
NEW = {
    "mark.offset": (0, 0, 0.15, 0.30), "square.plan": (0, 0, 0.10, 0.25), "square.upright": (0, 0, 0.10, 0.25),
    "saw.offset": (0.8, 0, 0.30, 0.40), "saw.plan": (0, 0, 0.5, 1.2), "saw.upright": (0, 0, 0.5, 1.2),
    "sand.offset": (0.10, 0, 0.15, 0.20), "sand.plan": (0, 0, 0.15, 0.35), "sand.upright": (0, 0.15, 0.15, 0.40),
    "lap_mark.offset": (0, 0, 0.10, 0.25), "lap_saw.offset": (0.20, 0, 0.20, 0.30),
    "lap_saw.plan": (0, 0, 0.3, 0.6), "lap_saw.upright": (0, 0, 0.3, 0.6), "gauge.offset": (0, 0, 0.25, 0.10),
    "chisel.offset": (0.15, 0, 0.20, 0.25), "chisel.along": (0, 0, 0.4, 0.8), "chisel.upright": (0, 0, 0.3, 0.6),
    "chisel.uneven": (0, 0, 0, 0.12), "stock.thickness": (0, 0.15, 0, 0.10), "stock.height": (0, 0.15, 0, 0.10),
    "stock.bow": (0, 0, 0, 0.20), "stock.twist": (0, 0, 0, 0.3), "base.cut": (0, 0, 0.2, 0.3),
    "base.place": (0, 0, 0, 0.5), "flush.offset": (0.10, 0, 0.10, 0.15), "outline.offset": (0.40, 0, 0.10, 0.15),
    "lid_saw.offset": (0.8, 0, 0.3, 0.4), "lid_sand.offset": (0.10, 0, 0.15, 0.20),
    "hole_mark.offset": (0, 0, 0.10, 0.30), "drill.wander": (0, 0.05, 0.10, 0.30), "lid.place": (0, 0, 0, 0.3),
    "laser.kerf": (0, 0.05, 0, 0), "laser.place": (0, 0, 0, 0.05), "bend.line": (0, 0, 0.2, 0.3),
    "bend.angle": (1.0, 0.5, 1.0, 1.5),
}  # fmt: skip


def row(disturbance):
    assert disturbance.family == "normal"
    return disturbance.bias, disturbance.class_spread, disturbance.maker_spread, disturbance.spread


def practised(quantity, values):
    """Return a row of practised makers: the timber as it is, else 0.6, 0.7, half and half."""
    shares = (1, 1, 1, 1) if quantity.startswith("stock.") else (0.6, 0.7, 0.5, 0.5)
    return tuple(share * value for share, value in zip(shares, values, strict=True))


def test_the_table_names_every_quantity():
    assert set(NEW) == set(quantities())


@pytest.mark.parametrize("quantity", quantities())
def test_every_row_of_both_workshops_is_as_told(quantity):
    assert row(read_workshop("new_to_tools").disturbance(quantity)) == NEW[quantity]
    expected = practised(quantity, NEW[quantity])
    assert row(read_workshop("practised").disturbance(quantity)) == pytest.approx(expected, abs=1e-12)


def test_paring_is_as_told():
    figures = {
        name: tuple(read_workshop(name).pare.model_dump()[key] for key in ("notice", "bias", "spread", "rounds"))
        for name in shipped_workshops()
    }
    assert figures == {"new_to_tools": (0.30, 0.05, 0.15, 3), "practised": (0.15, 0.03, 0.08, 3)}


def test_what_is_spoilt_is_as_told():
    """MODEL.md, 2.5: the project's own choices, the same for all hands; every file says them, so that they are seen."""
    for name in shipped_workshops():
        assert read_workshop(name).scrap.model_dump(exclude_unset=True) == {"short": 1.5, "overcut": 1.0, "tongue": 2.5}


def test_aids_of_practised_makers_follow_the_same_rule_and_no_aid_makes_a_row_worse():
    new, seasoned = read_workshop("new_to_tools"), read_workshop("practised")
    assert set(new.aids) == set(seasoned.aids) == {"stop_block", "saw_guide", "depth_stop"}
    for name, aid in new.aids.items():
        for quantity, found in aid.replaces.items():
            expected = practised(quantity, row(found))
            assert row(seasoned.aids[name].replaces[quantity]) == pytest.approx(expected, abs=1e-12)
            assert found.std < new.disturbance(quantity).std
            assert found.bias <= new.disturbance(quantity).bias


@pytest.mark.parametrize("name", shipped_designs())
def test_every_shipped_design_is_read_with_its_workshop(name):
    design = read_design(name)
    assert maker(design, name).name in {"New to tools", "Practised"}


def test_the_starter_offers_every_limit(tmp_path):
    """Each stands in its file, some as a comment; with all of them uncommented it is read and has them all."""
    text = (configs_folder() / "starter.toml").read_text(encoding="utf-8")
    head, limits = text.split("[limits]\n")
    offered = re.findall(r"^(?:# )?(\w+)\.(?:max|min|within) = ", limits, re.MULTILINE)
    missing = Limits.model_fields.keys() - set(offered)
    assert not missing, f"configs/starter.toml: write a line, commented, for each of {missing} under [limits]"
    (tmp_path / "all.toml").write_text(f"{head}[limits]\n{limits.replace('# ', '')}", "utf-8")
    assert read_design(tmp_path / "all.toml").limits.model_fields_set == set(Limits.model_fields)


def test_the_demo_is_the_box_of_the_scenario():
    design = read_design("frost_watch")
    assert (design.box.length, design.box.width, design.box.height, design.box.lapped) == (160, 90, 45, "ends")
    assert (design.timber.lapped, design.timber.plain, design.timber.lap_share) == (15, 10, 0.5)
    assert (design.made_by, design.makers) == ("new_to_tools", 26)
    assert read_design("seed_box").box.lapped == "sides"


@pytest.mark.parametrize("kind", MODELS)
def test_the_committed_schemas_are_current(kind):
    committed = (configs_folder() / f"{kind}.schema.json").read_text(encoding="utf-8")
    assert committed == schema_text(kind), "run `python -m assembly.files.schemas`"
    jsonschema.Draft202012Validator.check_schema(json.loads(committed))


@pytest.mark.parametrize("name", ALL)
def test_every_shipped_file_keeps_the_schema_that_its_first_line_names(name):
    text = (configs_folder() / f"{name}.toml").read_text(encoding="utf-8")
    assert text.startswith(f"#:schema ./{ALL[name]}.schema.json\n")
    jsonschema.validate(tomllib.loads(text), schema(ALL[name]), jsonschema.Draft202012Validator)


def test_the_schemas_refuse_what_reading_refuses():
    data = tomllib.loads((configs_folder() / "new_to_tools.toml").read_text(encoding="utf-8"))
    data["aids"]["saw_guide"]["replaces"]["saw.pln"] = {}
    [error] = jsonschema.Draft202012Validator(schema("workshop")).iter_errors(data)
    assert "'saw.pln' is not one of" in error.message


@pytest.mark.parametrize("kind", ["design", "workshop"])
def test_a_unit_is_a_field_of_its_own_and_told_once_by_the_schema(kind):
    """In the records no description ends in a unit; in the schema that of every number with one does."""
    fields = [
        (key, field)
        for record in (schema(kind), *schema(kind)["$defs"].values())
        for key, field in record.get("properties", {}).items()
        if "unit" in field
    ]
    assert {field["unit"] for _, field in fields} <= {"mm", "degrees", "degrees Celsius"}
    assert len(fields) > (2 if kind == "workshop" else 40)
    for key, field in fields:
        assert field["description"].endswith(f", {field['unit']}"), key
        assert field["description"].count(field["unit"]) == 1 + (key == "out_of_square"), (
            key
        )  # less 90 degrees, degrees
