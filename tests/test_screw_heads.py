"""Screws as they are when they are down, the size of each hole beside it: solids, steps, pictures, designs."""

import numpy as np
import pytest
from manifold3d import Manifold
from together import CONTACT_VOLUME, mesh_solid

from assembly.data.tables import given, round_head, rows
from assembly.errors import ConfigError
from assembly.files.reading import read_design, read_workshop
from assembly.files.shipped import shipped_designs
from assembly.made.gap_classes import gap_scale_of
from assembly.materials.withdrawal import thread_reach
from assembly.planning.making import making_order
from assembly.planning.measures import hole_label
from assembly.planning.steps import StepKind
from assembly.solids.box import box_arrays, build
from viewer.picture.layout import planned
from viewer.scene.step_scene import step_scene

SHIPPED = sorted(shipped_designs())
ROUND_ON_THE_LID = "lid.screw.round_head={ height = 2.4, washer = 8, washer_hole = 3.7, washer_thickness = 0.5 }"
HAND = ('plaque.cut="by hand"', 'lid_holes="marked through"')


def meshes(design):
    return {part.facts.name: part for part in box_arrays(build(design))}


def heights(part):
    """Return the least and the greatest z of a part where the closed box has it."""
    return part.placed()[:, 2].min(), part.placed()[:, 2].max()


@pytest.mark.parametrize("changes", [(), ("lid.overhang=2", ROUND_ON_THE_LID)])
@pytest.mark.parametrize("name", SHIPPED)
def test_the_thread_that_is_told_is_the_thread_in_the_solids(name, changes):
    """Second method: of the screw's mesh what is under the wall's top edge, seen from the side."""
    design = read_design(name, changes if design_takes(name) else ())
    parts = meshes(design)
    for wall in design.box.lapped_walls:
        edge, tip = heights(parts[f"{wall} wall"])[1], heights(parts[f"{wall} lid screw"])[0]
        assert thread_reach(design) == pytest.approx(edge - tip, abs=1e-9)


def design_takes(name):
    """Whether a lid screw of 3.5 mm is what the design has, which the round head above goes with."""
    return read_design(name).lid.screw.diameter == 3.5


def test_a_countersunk_lid_screw_has_its_whole_length_under_the_lid_s_face():
    """30 long in a lid of 9: 21 in the wall; on a washer of 0.5, 20.5."""
    assert thread_reach(read_design("frost_watch")) == 21
    assert thread_reach(read_design("frost_watch", ("lid.overhang=2", ROUND_ON_THE_LID))) == 20.5


@pytest.mark.parametrize("name", SHIPPED)
def test_heads_lie_flush_or_on_their_washers_and_touch_what_they_lie_in(name):
    """Flush with the lid's face; a countersunk head fits its cone: 0.01 deeper and both would share space."""
    design = read_design(name)
    parts = meshes(design)
    lid = heights(parts["lid"])[1]
    for wall in design.box.lapped_walls:
        screw, wood = parts[f"{wall} lid screw"], mesh_solid(parts["lid"])
        assert heights(screw)[1] == pytest.approx(lid, abs=1e-9)
        assert (mesh_solid(screw) ^ wood).volume() <= CONTACT_VOLUME
        assert (mesh_solid(screw).translate((0, 0, -0.01)) ^ wood).volume() > 0.1
    acrylic = lid + design.plaque.thickness
    washers = design.plaque.screw.round_head
    for number in (1, 2):
        low, high = heights(parts[f"plaque washer {number}"])
        assert (low, high) == pytest.approx((acrylic, acrylic + washers.washer_thickness), abs=1e-9)
        tip, top = heights(parts[f"plaque screw {number}"])
        assert top == pytest.approx(high + washers.height, abs=1e-9)
        assert tip == pytest.approx(high - design.plaque.screw.length, abs=1e-9)


def test_a_countersink_is_the_cone_that_its_closed_form_says():
    """A hole of 4 and a mouth of 7, 90 degrees: sections of the lid's mesh at 0.5, 1 and 2 mm under its face."""
    lid = meshes(read_design("frost_watch"))["lid"]
    top, whole = heights(lid)[1], mesh_solid(lid)
    for deep, radius in ((0.5, 3.0), (1.0, 2.5), (2.0, 2.0)):
        slab = Manifold.cube((12.0, 12.0, 1e-3)).translate((72.5 - 6, -6.0, top - deep))
        gone = (slab.volume() - (slab ^ whole).volume()) / 1e-3
        assert gone == pytest.approx(np.pi * radius**2, rel=3e-3)  # 64 chords for a circle: 1.6e-3 less


@pytest.mark.parametrize("name", SHIPPED)
def test_shipped_screws_in_acrylic_have_round_heads_and_washers_of_the_table(name):
    screw = read_design(name).plaque.screw
    row = round_head(screw.diameter)
    for key in ("height", "washer", "washer_hole", "washer_thickness"):
        assert getattr(screw.round_head, key) == given(row, key)


def test_the_table_of_round_heads_is_that_of_the_standards():
    """DIN 7996: heads 6 to 12 wide and 2.1 to 4.2 high from 3 to 6 mm; ISO 7089: 7 x 3.2 x 0.5 for 3 mm, 9 for 4 mm."""
    table = {given(row, "diameter"): row for row in rows("round_heads")}
    assert [given(table[d], "head") / d for d in table] == [2] * len(table)
    assert [(given(table[d], "head"), given(table[d], "height")) for d in (3, 6)] == [(6, 2.1), (12, 4.2)]
    sizes = {d: [given(table[d], key) for key in ("washer", "washer_hole", "washer_thickness")] for d in (3, 4, 5, 6)}
    assert sizes == {3: [7, 3.2, 0.5], 4: [9, 4.3, 0.8], 5: [10, 5.3, 1.0], 6: [12, 6.4, 1.6]}
    assert all(row["source"] and row["washer_source"] for row in rows("round_heads"))
    assert (round_head(2.2)["diameter"], round_head(3)["diameter"], round_head(9)["diameter"]) == ("2.5", "3", "8")


def test_a_countersunk_screw_in_the_plaque_is_refused_with_the_line_of_its_table(tmp_path):
    """The cure, pasted into the file, makes it good."""
    text = shipped_designs()["frost_watch"].read_text(encoding="utf-8")
    line = next(line for line in text.splitlines() if line.startswith("round_head"))
    file = tmp_path / "flat.toml"
    file.write_text(text.replace(line, "# no round head"), encoding="utf-8")
    with pytest.raises(ConfigError) as caught:
        read_design(file)
    (problem,) = caught.value.problems
    assert problem.where == "plaque.screw.round_head"
    assert text.splitlines()[problem.line - 1] == "[plaque.screw]"
    cure = problem.what.partition("add ")[2].partition(" under ")[0]
    file.write_text(text.replace(line, cure), encoding="utf-8")
    assert read_design(file).plaque.screw == read_design("frost_watch").plaque.screw


# Sizes beside every hole


def steps_of(name, changes=()):
    design = read_design(name, changes)
    return design, making_order(design, read_workshop("new_to_tools"))


@pytest.mark.parametrize("changes", [(), HAND])
@pytest.mark.parametrize("name", SHIPPED)
def test_each_hole_has_its_size_and_place_in_its_step_and_its_size_on_the_picture(name, changes):
    design, order = steps_of(name, changes)
    parts, drilled = box_arrays(build(design)), 0
    for step in (step for step in order.steps if step.drilled):
        sheet = planned(step_scene(order, step.number, parts, design.name, gap_scale_of(design)), (1920, 1080))
        labels = [measure.text for measure in sheet.measures if measure.leader is not None]
        assert sorted(labels) == sorted(map(hole_label, step.drilled)), step.operation
        ends = np.array([measure.end for measure in step.measures]).reshape(-1, 3)
        for hole in step.drilled:
            drilled += 1
            assert any(size.of == "diameter" and size.mm == hole.diameter for size in step.sizes)
            assert f"{hole.diameter:g} mm" in step.words
            if hole.blind:
                assert any(size.of == "depth" and size.mm == hole.depth for size in step.sizes)
                assert f"{round(hole.depth, 3):g} mm deep" in step.words
                assert f"{round(hole.depth, 2):g} deep" in hole_label(hole)
            else:
                assert "through" in step.words
                assert "through" in hole_label(hole)
            if hole.use in {"cable", "centre"}:
                assert hole_label(hole).endswith("in the centre")
                assert "centre" in step.words
            elif hole.part in {"lid", "plaque"}:  # a measure ends on the hole, along each axis on which one is needed
                assert np.isclose(ends[:, :2], hole.centre[:2]).any(axis=0).all(), (step.operation, hole.name)
            else:  # through the lid, whose hole is measured
                assert np.isclose(ends[:, :2], hole.centre[:2]).all(axis=1).any()
        shown = [measure.text for measure in sheet.measures if measure.leader is None]
        assert set(shown) == {measure.text for measure in step.measures}, step.operation
    assert drilled == sum(step.kind in {StepKind.DRILL, StepKind.CUT} for step in order.steps for _ in step.drilled)
    assert drilled >= 13


def hidden(point, towards, part):
    """Whether a part's triangle crosses the way from a point to who looks: Moeller and Trumbore's ray against each."""
    a, b, c = np.moveaxis(part.points[part.triangles], 1, 0)
    u, v = b - a, c - a
    cross = np.cross(towards, v)
    with np.errstate(divide="ignore", invalid="ignore"):
        scale = 1 / (cross * u).sum(axis=1)
        first = scale * ((point - a) * cross).sum(axis=1)
        other = np.cross(point - a, u)
        second, far = scale * (other @ towards), scale * (other * v).sum(axis=1)
        return bool(((first >= 0) & (second >= 0) & (first + second <= 1) & (far > 1e-6)).any())


@pytest.mark.parametrize(
    "changes", [(), ('box.lapped="sides"', "plaque.width=50", "plaque.hole_spacing=34", "lid.screw.length=25")]
)
@pytest.mark.parametrize("name", SHIPPED)
def test_no_part_hides_a_hole_that_is_drilled(name, changes):
    design, order = steps_of(name, changes if name == "frost_watch" else ())
    parts, seen = box_arrays(build(design)), 0
    for step in (step for step in order.steps if step.drilled):
        scene = step_scene(order, step.number, parts, design.name, gap_scale_of(design))
        for hole in scene.holes:
            seen += 1
            for point in hole.rim:
                assert not any(hidden(point, scene.direction.axes[2], part) for part in scene.parts), hole.text
    assert seen >= 13


@pytest.mark.parametrize("name", SHIPPED)
def test_screws_and_washers_are_counted_where_they_are_driven(name):
    design, order = steps_of(name)
    needs = {step.operation: step.needs for step in order.steps if step.stage == "screws"}
    lid, plaque = design.lid.screw, design.plaque.screw
    assert f"2 countersunk screws {lid.diameter:g} x {lid.length:g} mm" in needs["lid screws"]
    assert f"2 round-head screws {plaque.diameter:g} x {plaque.length:g} mm" in needs["plaque screws"]
    head = plaque.round_head
    washers = f"2 washers {head.washer:g} x {head.washer_hole:g} x {head.washer_thickness:g} mm"
    assert washers in needs["plaque screws"]
    assert not any("washer" in need for need in needs["lid screws"])


def test_round_headed_lid_screws_have_washers_and_no_countersink():
    design, order = steps_of("frost_watch", ("lid.overhang=2", ROUND_ON_THE_LID))
    assert "countersink" not in {step.operation for step in order.steps}
    last = order.steps[-1]
    assert {"left lid washer", "right lid washer"} <= set(last.parts)
    assert "2 washers 8 x 3.7 x 0.5 mm" in last.needs
    assert {"left lid washer", "right lid washer"} <= meshes(design).keys()
