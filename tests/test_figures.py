"""The whole chain against figures of two independent computations of the same model, and its worked behaviours.

The figures: mean, sd, 5 / 50 / 95 % of 100,000 boxes by two programs that share no code with this one, for a box
160 × 90 × 45 with 15 mm lapped and 10 mm plain walls and half laps, shoulders measured from the part, gauged inside.
"""

import numpy as np
import pytest
from boxes import TABLE_BOX, gaps_with

from assembly.files.reading import read_design, read_workshop
from assembly.nominal.frame import BACK, PATTERNS, TURN, free_columns, point_areas
from assembly.study.check import check, contact_programme, sampled_box

SIZES = ("box.length=160", "box.width=90", "box.height=45", "box.lapped=ends", "timber.lapped=15", "timber.plain=10",
         "timber.lap_share=0.5", "glue_limit=0.2")  # fmt: skip
FIGURES = {
    "new_to_tools": {
        "joint_gap": (1.073, 0.413, 0.535, 1.004, 1.846),
        "closed_share": (0.386, 0.157, 0.137, 0.400, 0.632),
        "step": (0.412, 0.182, 0.186, 0.376, 0.760),
        "out_of_square": (0.733, 0.367, 0.235, 0.678, 1.420),
        "top_step": (0.192, 0.085, 0.070, 0.184, 0.346),
        "diagonal_difference": (0, 1.395, -2.29, 0, 2.29),
        "lean": (0.670, 0.322, 0.243, 0.620, 1.271),
        "length": (0.311, 0.637, -0.763, 0.330, 1.325),
        "width": (0.196, 0.514, -0.675, 0.212, 1.015),
    },
    "practised": {
        "joint_gap": (0.571, 0.203, 0.296, 0.543, 0.944),
        "closed_share": (0.616, 0.159, 0.328, 0.621, 0.880),
        "step": (0.238, 0.099, 0.105, 0.222, 0.424),
        "out_of_square": (0.386, 0.193, 0.125, 0.357, 0.747),
        "top_step": (0.192, 0.085, 0.070, 0.184, 0.346),
        "diagonal_difference": (0, 0.743, -1.22, 0, 1.22),
        "lean": (0.344, 0.156, 0.135, 0.321, 0.636),
        "length": (0.212, 0.425, -0.493, 0.216, 0.901),
        "width": (0.192, 0.259, -0.243, 0.199, 0.608),
    },
}
SQUARED = {"new_to_tools": (1.012, 0.305), "practised": (0.545, 0.159)}  # medians of joint gap and out of square
BOXES = 400_000  # sampling error well under the 0.5 % of the figures themselves


def expected(workshop, **settings):
    told = [f"{key}={value}" for key, value in settings.items()]
    design = read_design("frost_watch", (*SIZES, *told))
    return check(design, read_workshop(workshop), boxes=BOXES, seed=7)


@pytest.fixture(scope="module", params=FIGURES)
def study(request):
    return request.param, expected(request.param)


@pytest.mark.parametrize("outcome", FIGURES["practised"])
def test_figures_of_independent_computations(study, outcome):
    workshop, result = study
    told = result.outcomes[outcome]
    found = (told.mean, told.sd, *(told.quantiles[q] for q in (0.05, 0.5, 0.95)))
    figures = FIGURES[workshop][outcome]
    for name, value, figure in zip(("mean", "sd", 0.05, 0.5, 0.95), found, figures, strict=True):
        share = 0.03 if outcome == "closed_share" or name == 0.05 else 0.015
        # A signed outcome's mean and median may lie near zero: there its spread is the measure, and half a last digit
        # of the printed figure is allowed to all.
        size = max(abs(figure), told.sd) if outcome in ("diagonal_difference", "length", "width") else abs(figure)
        digit = 0.005 if outcome == "diagonal_difference" and name not in ("mean", "sd") else 0.0005
        assert value == pytest.approx(figure, abs=share * size + digit), (workshop, outcome, name)


@pytest.mark.parametrize("workshop", SQUARED)
def test_figures_squared_up(workshop):
    told = expected(workshop, glue_up="squared").outcomes
    found = [told[name].quantiles[0.5] for name in ("joint_gap", "out_of_square")]
    assert found == pytest.approx(SQUARED[workshop], rel=0.015)


# One error at a time, glued as it falls: total gap volume in mm³, and where the largest gap lies in mm.
BEHAVIOURS = {
    "one plain wall 0.5 short": ({("mark.offset", BACK): -0.5}, 43.9, (0.0, 0.07)),
    "one shoulder 0.5 overcut": ({("lap_mark.offset", 0): 0.5}, 25.6, (0.0, 0.04)),
    "one plain end leaning 1°": ({("square.upright", 0): 1.0}, 176.7, (0.385, 0.395)),
    "one plain end 1° off on plan, left on inside": ({("square.plan", 0): -1.0}, 46.9, (0.17, 0.19)),
}


@pytest.mark.parametrize("case", BEHAVIOURS)
def test_worked_behaviours(case):
    errors, volume, (least, most) = BEHAVIOURS[case]
    before = np.repeat(gaps_with(errors).reshape(32, 1), PATTERNS, axis=1)
    settled = contact_programme(TABLE_BOX).settle(before, np.arange(PATTERNS))
    volumes = point_areas(TABLE_BOX) @ settled.gaps
    assert volumes == pytest.approx([volume] * PATTERNS, abs=0.05 + 0.002 * volume)  # printed to one digit
    largest = settled.gaps.max(axis=0)
    assert (largest >= least).all()
    assert (largest <= most).all()


def test_a_short_plain_wall_racks_the_frame():
    settled = contact_programme(TABLE_BOX).settle(
        gaps_with({("mark.offset", BACK): -0.5}).reshape(32, 1), np.zeros(1, int)
    )
    turns = dict(zip(free_columns().tolist(), settled.moves[:, 0], strict=True))
    assert abs(turns[4 * BACK + TURN]) + abs(turns[4 + TURN]) > 1e-3


def test_two_walls_leave_wedges_where_one_end_leans():
    """A 45 mm end leaning 1° parts by 45 tan 1° = 0.79 mm; the frame shares it between two cheeks, 0.39 each."""
    settled = contact_programme(TABLE_BOX).settle(
        gaps_with({("square.upright", 0): 1.0}).reshape(32, 1), np.zeros(1, int)
    )
    per_face = settled.gaps.reshape(8, 4).max(axis=1)
    assert sorted(per_face)[-2:] == pytest.approx([0.393, 0.393], abs=0.002)
    assert sorted(per_face)[-3] < 0.02


def test_no_errors_no_gaps():
    settled = contact_programme(TABLE_BOX).settle(np.zeros((32, PATTERNS)), np.arange(PATTERNS))
    assert not settled.gaps.any()
    assert np.abs(settled.moves).max() == 0


def test_the_sampled_box_is_the_one_the_quantile_names():
    design = read_design("frost_watch", SIZES)
    box = sampled_box(design, read_workshop("new_to_tools"), seed=3, quantile=0.95)
    again = sampled_box(design, read_workshop("new_to_tools"), seed=3, quantile=0.95)
    assert box.outcomes == again.outcomes
    assert box.outcomes["joint_gap"] == pytest.approx(1.846, rel=0.05)
    assert box.gaps.max() == pytest.approx(box.outcomes["joint_gap"], abs=1e-12)
