"""The errors of a limit case as one vector: heights are linear in them, and an end takes any offset between two."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assembly.files.reading import maker, read_design
from assembly.limit_case.error_vector import Errors
from assembly.made.faces import Making
from assembly.nominal.frame import frame

DESIGN = read_design("frost_watch")
ERRORS = Errors(Making(frame=frame(DESIGN), workshop=maker(DESIGN, "frost_watch", "new_to_tools")))


def within(share):
    """Return errors that lie this share of the way from least to most: (boxes, places)."""
    return ERRORS.least + share * (ERRORS.most - ERRORS.least)


def test_vector_and_values_undo_each_other_and_the_limits_hold():
    errors = within(np.random.default_rng(1).random((7, len(ERRORS.least))))
    assert np.array_equal(ERRORS.vector(ERRORS.values(errors)), errors)
    far = ERRORS.vector(ERRORS.values(within(np.full((1, len(ERRORS.least)), 3.0))))
    assert np.array_equal(far[0], ERRORS.most)


def test_gaps_are_those_of_the_made_faces():
    """Linear heights, the smaller of sawn and sanded, the mean of a lapped end, no paring: gaps as the making has."""
    errors = within(np.random.default_rng(2).random((500, len(ERRORS.least))))
    made = ERRORS.making.finished(ERRORS.making.worked(ERRORS.values(errors)), None).gaps()
    heights = {name: rows @ errors[:, : ERRORS.count].T for name, rows in ERRORS.heights.items()}
    ends = np.minimum(heights["sawn"], heights["sanded"]).reshape(4, 4, -1)
    offsets = np.minimum(heights["lapped sawn"], heights["lapped sanded"]).reshape(4, 4, -1).mean(axis=1)
    material = (heights["lap"] + heights["stock"]).reshape(4, 2, 4, -1)
    material[:, 0] += ends
    material[:, 1] += offsets[:, None]
    assert np.abs(material.reshape(32, -1) + made).max() < 1e-12


def test_nothing_but_its_offset_depends_on_a_lapped_end():
    others = np.concatenate([rows for name, rows in ERRORS.heights.items() if not name.startswith("lapped")])
    columns = np.concatenate([end.columns for end in ERRORS.offsets])
    assert len(set(columns)) == len(columns)
    assert np.abs(others[:, columns]).max() == 0


def test_an_offset_is_between_its_limits_and_reaches_them():
    """By hand, the lapped wall's marked end: line ± 3 √(0.15² + 0.3²), and the smaller of saw and sander at its most.

    Most: both planes level and at their most, the sander's 0.1 + 3 √(0.15² + 0.2²) below the saw's.
    """
    line, sander = 3 * np.hypot(0.15, 0.3), 0.1 + 3 * np.hypot(0.15, 0.2)
    marked, datum = ERRORS.offsets[0], ERRORS.offsets[1]  # right-back, right-front
    assert marked.most == pytest.approx(line + sander, abs=1e-9)
    assert datum.most == pytest.approx(sander, abs=1e-9)
    assert marked.least == pytest.approx(datum.least - line, abs=1e-9)
    errors = within(np.random.default_rng(4).integers(0, 2, (20_000, len(ERRORS.least))))[:, : ERRORS.count]
    made = np.minimum(*(ERRORS.heights[name] @ errors.T for name in ("lapped sawn", "lapped sanded")))
    offsets = made.reshape(4, 4, -1).mean(axis=1)
    for end, tried in zip(ERRORS.offsets, offsets, strict=True):
        assert end.least == pytest.approx(tried.min(), abs=1e-9)
        assert tried.max() <= end.most + 1e-9


@settings(max_examples=25, deadline=None)
@given(shares=st.lists(st.floats(0, 1), min_size=4, max_size=4))
def test_errors_can_be_had_for_every_offset(shares):
    wanted = np.array([end.least + at * (end.most - end.least) for end, at in zip(ERRORS.offsets, shares, strict=True)])
    laps = np.linspace(-0.1, 0.1, 32)
    whole = ERRORS.completed(within(np.full(len(ERRORS.least), 0.3))[: ERRORS.count], wanted, laps)
    assert ((ERRORS.least <= whole) & (whole <= ERRORS.most)).all()
    made = ERRORS.making.faces(ERRORS.values(whole[None]))
    assert np.abs(made.end_offset[:, 0] - wanted).max() < 1e-9
    assert np.array_equal(whole[ERRORS.count :].reshape(-1, 32), np.tile(laps, (3, 1)))
