"""The flat plaque's outline: sizes by hand and by solids, kerf, wording that fits and reads, k from test strips."""

import math
from dataclasses import replace

import cadquery as cq
import numpy as np
import pytest
from designs import designs
from fitted import bird_design
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import ImageFont

from assembly.errors import InputError
from assembly.files.reading import read_design
from assembly.letters import CAPITAL, font_file
from assembly.nominal.fittings import fittings
from assembly.outline.contours import FLAT, Circle, Layer, Line, Loop, box_of, box_of_loops, rectangle
from assembly.outline.glyphs import outlines, width
from assembly.outline.kerf import checked_kerf, usual_kerf
from assembly.outline.lettering import LEADING, LEAST, MARGIN, MOST, lettering
from assembly.outline.plaque_drawing import plaque_drawing
from assembly.outline.strip import Strip, strip_drawing, strip_rows
from assembly.planning.flat_plaque_steps import engraving


def bent(flat, upright, thickness, radius, degrees, k=0.5, **other):
    """Return a plaque with these legs and this bend; the rest is that of a plain design."""
    design = bird_design(
        flat_leg=flat,
        upright_leg=upright,
        inside_radius=radius,
        angle=degrees,
        neutral_share=k,
        **other,
    )
    return replace(fittings(design).plaque, thickness=thickness)


def drawn(name, kerf=0.0, **changes):
    """Return the plaque of a shipped design, and its drawing."""
    design = read_design(name, [f"plaque.{key}={value}" for key, value in changes.items()])
    plaque = fittings(design).plaque
    return plaque, plaque_drawing(plaque, name=design.name, wording=design.plaque.wording, kerf=kerf)


def size(box):
    return box[2] - box[0], box[3] - box[1]


# The flat size


def test_the_flat_size_of_a_plain_bend_by_hand():
    """3 mm sheet round 3 mm by a right angle, legs 60 and 25: 85 - 2·6·tan 45° + (π/2)·4.5 = 73 + 7.0686."""
    assert bent(60, 25, 3, 3, 90).developed == pytest.approx(80.0686, abs=5e-5)
    assert 73 + math.pi / 2 * 4.5 == pytest.approx(80.0686, abs=5e-5)


bends = st.tuples(
    st.floats(70, 300),
    st.floats(70, 300),
    st.floats(1, 10),
    st.floats(0.5, 20),
    st.floats(10, 150),
    st.floats(0.2, 0.6),
)


@given(bends)
@settings(max_examples=25)
def test_flat_size_and_bend_line_are_the_closed_form(bend):
    """From the sheet's own pieces: two legs less what is beyond both tangents, and the neutral line's arc between."""
    a, b, t, r, degrees, k = bend
    plaque, theta = bent(a, b, t, r, degrees, k), math.radians(degrees)
    off, arc = (r + t) * math.tan(theta / 2), theta * (r + k * t)
    assert plaque.developed == pytest.approx(a + b - 2 * off + arc, abs=1e-9)
    assert plaque.bend_line == pytest.approx(a - off + arc / 2, abs=1e-9)


def turned_back(solid, centre, degrees):
    return solid.rotate(cq.Vector(centre[0], 0, centre[1]), cq.Vector(centre[0], 1, centre[1]), degrees)


@pytest.mark.parametrize(("degrees", "upright"), [(30, 25), (60, 25), (90, 25), (120, 58), (150, 58)])
def test_bent_in_the_kernel_the_flat_sheet_has_the_legs_of_the_drawing(degrees, upright):
    """The zone that the flat numbers leave for the bend, made an arc; legs read off bounding boxes, each leg laid flat.

    The outside planes of both legs meet in the apex, from which outside sizes count.
    """
    t, r, k = 3.0, 4.0, 0.42
    plaque = bent(60, upright, t, r, degrees, k)
    zone = 2 * (plaque.bend_line - plaque.flat_straight)
    start, rest = plaque.bend_line - zone / 2, plaque.developed - plaque.bend_line - zone / 2
    theta, centre = zone / (r + k * t), (start, r + t)

    def on_arc(radius, angle):
        return centre[0] + radius * math.sin(angle), centre[1] - radius * math.cos(angle)

    def beyond(point):
        return point[0] + rest * math.cos(theta), point[1] + rest * math.sin(theta)

    outer, inner = ([on_arc(radius, theta * share) for share in (0, 0.5, 1)] for radius in (r + t, r))
    profile = (
        cq.Workplane("XZ").moveTo(0, 0).lineTo(*outer[0]).threePointArc(*outer[1:]).lineTo(*beyond(outer[2]))
        .lineTo(*beyond(inner[2])).lineTo(*inner[2]).threePointArc(inner[1], inner[0]).lineTo(0, t).close()
    )  # fmt: skip
    solid = profile.extrude(20).val()
    flat, stood = solid.BoundingBox(), turned_back(solid, centre, degrees).BoundingBox()
    # A point (x, flat.zmin) of the flat leg's outside that is on the standing leg's, too, once that lies flat.
    sine, cosine, down = math.sin(theta), math.cos(theta), flat.zmin - centre[1]
    along = (cosine * down + centre[1] - stood.zmin) / sine
    assert theta == pytest.approx(math.radians(degrees), abs=1e-9)
    assert centre[0] + along - flat.xmin == pytest.approx(60, abs=0.01)
    assert stood.xmax - (centre[0] + cosine * along + sine * down) == pytest.approx(upright, abs=0.01)


# Kerf and order


def test_paths_lie_half_a_kerf_outside_edges_and_inside_holes():
    """90 mm wide, 50 + 32 - 12 + 7.0686 long; holes 8 and 4 mm: with 0.3 mm of kerf 90.3, 77.3686, 7.7 and so on."""
    plaque, true = drawn("frost_watch")
    _, cut = drawn("frost_watch", kerf=0.3)
    (*true_holes, true_edge), (*holes, edge) = true.on(Layer.CUT), cut.on(Layer.CUT)
    assert size(true_edge.shape.box) == pytest.approx((90, 77.06858), abs=1e-5)
    assert edge.shape.box == pytest.approx((-0.15, -0.15, 90.15, 77.21858), abs=1e-5)
    assert [2 * hole.shape.radius for hole in true_holes] == pytest.approx([8, plaque.screw_hole, plaque.screw_hole])
    for hole, without in zip(holes, true_holes, strict=True):
        assert hole.shape.centre == without.shape.centre
        assert hole.shape.radius == pytest.approx(without.shape.radius - 0.15)
    for layer in (Layer.ENGRAVE, Layer.BEND):
        assert cut.on(layer) == true.on(layer)


def test_holes_are_cut_before_the_outline_and_marks_before_both():
    _, drawing = drawn("frost_watch")
    order = list(dict.fromkeys(contour.name for contour in drawing.in_order()))
    assert order == [
        "wording", "bend line", "stem hole", "screw hole 1", "screw hole 2", "outline", "reference"
    ]  # fmt: skip


@pytest.mark.parametrize(("name", "up"), [("frost_watch", True), ("seed_box", False)])
def test_holes_and_bend_line_are_where_the_flat_sheet_has_them(name, up):
    """From the flat leg's free edge, which is below where the leg turns up and above where it hangs."""
    plaque, drawing = drawn(name)
    (line,) = drawing.on(Layer.BEND)
    holes = drawing.on(Layer.CUT)[:-1]
    high = plaque.developed
    for at, shape in (
        (plaque.bend_line, line.shape.start),
        *((h[2], c.shape.centre) for h, c in zip(plaque.flat_holes, holes, strict=True)),
    ):
        assert shape[1] == pytest.approx(at if up else high - at)
    assert (line.shape.start[0], line.shape.end[0]) == (0, plaque.width)
    middles = sorted(hole.shape.centre[0] - plaque.width / 2 for hole in holes[1:])
    assert middles == pytest.approx([-middles[1], middles[1]])


def test_the_usual_kerf_is_the_published_one_of_the_thickness():
    """A laser cutter's table: 1.6 / 3.2 / 6.4 mm sheet, 0.18 / 0.23 / 0.25 mm; between them straight: 3 mm 0.224."""
    assert [usual_kerf(t) for t in (1.0, 1.6, 3.0, 3.2, 4.8, 6.4, 10.0)] == [0.18, 0.18, 0.22, 0.23, 0.24, 0.25, 0.25]


@pytest.mark.parametrize("kerf", [-0.1, 3.2, math.nan])
def test_a_kerf_that_is_none_is_refused(kerf):
    with pytest.raises(InputError) as caught:
        checked_kerf(kerf)
    found = {-0.1: "-0.1", 3.2: "3.2"}.get(kerf, "nan")
    assert str(caught.value) == (
        f"--kerf: got {found}, must be 0 to 3 mm, the width of the machine's cut; give 0 where the machine allows for "
        "its kerf by itself"
    )


# The wording


def test_letters_are_the_height_of_their_capital():
    """An H is as high as the letters' own units say, by a second reader of the font."""
    font = ImageFont.truetype(str(font_file("Regular")), 2048)
    wide, high = size(font.getmask("H").getbbox())
    assert high / 2048 == pytest.approx(CAPITAL, abs=1e-3)
    assert size(box_of_loops(outlines("H"))) == pytest.approx((wide / high, 1), rel=2e-3)
    assert width("HxQ") == pytest.approx(font.getlength("HxQ") / high, rel=2e-3)


def test_straight_pieces_keep_to_their_curves():
    """Of an O as wide as a hand: no point of a curve is farther than FLAT from the pieces, by fine steps along it."""
    (loop, _) = lettering("O", width=400, straight=20, set_back=0)
    corners = np.array([*loop.points(), loop.points()[0]])
    at, worst = np.array(loop.start), 0.0
    for piece in loop.pieces:
        control, end = (np.array(p) for p in (piece[0], piece[-1]))
        for t in np.linspace(0, 1, 41):
            point = (1 - t) ** 2 * at + 2 * t * (1 - t) * control + t**2 * end if len(piece) == 2 else at
            ways = np.diff(corners, axis=0)
            share = np.clip(((point - corners[:-1]) * ways).sum(1) / (ways**2).sum(1), 0, 1)
            worst = max(worst, np.linalg.norm(corners[:-1] + share[:, None] * ways - point, axis=1).min())
        at = end
    assert FLAT / 10 < worst < FLAT


def letters_that_fit(text, wide, straight):
    """Return the largest letter height of all ways to break a wording once or never, from the letters' outlines."""
    words, found = text.split(), []
    for at in range(len(words)):
        lines = [box_of_loops(outlines(" ".join(some))) for some in (words[:at], words[at:]) if some]
        longest = max(size(box)[0] for box in lines)
        high = lines[0][3] - lines[-1][1] + LEADING * (len(lines) - 1)
        found.append(min((wide - 2 * MARGIN) / longest, (straight - 2 * MARGIN) / high))
    return max(found)


@given(
    st.sampled_from(["PLOT 14", "Ageing, quietly", "ÅÅ jg", "one two three four"]),
    st.floats(30, 200),
    st.floats(10, 60),
)
@settings(max_examples=25)
def test_wording_is_in_the_middle_within_margins_and_as_large_as_allowed(text, wide, straight):
    try:
        loops = lettering(text, width=wide, straight=straight, set_back=6)
    except InputError:
        assert letters_that_fit(text, wide, straight) < LEAST
        return
    assert letters_that_fit(text, wide, straight) > LEAST - 1e-6
    left, bottom, right, top = box_of_loops(loops)
    assert (left + right, bottom + top) == pytest.approx((wide, straight), abs=1e-6)
    assert min(left, bottom) >= MARGIN - 1e-6
    (one, *_), unit = loops, outlines(text.split()[0])[0]
    height = size(one.box)[1] / size(unit.box)[1]
    assert LEAST - 1e-6 <= height <= MOST + 1e-6
    assert min(left, bottom) == pytest.approx(MARGIN, abs=1e-6) or height >= 5 - 1e-6


def test_one_line_where_it_is_clear_else_two():
    """On 80 mm a line of 8 letters takes some 50; on 40 mm it would be under 5 mm high, and two lines are larger."""
    heights = [size(box_of_loops(lettering("FIVE BARS", width=w, straight=30, set_back=6)))[1] for w in (80, 40)]
    assert heights[0] == pytest.approx(MOST, rel=0.05)
    assert heights[1] > 10  # two lines


@pytest.mark.parametrize(
    ("text", "wide", "straight", "says", "cures"),
    [
        (
            "AAAAAAAAAAAAAAAAAAAA", 40, 19,
            (
                "plaque.wording: 'AAAAAAAAAAAAAAAAAAAA' does not fit on the standing leg, which has 34 by 13 mm for it "
                "3 mm from its edges and its bend; it would in letters 1.8 mm high, and they must be at least 3 mm; "
                "shorten it, or raise plaque.width to at least 62.3 mm"
            ),
            [(62.3, 19)],
        ),
        (
            "BEE", 40, 8,
            (
                "plaque.wording: 'BEE' does not fit on the standing leg, which has 34 by 2 mm for it 3 mm from its "
                "edges and its bend; it would in letters 2 mm high, and they must be at least 3 mm; shorten it, or "
                "raise plaque.upright_leg to at least 15 mm"
            ),
            [(40, 9)],
        ),
        (
            "BEEBEEBEEBEE", 20, 5,
            (
                "plaque.wording: 'BEEBEEBEEBEE' does not fit on the standing leg, which has 14 by 0 mm for it 3 mm "
                "from its edges and its bend, and letters must be at least 3 mm; shorten it, or raise "
                "plaque.width to at least 37.5 mm and plaque.upright_leg to 15 mm"
            ),
            [(37.5, 9)],
        ),
    ],
)  # fmt: skip
def test_wording_that_does_not_fit_is_refused_with_what_would_do(text, wide, straight, says, cures):
    with pytest.raises(InputError) as caught:
        lettering(text, width=wide, straight=straight, set_back=6)
    assert str(caught.value) == says
    for enough_wide, enough_high in cures:
        lettering(text, width=enough_wide, straight=enough_high, set_back=6)
        with pytest.raises(InputError):
            lettering(
                text, width=enough_wide - 0.2, straight=enough_high - (0.2 if enough_wide == wide else 0), set_back=6
            )


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (
            "苗 7",
            (
                "苗 7: the letters of the engraving (DejaVu Sans) have no '苗' (U+82D7); they have Latin, Greek and "
                "Cyrillic; write it so in the design"
            ),
        ),
        (
            "צל",
            (
                "צל: 'צ' (U+05E6) is no letter that is written by itself from left to right; write it in Latin, "
                "Greek or Cyrillic letters in the design"
            ),
        ),
    ],
)
def test_letters_that_cannot_be_engraved_are_refused(text, says):
    with pytest.raises(InputError) as caught:
        outlines(text)
    assert str(caught.value) == says


def test_an_accent_typed_apart_is_part_of_its_letter():
    assert outlines("A\u030a") == outlines("\u00c5")


@pytest.mark.parametrize("text", ["", "   ", "\u00a0"])
def test_wording_of_which_nothing_is_seen_engraves_nothing(text):
    assert lettering(text, width=60, straight=20, set_back=6) == ()


WAYS = [(side, turned) for side in ("front", "back", "left", "right") for turned in ("up", "down")]


@pytest.mark.parametrize(("side", "turned"), WAYS)
def test_folded_the_wording_reads_from_over_the_lid_or_from_outside_and_is_not_mirrored(side, turned):
    """Points of the outline, folded round the bend by its own circle: what is on the left is left of a reader.

    A leg that turns up is read over the lid, one that hangs from outside the box, as the steps of the making draw it.
    """
    degrees = 70 if turned == "down" else 110
    plaque = fittings(bird_design(side=side, turned=turned, angle=degrees)).plaque
    drawing = plaque_drawing(plaque, name="x", wording="L", kerf=0.0)
    (letter,) = drawing.on(Layer.ENGRAVE)
    left, bottom, right, upper = letter.shape.box
    foot_left, foot_right, head_left = folded(plaque, np.array([[left, bottom], [right, bottom], [left, upper]]))
    along, rise = foot_right - foot_left, head_left - foot_left
    outward = np.cross(along, rise)  # from the face to the reader, if it is not mirrored
    to_bend = np.array([*plaque.towards, 0.0])
    (shown,) = engraving(plaque, "L")
    assert along / np.linalg.norm(along) == pytest.approx(np.array(shown.along))
    assert rise[2] > 0
    assert along[2] == pytest.approx(0)
    assert (outward @ to_bend < 0) == (turned == "up")
    middle = (foot_left + head_left) / 2
    step = outward / np.linalg.norm(outward)
    assert not within(plaque, middle + 0.1 * step)
    assert within(plaque, middle - 0.1 * step)
    assert within(plaque, middle - (plaque.thickness - 0.1) * step)


def folded(plaque, points):
    """Return where points of the outline are on the bent plaque, (n, 3): turned round the bend's centre."""
    up, (x, y) = plaque.up, points.T
    along, length = (x - plaque.width / 2, y) if up else (plaque.width / 2 - x, plaque.developed - y)
    beyond = length - plaque.flat_straight - plaque.bend_allowance
    assert beyond.min() > 0
    radius = plaque.inside_radius if up else plaque.outside_radius  # of the face that was up on the machine
    u0, way = plaque.apex - plaque.setback, plaque.angle
    u = u0 + radius * math.sin(way) + beyond * math.cos(way)
    rise = radius * math.cos(way) * -1 + beyond * math.sin(way)  # above the bend's centre, leg turned up
    centre = (
        plaque.underside + plaque.outside_radius if up else plaque.underside + plaque.thickness - plaque.outside_radius
    )
    z = centre + (rise if up else -rise)
    return np.outer(along, [*plaque.along, 0]) + np.outer(u, [*plaque.towards, 0]) + np.outer(z, [0, 0, 1])


def within(plaque, point):
    """Tell whether a point is in the standing leg: between its two faces, by the profile of the solid."""
    u, h = point[:2] @ np.array(plaque.towards), point[2] - plaque.underside
    h = h if plaque.up else plaque.thickness - h
    profile = plaque.profile()
    foot, end, inner = profile[3], profile[4], profile[6]
    along, across = (end - foot) / np.linalg.norm(end - foot), (inner - foot) / np.linalg.norm(inner - foot)
    off = np.array([u, h]) - foot
    return bool(0 < off @ along < np.linalg.norm(end - foot) and 0 < off @ across < plaque.thickness)


# Test strips


@given(st.floats(1, 10), st.floats(0.5, 50), st.floats(0.2, 0.6))
@settings(max_examples=25)
def test_k_comes_back_from_the_legs_of_a_strip_that_was_bent_with_it(thickness, radius, k):
    strip = Strip(thickness=thickness, inside_radius=radius)
    legs = 2 * (radius + thickness) + strip.length - math.pi / 2 * (radius + k * thickness)  # straight parts and arc
    assert strip.neutral_share(legs - strip.length) == pytest.approx(k, abs=1e-9)
    assert strip.gain(k) == pytest.approx(legs - strip.length)
    assert strip.neutral_share(legs - 0.1 - strip.length) - k == pytest.approx(0.1 * strip.per_mm)
    each = (strip.length - math.pi / 2 * (radius + 0.6 * thickness)) / 2
    assert each >= 30 - 1e-9
    assert strip.length % 10 == 0


def test_how_far_k_is_off_by_hand():
    """3 mm round 3 mm: a tenth of a millimetre is 0.1 / (π/2 · 3) = 0.0212 of k.

    A degree too much: legs 2·6·tan(θ/2) - θ·4.5 grow by (12 - 4.5)·π/180 = 0.131 mm, so k seems 0.0278 less.
    """
    strip = Strip(thickness=3, inside_radius=3)
    assert 0.1 * strip.per_mm == pytest.approx(0.02122, abs=1e-5)
    assert strip.per_degree == pytest.approx(-0.0278, abs=5e-5)
    theta = math.radians(91)
    legs = strip.length + 12 * math.tan(theta / 2) - theta * 4.5
    assert strip.neutral_share(legs - strip.length) - 0.5 == pytest.approx(strip.per_degree, rel=0.02)


@pytest.mark.parametrize(("thickness", "radius"), [(3, 3), (1, 0.5), (10, 50)])
def test_the_table_of_gains_covers_what_a_design_takes(thickness, radius):
    strip = Strip(thickness=thickness, inside_radius=radius)
    table = strip_rows(strip)
    gains, shares = zip(*table, strict=True)
    step = -np.diff(gains)
    assert 5 <= len(table) <= 21
    assert step == pytest.approx(step[0])
    assert np.round(10 * step, 6) % 1 == pytest.approx(0)
    assert 0.2 <= shares[0] < 0.2 + step[0] * strip.per_mm
    assert 0.6 - step[0] * strip.per_mm < shares[-1] <= 0.6 + 1e-9
    assert shares == pytest.approx([strip.neutral_share(each) for each in gains])


@pytest.mark.parametrize(("thickness", "radius", "length"), [(3, 3, 100), (1, 0.5, 100), (10, 50, 150)])
def test_strips_are_as_long_as_they_say_and_marked_clear_of_their_bend(thickness, radius, length):
    """The outside of the arc is (π/2)·(r + t) long; round 50 mm, 60 mm stay straight beside (π/2)·56: 148 mm."""
    strip = Strip(thickness=thickness, inside_radius=radius)
    drawing = strip_drawing(strip, name="x", kerf=0.2)
    edges, half = drawing.on(Layer.CUT), math.pi / 4 * (radius + thickness)
    assert [size(edge.shape.box) for edge in edges] == [pytest.approx((length + 0.2, 20.2))] * 3
    assert box_of(drawing.on(Layer.BEND))[::2] == (length / 2, length / 2)
    for contour in drawing.on(Layer.ENGRAVE):
        left, bottom, right, top = contour.shape.box
        assert right < length / 2 - half or left > length / 2 + half
        assert any(e.shape.box[1] < bottom + 0.11 and top < e.shape.box[3] for e in edges)


@given(designs())
@settings(max_examples=15, deadline=None)
def test_random_designs_have_outlines_within_their_sheet(design):
    if design.plaque is None:
        return
    plaque = fittings(design).plaque
    drawing = plaque_drawing(plaque, name=design.name, wording="", kerf=0.0)
    *holes, edge = drawing.on(Layer.CUT)
    assert size(edge.shape.box) == pytest.approx((plaque.width, plaque.developed))
    for hole in holes:
        left, bottom, right, top = hole.shape.box
        assert min(left, bottom, plaque.width - right, plaque.developed - top) >= 2 - 1e-6  # shop rule 3
    assert isinstance(edge.shape, Loop)
    assert all(isinstance(hole.shape, Circle) for hole in holes)
    assert isinstance(drawing.on(Layer.BEND)[0].shape, Line)


def test_a_rectangle_runs_round_once():
    assert rectangle(0, 1, 2, 3).points() == ((0, 1), (2, 1), (2, 3), (0, 3))
