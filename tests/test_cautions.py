"""Cautions: none missing where a tool is used, the ones that matter there in words, and the first ones first."""

import re

import pytest
from hypothesis import HealthCheck, given, settings

from assembly.data.tables import rows
from assembly.errors import InputError
from assembly.files.reading import read_design, read_workshop
from assembly.planning.cautions import TOOLS, cautions, first_cautions, tool_cautions
from assembly.planning.making import making_order
from tests.boxes import still_workshop
from tests.designs import designs

HARMLESS = {"pencil", "rule", "pencil and rule", "felt pen and rule", "rubber", "hands"}  # common practice, no source


def test_only_pencil_pen_rule_rubber_and_hands_go_without_a_caution():
    assert {tool for tool in TOOLS if not tool_cautions(tool)} == HARMLESS


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(design=designs())
def test_every_tool_step_of_any_design_has_a_caution(design):
    for workshop in (read_workshop("new_to_tools"), still_workshop(shoulder_from="drawing", gauge_from="outside")):
        for step in making_order(design, workshop).steps:
            assert step.cautions or step.tool in HARMLESS, step.number


@pytest.mark.parametrize("tool", ["saw", "sander", "chisel", "drill", "laser cutter", "line bender", "glue", "clamps"])
def test_a_tool_whose_rows_are_missing_is_refused(tool, monkeypatch):
    """Where the table lacks a tool's rows, its steps can't be written: nothing is shown without its caution."""
    operation = TOOLS[tool][0]
    left = tuple(row for row in rows("cautions") if row["operation"] != operation)
    monkeypatch.setattr("assembly.planning.cautions.rows", lambda _: left)
    design = read_design("frost_watch")
    order = making_order(design, read_workshop("new_to_tools"))
    with pytest.raises(InputError, match=f"got operation '{operation}'"):
        [step.cautions for step in order.steps]


def test_an_unknown_operation_is_refused_in_one_sentence():
    with pytest.raises(InputError) as caught:
        cautions("juggling")
    assert str(caught.value) == (
        "cautions: got operation 'juggling', must be one of first, saw, marking knife, marking gauge, bradawl, sander, "
        "small pieces, chisel, drill, drill through, drill acrylic, glue, clamps, hot bend, laser, craft knife, "
        "screwdriver, screw acrylic, soldering, low voltage, sheet edges, sanding block, finish, sawing out; add a row "
        "to cautions.csv for another"
    )


def test_rules_first_aid_and_emergency_stop_come_before_any_step():
    first = [caution.words for caution in first_cautions()]
    assert first[0].startswith("Your teacher's and your school's rules and your local law come first.")
    assert "first-aid box" in first[1]
    assert "emergency stop" in first[2]
    order = making_order(read_design("frost_watch"), read_workshop("new_to_tools"))
    assert order.first == first_cautions()


@pytest.mark.parametrize("operation", ["drill", "drill acrylic", "sander"])
def test_no_gloves_at_a_machine_that_turns(operation):
    assert any(caution.words.startswith("No gloves at a ") for caution in cautions(operation))


@pytest.mark.parametrize(
    ("operation", "words"),
    [
        ("drill acrylic", ("Back the acrylic", "clamp")),
        ("low voltage", ("only low battery voltage", "never mains")),
        ("laser", ("never PVC", "Extraction on")),
        ("chisel", ("cut away from your body", "Clamp")),
        ("saw", ("thumb",)),
        ("hot bend", ("hot", "guard")),
    ],
)
def test_what_hurts_most_is_named(operation, words):
    text = " ".join(caution.words for caution in cautions(operation))
    assert all(word in text for word in words)


def test_no_sentence_of_a_caution_is_longer_than_twenty_words():
    for row in rows("cautions"):
        for sentence in (each for told in (row["words"], row["short"]) for each in re.split(r"(?<=\.)\s+", told)):
            assert len(sentence.split()) <= 20, sentence


def test_every_row_is_a_sentence_with_a_source_and_no_age_limit():
    for row in rows("cautions"):
        assert row["words"].endswith("."), row
        assert "common practice, no source" in row["source"] or "BS 4163:2021+A1:2022" in row["source"], row
        assert not re.search(r"\b(age|aged|years?)\b|\d", row["words"].lower()), row


def test_the_stem_s_step_warns_of_voltage_and_of_soldering_where_it_is_asked_for():
    design, workshop = read_design("frost_watch"), read_workshop("new_to_tools")

    def at_stem(also=()):
        steps = making_order(design, workshop, also=also).steps
        return [c.operation for step in steps if step.operation == "stem" for c in step.cautions]

    assert at_stem() == ["low voltage"]
    assert at_stem(("soldering",)) == ["low voltage", "soldering", "soldering"]
    with pytest.raises(InputError, match="got operation 'welding'"):
        making_order(design, workshop, also=("welding",))


def test_every_caution_is_told_by_a_step_that_does_what_it_warns_of():
    """Over a laser-cut and a hand-cut plaque, soldered and not: no row stands idle; what is sawn out has an order."""
    workshop, steps_of = read_workshop("new_to_tools"), {}
    for changes in ((), ('plaque.cut="by hand"', "stem.soldered=true", 'lid_holes="marked through"')):
        for step in making_order(read_design("frost_watch", changes), workshop).steps:
            for caution in step.cautions:
                steps_of.setdefault(caution.operation, set()).add((step.tool, step.operation))
    assert set(steps_of) | {"first", "sawing out"} == {row["operation"] for row in rows("cautions")}
    assert steps_of["craft knife"] == {("craft knife and safety rule", what) for what in ("score", "snap")}
    assert steps_of["drill acrylic"] == {("drill", "drill")}
    assert steps_of["soldering"] == steps_of["low voltage"] == {("hands", "stem")}
    assert steps_of["laser"] == {("laser cutter", what) for what in ("laser", "laser holes", "engrave")}
    assert steps_of["hot bend"] == {("line bender", what) for what in ("heat", "try softness", "bend", "cool")}
    assert steps_of["small pieces"] == {("sander", "sand")}


def test_a_hand_cut_plaque_is_backed_clamped_and_drilled_with_its_own_cautions():
    made = making_order(read_design("frost_watch", ('plaque.cut="by hand"',)), read_workshop("new_to_tools"))
    steps = [step for step in made.steps if step.stage == "plaque"]
    assert [step.operation for step in steps] == [
        "plaque outline", "plaque holes", "plaque holes", "score", "snap", "smooth edges", "clamp", "drill", "drill",
        "film", "bend line", "heat", "try softness", "bend", "cool", "wipe line",
    ]  # fmt: skip
    clamped, *drilling = steps[6:9]
    assert clamped.words == "Clamp the sheet with scrap wood behind it."
    assert clamped.needs == ("clamps", "scrap wood")
    for step in drilling:
        assert [c.operation for c in step.cautions] == ["drill", "drill", "drill acrylic", "drill acrylic"]
    assert [[hole.name for hole in step.drilled] for step in drilling] == [
        ["stem hole"], ["plaque screw hole 1", "plaque screw hole 2"],
    ]  # fmt: skip
    assert not any(step.tool == "laser cutter" for step in made.steps)


def test_soldering_is_warned_of_only_where_the_design_says_so():
    workshop = read_workshop("new_to_tools")
    for changes, warned in (((), False), (("stem.soldered=true",), True)):
        steps = making_order(read_design("frost_watch", changes), workshop).steps
        assert any(c.operation == "soldering" for step in steps for c in step.cautions) is warned


def test_every_operation_has_one_short_form_but_for_what_is_told_before_any():
    shorts = {}
    for row in rows("cautions"):
        shorts.setdefault(row["operation"], []).append(bool(row["short"]))
    assert shorts.pop("first") == [False] * 6
    assert all(some[0] and not any(some[1:]) for some in shorts.values()), shorts


@pytest.mark.parametrize("operation", ["chisel", "drill", "drill acrylic"])
def test_eye_protection_is_told_again_where_chips_fly(operation):
    assert any("Wear eye protection" in caution.words for caution in cautions(operation))


def test_a_caution_is_told_only_where_it_is_true():
    """A stopped cut has no far side, only a through hole needs scrap under it, only acrylic cracks under a screw."""
    made = making_order(read_design("frost_watch"), read_workshop("new_to_tools"))
    said = {step.operation: " ".join(c.words for c in step.cautions) for step in made.steps}
    assert "comes through" not in said["lap_saw"]
    assert "Acrylic cracks" in said["plaque screws"]
    assert "crack" not in said["lid screws"]
    assert said["stem"].startswith("If there are wires: only low battery voltage goes into this box, and never mains.")
    for operation in ("base outline", "outline", "film"):
        assert "splinters and cut acrylic has sharp edges" in said[operation]
    assert "the half of the disc that moves down to the table" in said["sand"]
