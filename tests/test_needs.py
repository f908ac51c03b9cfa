"""What a step needs: all that its words tell to use is on its list, and nothing else; eyes, and pieces too small."""

import itertools
import re

import pytest
from hypothesis import HealthCheck, Phase, given, settings

from assembly.files.reading import read_design, read_workshop
from assembly.planning.cautions import TOOLS
from assembly.planning.making import making_order
from assembly.planning.needs import OF_TOOL, Item
from assembly.planning.steps import StepKind
from tests.boxes import still_workshop
from tests.designs import designs
from viewer.scene.step_words import caption_of

quick = settings(
    max_examples=12,
    deadline=None,
    phases=[Phase.reuse, Phase.generate],
    suppress_health_check=[HealthCheck.too_slow],
)

# How a step's sentences speak of a thing that is not their tool.
SAID = {
    Item.WASTE_WOOD: "waste wood",
    Item.SMALL_SANDER: "a shooting board",
    Item.SCRAP_WOOD: "scrap wood",
    Item.TAPE: r"\b[Pp]ut tape|turn of tape",
    Item.CLAMPS: r"^Clamp",
    Item.FLAT_BOARD: "flat board",
    Item.PAPER: "on paper or film|with paper or film",
    Item.CLOTH: "damp cloth",
    Item.ABRASIVE_PAPER: "abrasive paper",
    Item.GROMMET: "grommet",
    Item.JIG: r"\bjig\b(?! that)",
    Item.RUBBER: "Rub out",
    Item.SANDING_BLOCK: "Smooth the inside|Sand off|Sand the sharpness|sanding block",
    Item.BRUSH: "^Brush",
    Item.FINISH: r"Brush .*finish|^Brush end grain",
    Item.GLUE: "^Spread glue",
    Item.PENCIL: r"^Hatch|^Write|pencil stroke|arrowhead on|diagonals (on|of)|^Draw (the base|a line|round)|^Mark ",
    Item.MARKING_KNIFE: "knife line|^Carry",
    Item.MARKING_GAUGE: "^Set the pin|^Try the gauge|^Gauge a line",
    Item.BRADAWL: r"^Prick",
    Item.RULE: (
        r"^Measure|^Mark both|\bDraw (the (base|bend line|flat)|a cross for)"
        r"|about \d+ mm in from each|across .*, \d+ mm from"
    ),
    Item.SAW: r"^Saw",
    Item.CHISEL: r"^Chisel|^Pare",
    Item.DRILL: r"^Drill|^Countersink",
    Item.COUNTERSINK: r"^Countersink",
    Item.SANDER: "the sander|^Sand both|^Sand all",
    Item.LASER_CUTTER: "^Have",
    Item.LINE_BENDER: "hot strip|^Bend the sheet",
    Item.CRAFT_KNIFE: "^Score|^Snap",
    Item.SAFETY_RULE: "^Score|^Snap",
    Item.FELT_PEN: "bend line right|on the film|^Draw a cross for",
    Item.TRY_SQUARE: "^Square a knife line|^Carry",
    Item.SCREWDRIVER: "^Drive",
}
WORN = {  # told by cautions
    Item.EYE_PROTECTION: r"[Ee]ye protection",
    Item.GLOVES: "heat-proof gloves",
    Item.BENCH_HOOK: "bench hook or in a vice",
    Item.HELD_FAST: "Clamp the piece",
}
# Tools that a step uses without a word for them, since its action is their use.
UNSAID = {"pencil", "rule", "try square", "marking knife", "line bender", "laser cutter"}
EYES = {"saw", "sander", "chisel", "drill", "laser cutter", "craft knife and safety rule", "line bender"}


def all_steps(design):
    for workshop in (read_workshop("new_to_tools"), still_workshop(shoulder_from="drawing", gauge_from="outside")):
        yield from making_order(design, workshop, also=("soldering",)).steps


def test_every_thing_has_a_word_and_every_tool_its_things():
    assert SAID.keys() | WORN.keys() == set(Item)
    assert OF_TOOL.keys() == TOOLS.keys()
    assert {item for items in OF_TOOL.values() for item in items} <= set(SAID)


@quick
@given(design=designs())
def test_what_a_step_tells_to_use_is_on_its_list_and_what_is_on_its_list_is_used(design):
    for step in all_steps(design):
        if step.kind is not StepKind.WAIT:
            for item, words in SAID.items():
                if re.search(words, step.action) or (item is Item.SMALL_SANDER and re.search(words, step.words)):
                    assert item in step.needs, (step.operation, item, step.words)
        assert set(OF_TOOL[step.tool]) | set(step.besides) <= set(step.needs)
        careful = " ".join(caution.words for caution in step.cautions)
        for item in step.needs:
            if item in WORN:
                assert re.search(WORN[item], careful), (step.operation, item)
            elif item in SAID and item not in UNSAID:
                assert re.search(SAID[item], step.words), (step.operation, item, step.words)
        assert len(set(step.needs)) == len(step.needs)


@quick
@given(design=designs())
def test_what_holds_the_piece_is_on_the_list_where_a_caution_asks_for_it(design):
    for step in all_steps(design):
        careful = " ".join(caution.words for caution in step.cautions)
        assert ("bench hook or vice" in step.needs) == ("bench hook" in careful), step.operation
        assert ("vice or clamps" in step.needs) == (step.tool == "chisel"), step.operation


@quick
@given(design=designs())
def test_a_bit_is_on_the_list_for_each_diameter_that_is_drilled(design):
    steps = list(all_steps(design))
    for step, after in itertools.pairwise(steps):
        bits = {need for need in step.needs if need.startswith("bit of ")}
        drilled = {hole.diameter for hole in step.drilled if step.kind is StepKind.DRILL and hole.use != "countersink"}
        if step.operation == "tape":
            drilled = {hole.diameter for hole in after.drilled}
        assert sorted(float(re.search(r"[\d.]+", bit)[0]) for bit in bits) == pytest.approx(sorted(drilled), abs=6e-4)


@quick
@given(design=designs())
def test_eyes_are_covered_in_every_step_that_wants_it_in_full_and_in_short(design):
    """Sawing, sanding by machine, chiselling, drilling, and cutting or bending acrylic; and soldering where it is."""
    for step in all_steps(design):
        wants = step.tool in EYES or "soldering" in step.also
        assert ("eye protection" in step.needs) == wants, step.operation
        if wants:
            for said in (" ".join(c.words for c in step.cautions), " ".join(c.short for c in step.cautions)):
                assert re.search("eye protection", said, re.IGNORECASE), (step.operation, said)


@pytest.mark.parametrize(("length", "small"), [(99.9, True), (100, False)])
def test_a_piece_under_a_hundred_is_not_held_to_a_disc(length, small):
    """Lapped walls as long as the box is wide; a box 160 long is no small piece, nor its lid: common practice."""
    design = read_design("frost_watch", [f"box.width={length}", "box.length=160", "lid.overhang=0"])
    steps = {s.operation: s for s in making_order(design, read_workshop("new_to_tools")).steps}
    refused = (
        "Walls under 100 mm long, here LEFT and RIGHT, must not be held to a disc by hand.",
        "A sanding block, a shooting board or a jig that grips them does it.",
    )
    decide = "Your school's rules, its risk assessment and the competent person who watches decide"
    assert (steps["sand"].notes == refused) == small
    assert (decide in " ".join(caution.words for caution in steps["sand"].cautions)) == small
    assert (Item.SMALL_SANDER in steps["sand"].needs) == small
    for operation in ("flush", "lid_sand"):
        assert "disc" not in steps[operation].words
    label = {s.operation: s for s in making_order(read_design("label_box"), read_workshop("new_to_tools")).steps}
    assert "disc" in label["sand"].words


def test_the_picture_prints_the_list():
    design = read_design("frost_watch")
    order = making_order(design, read_workshop("new_to_tools"))
    gluing = next(step for step in order.steps if step.operation == "put together")
    assert caption_of(order, gluing).lead[-1] == "You need: flat board; paper or film."
