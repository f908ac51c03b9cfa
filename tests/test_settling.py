"""The contact programme: against HiGHS, published values, closed forms, and what holds at every optimum.

The matrix of the box is derived here once more, from how a point of each wall moves, and not taken from the package.
"""

import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.optimize import linprog
from scipy.stats import norm
from sweep import some

from assembly.contact import programme
from assembly.contact.dual_simplex import settle_boxes
from assembly.contact.programme import ContactProgramme
from assembly.errors import SettlingError

LENGTH, WIDTH, HEIGHT, PLAIN, DEPTH = 160.0, 90.0, 45.0, 10.0, 7.5
TONGUE = 15.0 - DEPTH
# Unknowns: shift along x, y, turn about z of each wall, then its lean about its own length; the left wall is located.
FREEDOMS = [
    f"{wall} {freedom}" for wall in ("left", "right", "front", "back") for freedom in ("x", "y", "turn", "lean")
]
FREE = [freedom for freedom in FREEDOMS if freedom not in {"left x", "left y", "left turn"}]
CORNERS = [("right", "back"), ("right", "front"), ("left", "back"), ("left", "front")]
SIGNS = [(-1, -1), (-1, 1), (1, -1), (1, 1)]  # v minus then plus, for each w minus then plus
AREAS = np.tile(np.repeat([PLAIN, DEPTH], 4) * HEIGHT / 4, 4)


def moved(wall, direction, point):
    """Return how far a point of a wall moves along x or y per unit of each free unknown, all turns about the origin."""
    x, y, z = point
    row = np.zeros(16)
    first = FREEDOMS.index(f"{wall} x")
    across = wall in {"left", "right"}  # these lean about y, the others about x
    row[first : first + 4] = (1, 0, -y, z * across) if direction == "x" else (0, 1, x, -z * (not across))
    return row[[FREEDOMS.index(freedom) for freedom in FREE]]


def box_matrix():
    """Return the change of 32 gaps per unit of 13 unknowns: the lapped wall's point less the plain wall's, outward."""
    rows = []
    for lapped, plain in CORNERS:
        sx, sy = (1 if lapped == "right" else -1), (1 if plain == "back" else -1)
        for v, w in SIGNS:
            at = sx * (LENGTH / 2 - TONGUE), sy * (WIDTH / 2 - PLAIN / 2 + v * PLAIN / 2), w * HEIGHT / 2
            rows.append(sx * (moved(lapped, "x", at) - moved(plain, "x", at)))
        for v, w in SIGNS:
            at = sx * (LENGTH / 2 - TONGUE - DEPTH / 2 + v * DEPTH / 2), sy * (WIDTH / 2 - PLAIN), w * HEIGHT / 2
            rows.append(sy * (moved(plain, "y", at) - moved(lapped, "y", at)))
    return np.array(rows)


def box_weights():
    """Return the 32 tie patterns as weights: pattern 4b + m is sin(k (b + 1)), its corners permuted by m."""
    corners = np.arange(32).reshape(4, 8)
    orders = [corners, corners[[1, 0, 3, 2]], corners[[2, 3, 0, 1]], corners[[3, 2, 1, 0]]]
    waves = [np.sin(np.arange(1, 33) * (b + 1)) for b in range(8)]
    return AREAS * (1 + 0.001 * np.array([wave[order.ravel()] for wave in waves for order in orders]))


MATRIX, WEIGHTS = box_matrix(), box_weights()
SQUARE = np.array([{"front turn": 1, "back turn": 1, "right turn": -1}.get(freedom, 0) for freedom in FREE], float)


def drawn_boxes(count, seed):
    """Return gaps before settling (32, count) of plausible faces, and a pattern for each box."""
    rng = np.random.default_rng(seed)
    offset, along, upright = rng.normal(-0.1, 0.4, (8, 1, count)), *rng.normal(0, np.radians(1), (2, 8, 1, count))
    v = np.array([[sv * width / 2 for sv, _ in SIGNS] for width in [PLAIN, DEPTH] * 4])
    w = np.array([sw * HEIGHT / 2 for _, sw in SIGNS])
    uneven = rng.normal(0, 0.1, (8, 4, count))
    left_on = offset + along * v[..., None] + upright * w[:, None] + uneven
    return -left_on.reshape(32, count), rng.integers(0, 32, count)


def highs(matrix, weights, before, equality=None):
    """Return the gaps that HiGHS finds, and their weighted sum."""
    tied = {} if equality is None else {"A_eq": equality[None], "b_eq": [0]}
    found = linprog(matrix.T @ weights, A_ub=-matrix, b_ub=before, bounds=(None, None), method="highs", **tied)
    assert found.status == 0, found.message
    gaps = before + matrix @ found.x
    return gaps, weights @ gaps


@pytest.mark.parametrize(("equality", "count"), [(None, 1000), (SQUARE, 200)], ids=["as it falls", "squared"])
def test_boxes_settle_where_highs_puts_them(equality, count):
    before, pattern = drawn_boxes(count, seed=1)
    settled = ContactProgramme(MATRIX, WEIGHTS, equality).settle(before, pattern)
    expected = [highs(MATRIX, WEIGHTS[p], g, equality)[0] for g, p in zip(before.T, pattern, strict=True)]
    assert np.abs(settled.gaps - np.transpose(expected)).max() < 1e-6
    assert (before + MATRIX @ settled.moves).min() > -1e-9
    assert np.abs(before + MATRIX @ settled.moves - settled.gaps).max() < 1e-10
    if equality is not None:
        assert np.abs(equality @ settled.moves).max() < 1e-12


RIGHT_BACK = slice(0, 4), slice(4, 8)  # points of its cheek and of its shoulder
V, W = np.array(SIGNS).T
LEANING = np.radians(1) * W * HEIGHT / 2  # material left on by a lean of 1 degree
TURNED = -np.radians(1) * V * PLAIN / 2  # and out of square on plan, left on at the inner edge


@pytest.mark.parametrize(
    ("face", "left_on", "volume_mm3", "largest_mm"),
    [
        (0, -0.5, 43.9, (0, 0.07)),  # one plain wall 0.5 short
        (1, -0.5, 25.6, (0, 0.04)),  # one shoulder 0.5 overcut
        (0, LEANING, 176.7, (0.385, 0.395)),
        (0, TURNED, 46.9, (0.17, 0.19)),
    ],
    ids=["short wall", "overcut shoulder", "leaning end", "end out of square"],
)
def test_one_error_at_a_time(face, left_on, volume_mm3, largest_mm):
    """MODEL.md, 3: worked behaviours, found by two computations that share no code; volumes to a decimal."""
    before = np.zeros((32, 32))
    before[RIGHT_BACK[face]] -= np.reshape(left_on, (-1, 1))
    gaps = ContactProgramme(MATRIX, WEIGHTS).settle(before, np.arange(32)).gaps
    assert AREAS @ gaps == pytest.approx(np.full(32, volume_mm3), abs=0.05)
    assert np.all((largest_mm[0] < gaps.max(axis=0)) & (gaps.max(axis=0) < largest_mm[1]))


# Expected greatest of n unit normals, by n. Source: Tippett 1925; Harter 1961, tables of order statistics; recalled.
GREATEST_OF = {2: 0.56419, 3: 0.84628, 4: 1.02938, 5: 1.16296, 10: 1.53875}


@pytest.mark.parametrize(("n", "height"), GREATEST_OF.items())
def test_flat_face_lowered_on_random_points(n, height):
    """One unknown, the height: gaps h - z. By quadrature the mean is ∫ n x φ(x) Φ(x)ⁿ⁻¹ dx."""
    exact = quad(lambda x: n * x * norm.pdf(x) * norm.cdf(x) ** (n - 1), -9, 9)[0]
    assert exact == pytest.approx(height, abs=5e-6)  # published to five decimals
    count = 150_000
    points = np.random.default_rng(n).standard_normal((n, count))
    both = np.concatenate([points, -points], axis=1)  # in pairs of opposites, whose mean spreads less
    heights = ContactProgramme(np.ones((n, 1)), np.ones((1, n))).settle(-both, np.zeros(2 * count, int)).moves[0]
    assert np.abs(heights - both.max(axis=0)).max() < 1e-12
    pairs = heights.reshape(2, count).mean(axis=0)
    allowed = 4 * pairs.std() / count**0.5
    assert allowed < 0.01 * height  # so an error of 1 % shows
    assert pairs.mean() == pytest.approx(height, abs=allowed)


def test_four_footed_table_under_a_central_load():
    """Feet at the corners of a square, in turn; unknowns are height and two tilts.

    A tilt leaves the mean height of opposite feet alone, so h >= (z1 + z3)/2 and h >= (z2 + z4)/2, and the greater can
    be reached. All gaps together, 4h - Σz, are then |z1 + z3 - z2 - z4|, the table's rock; that sum of four normals
    has the deviation 2, so the mean is 2√(2/π).
    """
    feet = np.array([(1, -1, -1), (1, 1, -1), (1, 1, 1), (1, -1, 1)], float)
    count = 150_000
    floor = np.random.default_rng(4).standard_normal((4, count))
    settled = ContactProgramme(feet, np.ones((1, 4))).settle(-floor, np.zeros(count, int))
    assert settled.moves[0] == pytest.approx(np.maximum(floor[0] + floor[2], floor[1] + floor[3]) / 2, abs=1e-12)
    rock = settled.gaps.sum(axis=0)
    mean, allowed = 2 * (2 / np.pi) ** 0.5, 4 * 2 * (1 - 2 / np.pi) ** 0.5 / count**0.5
    assert allowed < 0.01 * mean
    assert rock.mean() == pytest.approx(mean, abs=allowed)


def test_refinery_as_printed():
    """Two crudes x, y for the greatest profit 8.1 x + 10.8 y under three capacities; two of them may grow by t1, t2.

    Source: Edgar & Himmelblau, Optimization of Chemical Processes; solved for all t by Pistikopoulos, Georgiadis & Dua,
    Multi-Parametric Programming (2007); recalled. Capacities left over and x, y themselves are the gaps, in thousands.
    Weights over 0 that give this profit: any on the capacities that outweigh it, the rest on x and y.
    """
    used = np.array([(0.80, 0.44), (0.05, 0.10), (0.10, 0.36)])
    profit, on_capacities = np.array([8.1, 10.8]), np.array([10.0, 100.0, 10.0])
    weights = np.concatenate([on_capacities, on_capacities @ used - profit])
    t1, t2 = np.array([0, 0.1, 0, 0, 0.1]), np.array([0, 0, 0.1, 0.3, 0.3])
    before = np.stack([24 + t1, 2 + t2, np.full(5, 6.0), np.zeros(5), np.zeros(5)])
    settled = ContactProgramme(np.vstack([-used, np.eye(2)]), weights[None]).settle(before, np.zeros(5, int))
    crudes, earned, spare = 1000 * settled.moves, 1000 * profit @ settled.moves, 1000 * settled.gaps[2]
    # First region: profit 286758.6 + 4.66 t1 + 87.52 t2, x 26206.90, y 6896.55, as long as -.14 t1 + 4.21 t2 <= 896.55.
    assert earned[0] == pytest.approx(286758.6, abs=0.05)
    assert (earned[1:3] - earned[0]) / 100 == pytest.approx([4.66, 87.52], abs=0.005)
    assert crudes[:, 0] == pytest.approx([26206.90, 6896.55], abs=0.005)
    assert (crudes[:, 1:3] - crudes[:, :1]) / 100 == pytest.approx(np.array([(1.72, -7.59), (-0.86, 13.79)]), abs=0.005)
    assert spare[0] == pytest.approx(896.55, abs=0.005)
    assert (spare[0] - spare[1:3]) / 100 == pytest.approx([-0.14, 4.21], abs=0.005)
    # Second region: profit 305409.84 + 7.52 t1 (7.5246), x 24590.16 + 1.48 t1, y 9836.07 - .41 t1.
    assert earned[3] == pytest.approx(305409.84, abs=0.005)
    assert (earned[4] - earned[3]) / 100 == pytest.approx(7.52, abs=0.005)
    assert crudes[:, 3] == pytest.approx([24590.16, 9836.07], abs=0.005)
    assert (crudes[:, 4] - crudes[:, 3]) / 100 == pytest.approx([1.48, -0.41], abs=0.005)


@st.composite
def programmes(draw):
    """Return matrix, weights, a row to keep or None, gaps and patterns of a programme that has a settled place.

    Whole numbers make many points meet at once; gaps are drawn from a place without overlap.
    """
    unknowns = draw(st.integers(1, 5))
    points, boxes = draw(st.integers(unknowns, 14)), draw(st.integers(1, 20))
    rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    if draw(st.booleans()):
        matrix = rng.integers(-1, 2, (points, unknowns)).astype(float)
        weights, open_ = np.ones((2, points)), rng.integers(0, 3, (points, boxes)).astype(float)
    else:
        matrix = rng.standard_normal((points, unknowns))
        weights, open_ = rng.uniform(0.1, 1, (2, points)), rng.exponential(size=(points, boxes))
    row = rng.standard_normal(unknowns) if unknowns > 1 and draw(st.booleans()) else None
    away = rng.integers(-2, 3, (unknowns, boxes)).astype(float)
    free = np.eye(unknowns) if row is None else np.linalg.svd(row[None])[2][1:].T
    assume(np.linalg.svd(matrix @ free)[1].min() > 1e-3 and points >= unknowns)
    return matrix, weights, row, open_ - matrix @ free @ free.T @ away, rng.integers(0, 2, boxes)


@given(programmes())
@settings(max_examples=some(250))
def test_what_holds_at_every_optimum(programme):
    matrix, weights, row, before, pattern = programme
    contact = ContactProgramme(matrix, weights, row)
    settled = contact.settle(before, pattern)
    forces = contact.forces(settled, pattern)
    unbalanced = matrix.T @ (forces - weights[pattern].T)
    if row is not None:
        assert np.abs(row @ settled.moves).max() < 1e-12
        unbalanced -= row[:, None] * (row @ unbalanced) / (row @ row)  # what holds the tie
    assert settled.gaps.min() >= 0
    assert np.abs(before + matrix @ settled.moves - settled.gaps).max() < 1e-10
    assert forces.min() >= 0
    assert np.abs(forces * settled.gaps).max() == 0
    assert np.abs(unbalanced).max() < 1e-9
    for box in range(len(pattern)):
        least = highs(matrix, weights[pattern[box]], before[:, box], row)[1]
        assert weights[pattern[box]] @ settled.gaps[:, box] == pytest.approx(least, abs=1e-7)


@given(programmes(), st.data())
@settings(max_examples=50)
def test_a_box_settles_alike_to_the_last_bit_in_any_company(programme, data):
    matrix, weights, row, before, pattern = programme
    contact = ContactProgramme(matrix, weights, row)
    whole = contact.settle(before, pattern)
    some = data.draw(st.lists(st.integers(0, len(pattern) - 1), max_size=200))
    part = contact.settle(before[:, some], pattern[some])
    for name in ("gaps", "moves", "bearing", "pivots"):
        assert np.array_equal(getattr(part, name), getattr(whole, name)[..., some])


def test_two_threads_settle_alike_to_the_last_bit():
    before, pattern = drawn_boxes(3000, seed=2)
    contact = ContactProgramme(MATRIX, WEIGHTS)
    whole = contact.settle(before, pattern)
    parts = [slice(start, start + 70) for start in range(0, 3000, 70)]  # not whole tiles
    with ThreadPoolExecutor(2) as pool:
        done = list(pool.map(lambda part: contact.settle(before[:, part], pattern[part]), parts))
    assert np.array_equal(np.concatenate([each.gaps for each in done], axis=1), whole.gaps)
    assert np.array_equal(np.concatenate([each.moves for each in done], axis=1), whole.moves)


@pytest.mark.parametrize("patience", [30, 0], ids=["usual pivots", "lowest number first"])
def test_fresh_tableaus_and_lowest_numbers_lead_to_the_same_place(monkeypatch, patience):
    """What a box that goes on long meets: a tableau worked out afresh, here every third pivot, and Bland's rule."""
    before, pattern = drawn_boxes(300, seed=3)
    contact = ContactProgramme(MATRIX, WEIGHTS)
    usual = contact.settle(before, pattern)
    monkeypatch.setattr(programme, "PIVOTS", 3)
    monkeypatch.setattr(programme, "PATIENCE", patience)
    slow = contact.settle(before, pattern)
    assert np.abs(slow.gaps - usual.gaps).max() < 1e-10
    assert np.abs(slow.moves - usual.moves).max() < 1e-10
    assert slow.pivots.max() > 3 * 3
    if not patience:
        assert slow.pivots.mean() > 1.2 * usual.pivots.mean()  # the rule is safe, not quick


def test_lowest_number_first(monkeypatch):
    """Bland's rule by hand: a straight edge s = h + a x - z, loaded at x = 0, rests on points 1 and 2 to begin with.

    Point 3 overlaps by 1 over point 1, point 4 by 5 in the middle. By the rule point 3 bears first, instead of 1. Then
    point 4 does, and as the load is midway between 3 and 2, both their forces vanish: the lower number, 2, comes loose.
    By the usual choice point 4 would be first.
    """
    x, weights = np.array([0, -1, 1, -1, 0]), np.array([[1.0, 1, 2, 1, 1]])
    begun = -np.array([-10.0, 0, 0, -10, -10])
    edge = ContactProgramme(np.stack([np.ones(5), x], axis=1), weights, typical=begun)
    assert sorted(edge.settle(begun[:, None], [0]).bearing[:, 0]) == [1, 2]
    monkeypatch.setattr(programme, "PATIENCE", 0)
    settled = edge.settle(-np.array([[-10.0], [0], [0], [1], [5]]), [0])
    assert sorted(settled.bearing[:, 0]) == [3, 4]
    assert settled.pivots[0] == 2


def test_starts_save_pivots_and_change_nothing_else():
    """Sixteen starts to choose from save a quarter of the pivots of a single one."""
    before, pattern = drawn_boxes(2000, seed=4)
    usual = ContactProgramme(MATRIX, WEIGHTS).settle(before, pattern)
    like = ContactProgramme(MATRIX, WEIGHTS, typical=drawn_boxes(16, seed=5)[0]).settle(before, pattern)
    one = ContactProgramme(MATRIX, WEIGHTS, typical=drawn_boxes(1, seed=5)[0][:, 0]).settle(before, pattern)
    assert np.abs(like.gaps - usual.gaps).max() < 1e-10
    assert np.abs(one.gaps - usual.gaps).max() < 1e-10
    assert max(like.pivots.mean(), usual.pivots.mean()) < 0.75 * one.pivots.mean()


def test_one_compiled_loop_serves_every_layout_of_the_matrix():
    """A second one would walk over its arrays by strides, and take seconds to compile."""
    before, pattern = drawn_boxes(10, seed=6)
    plain = ContactProgramme(MATRIX, WEIGHTS, SQUARE).settle(before, pattern)
    matrix, weights = np.asfortranarray(MATRIX), np.asfortranarray(WEIGHTS)
    turned = ContactProgramme(matrix, weights, SQUARE).settle(before[:, ::-1], pattern[::-1])
    assert np.array_equal(turned.gaps[:, ::-1], plain.gaps)
    assert len(settle_boxes.signatures) == 1


def test_no_boxes_at_all():
    settled = ContactProgramme(MATRIX, WEIGHTS).settle(np.empty((32, 0)), np.empty(0, int))
    assert (settled.gaps.shape, settled.moves.shape, settled.pivots.shape) == ((32, 0), (13, 0), (0,))


def test_gaps_too_large_for_their_last_digits_are_refused():
    before = np.zeros((32, 1))
    before[[0, 5, 9]] = [[1e9], [-1e9 / 3], [-1e9 / 7]]
    with pytest.raises(SettlingError) as refused:
        ContactProgramme(MATRIX, WEIGHTS).settle(before, [0])
    assert str(refused.value) == (
        "box 0: not settled to 1e-10 in 30 rounds of 200 pivots; its gaps before settling are up to 1e+09, "
        "check their unit"
    )


def test_settling_loads_no_more_of_scipy_than_numba_does():
    """Numba looks for scipy as it is loaded; its linear algebra, for which a loop's first call looks, is left out."""
    settle = (
        "import numpy as np; from assembly.contact.programme import ContactProgramme;"
        "ContactProgramme(np.ones((2, 1)), np.ones((1, 2))).settle(np.zeros((2, 1)), [0])"
    )
    assert scipy_after("import assembly.contact.programme") == scipy_after("import numba")
    assert scipy_after(settle) == scipy_after("import numba")


def scipy_after(code):
    """Return the parts of scipy that a fresh interpreter has loaded after `code`."""
    listed = code + "; import sys; print([name for name in sorted(sys.modules) if name.startswith('scipy')])"
    root = Path(__file__).parent.parent
    return subprocess.run([sys.executable, "-c", listed], cwd=root, capture_output=True, text=True, check=True).stdout
