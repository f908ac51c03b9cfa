"""The whole chain against MODEL.md, 7, figures of two independent computations, and MODEL.md, 3, worked behaviours.

Two programs that share no code with this one gave the figures: mean, sd, 5 / 50 / 95 % of 100,000 boxes.
"""

from pathlib import Path

import numpy as np
import pytest
from boxes import TABLE_BOX, gaps_with

from assembly.files.reading import read_design, read_workshop
from assembly.model.outcomes import FRAME_OUTCOMES
from assembly.nominal.frame import BACK, PATTERNS, TURN, free_columns, point_areas
from assembly.study.check import check, contact_programme, sampled_box

SIZES = ("box.length=160", "box.width=90", "box.height=45", "box.lapped=ends", "timber.lapped=15", "timber.plain=10",
         "timber.lap_share=0.5", "glue_limit=0.2")  # fmt: skip
MODEL = (Path(__file__).parent.parent / "assembly" / "MODEL.md").read_text(encoding="utf-8")


def table(corner: str) -> dict[str, tuple[float, ...]]:
    """Return the table of MODEL.md whose first cell is `corner`: its rows by their first cells."""
    rows = MODEL.split(f"\n| {corner} |")[1].split("\n\n")[0].splitlines()[2:]
    cells = [[cell.strip() for cell in row.strip("|").split("|")] for row in rows]
    return {name: tuple(map(float, figures)) for name, *figures in cells}


FIGURES = {"new_to_tools": table("new to tools"), "practised": table("practised")}
SQUARED = table("squared, 50 %")  # medians of joint gap and out of square
BOXES = 200_000  # sampling error well under the 0.5 % of the figures themselves


def expected(workshop, **settings):
    options = [f"{key}={value}" for key, value in settings.items()]
    design = read_design("frost_watch", (*SIZES, *options))
    return check(design, read_workshop(workshop), boxes=BOXES, seed=7)


@pytest.fixture(scope="module", params=FIGURES)
def study(request):
    return request.param, expected(request.param)


@pytest.mark.parametrize("outcome", FIGURES["practised"])
def test_figures_of_independent_computations(study, outcome):
    workshop, result = study
    summary = result.outcomes[outcome]
    found = (summary.mean.value, summary.sd.value, *(summary.quantiles[q].value for q in (0.05, 0.5, 0.95)))
    figures = FIGURES[workshop][outcome]
    for name, value, figure in zip(("mean", "sd", 0.05, 0.5, 0.95), found, figures, strict=True):
        share = 0.03 if outcome == "closed_share" or name == 0.05 else 0.015
        # A signed outcome's mean and median may lie near zero: there its spread is the measure, and half a last digit
        # of the printed figure is allowed to all.
        size = (
            max(abs(figure), summary.sd.value) if outcome in ("diagonal_difference", "length", "width") else abs(figure)
        )
        digit = 0.005 if outcome == "diagonal_difference" and name not in ("mean", "sd") else 0.0005
        assert value == pytest.approx(figure, abs=share * size + digit), (workshop, outcome, name)


@pytest.mark.parametrize("workshop", FIGURES)
def test_figures_squared_up(workshop):
    outcomes = expected(workshop, glue_up="squared").outcomes
    found = [outcomes[name].quantiles[0.5].value for name in ("joint_gap", "out_of_square")]
    assert found == pytest.approx(SQUARED[workshop.replace("_", " ")], rel=0.015)


def test_the_tables_are_read_whole():
    assert [len(figures) for figures in FIGURES.values()] == [9, 9]
    assert all(set(figures) <= set(FRAME_OUTCOMES) for figures in FIGURES.values())
    assert set(SQUARED) == {"new to tools", "practised"}


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
