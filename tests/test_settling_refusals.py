"""Contact programmes and boxes that are refused, each message whole."""

import numpy as np
import pytest

from assembly.contact.programme import ContactProgramme
from assembly.errors import SettlingError

WALL, PAIR = np.array([(1.0, 0.0), (0.0, 1.0), (1.0, 1.0)]), np.array([(1.0,), (-1.0,)])


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (
            {"matrix": [(1.0, 0.0), (0.0, np.nan), (1.0, 1.0)]},
            "contact programme: matrix[1, 1] is nan, must be finite; check the geometry that it was made from",
        ),
        (
            {"matrix": [1.0, 2.0]},
            "contact programme: matrix has the shape (2,), must be (contact points, unknowns) with nothing empty",
        ),
        (
            {"matrix": [(1.0, 2.0), (2.0, 4.0), (3.0, 6.0)]},
            (
                "contact programme: 3 contact points fix 1 of 2 unknowns, must fix all; "
                "hold an unknown or add a contact point"
            ),
        ),
        (
            {"weights": [(1.0, 0.0, 1.0)]},
            "contact programme: weights[0, 1] is 0.0, must be over 0; leave out a contact point that is not to count",
        ),
        (
            {"weights": [(1.0, np.inf, 1.0)]},
            "contact programme: weights[0, 1] is inf, must be finite; check the geometry that it was made from",
        ),
        (
            {"weights": [(1.0, 1.0)]},
            "contact programme: weights has the shape (1, 2), must be (patterns, 3) with nothing empty",
        ),
        (
            {"equality": [1.0, 2.0, 3.0]},
            "contact programme: equality has the shape (3,), must be (2,) with nothing empty",
        ),
        ({"equality": [0.0, 0.0]}, "contact programme: equality is all 0, must tie an unknown; leave it out"),
        (
            {"typical": [1.0, 2.0]},
            "contact programme: typical has the shape (2, 1), must be (3, boxes) with nothing empty",
        ),
    ],
    ids=lambda value: next(iter(value)) if isinstance(value, dict) else "",
)
def test_programmes_that_are_refused(arguments, message):
    with pytest.raises(SettlingError) as refused:
        ContactProgramme(**({"matrix": WALL, "weights": np.ones((1, 3))} | arguments))
    assert str(refused.value) == message


@pytest.mark.parametrize(
    ("before", "pattern", "message"),
    [
        (
            [(0.0, 0.0)],
            [0, 0],
            (
                "contact programme: gaps before settling are (1, 2) for 2 patterns, must be (2, 2); "
                "boxes lie on the last axis"
            ),
        ),
        (
            [(0.0, 0.0), (0.0, -np.inf)],
            [0, 0],
            (
                "box 1: the gap before settling at contact point 1 is -inf, must be finite; "
                "check the errors that it was made from"
            ),
        ),
        (
            [(0.0, 0.0), (0.0, 0.0)],
            [0, 3],
            "box 1: pattern is 3, must be 0 to 0, the number of a row of weights",
        ),
        (
            [(0.0, -1.0), (0.0, 0.5)],
            [0, 0],
            (
                "box 1: its contact points leave no position without overlap, there must be one; "
                "free an unknown or leave out a contact point"
            ),
        ),
        (
            [(0.0, -1.0, -1.0), (0.0, 0.5, 0.5)],
            [0, 0, 0],
            (
                "box 1 (and 1 more): its contact points leave no position without overlap, there must be one; "
                "free an unknown or leave out a contact point"
            ),
        ),
    ],
    ids=["shape", "not finite", "no such pattern", "no position", "two without position"],
)
def test_boxes_that_are_refused(before, pattern, message):
    with pytest.raises(SettlingError) as refused:
        ContactProgramme(PAIR, np.ones((1, 2))).settle(before, pattern)
    assert str(refused.value) == message
