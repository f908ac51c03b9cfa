"""The plots: what they show is what was found, in words that stay words, kept apart without colour, and whole files."""

import re
from dataclasses import replace
from itertools import pairwise
from xml.etree import ElementTree as ET

import numpy as np
import pytest
from PIL import Image

from assembly.changes.of_making import half_the_spread
from assembly.errors import ExportError
from assembly.files.reading import maker, read_design
from assembly.model.design import Limit
from assembly.study.check import check
from assembly.study.forecast import ClassCounts
from assembly.study.improvements import Gain, Helps
from assembly.study.intervals import Interval, around, exact, wilson
from assembly.study.sensitivity import Cause, Causes
from viewer.reports import plots
from viewer.scene.tints import PAPER

DESIGN = read_design("frost_watch")
WORKSHOP = maker(DESIGN, "frost_watch")


@pytest.fixture(scope="module")
def study():
    return check(DESIGN, WORKSHOP, boxes=5000)


def classes(counts, makers=26):
    counts = np.asarray(counts)
    return ClassCounts(
        makers=makers, counts=counts, boxes=counts.size * makers, passed=int(counts.sum()), partial=False
    )


def causes(shares):
    ranked = tuple(Cause(name=name, share=around(share, 0.02, Interval.DELTA)) for name, share in shares.items())
    return Causes(boxes=9, seed=1, by="operation", sd={"lean": exact(1.0)}, causes={"lean": ranked}, partial=False)


def helps(values, half=0.1):
    gains = tuple(
        Gain(change=half_the_spread(WORKSHOP, "saw"), same=False, boxes=around(v, half, Interval.PAIRED_SHARE),
             pass_share=around(0.3, 0.1, Interval.WILSON))
        for v in values
    )  # fmt: skip
    return Helps(makers=26, boxes=9, seed=1, pass_share=wilson(3, 9), gains=gains, partial=False)


def bars(figure):
    """Return (left or bottom, length) of every bar of a figure, in the order drawn."""
    return [(patch.get_x(), patch.get_width(), patch.get_height()) for patch in figure.axes[0].patches]


def words(figure):
    """Return everything that a figure says."""
    axes = figure.axes[0]
    texts = [*figure.texts, *axes.texts, *axes.get_yticklabels(), axes.xaxis.label, axes.yaxis.label]
    return " | ".join(text.get_text().replace("\n", " ") for text in texts)


def limit_drawn(figure):
    """Return the abscissas of the one broken line."""
    (line,) = [each for each in figure.axes[0].lines if each.get_linestyle() != "-"]
    return list(line.get_xdata())


def drawings(study):
    return {
        "gap_by_joint": plots.gap_by_joint(DESIGN, study),
        "class_forecast": plots.class_forecast(DESIGN, classes([3, 7, 7, 8, 12] * 20)),
        "causes": plots.cause_bars(DESIGN, causes({"saw": 0.6, "settling": 0.2}), "lean"),
        "helps": plots.help_bars(DESIGN, helps([2.0, 0.05, -1.0])),
    }


def test_gaps_are_drawn_from_5_to_95_in_100_with_the_limit(study):
    figure = plots.gap_by_joint(DESIGN, study)
    rows = [*study.corners.values(), study.outcomes["joint_gap"]]
    for (left, width, _), found in zip(bars(figure), rows, strict=True):
        assert left == pytest.approx(found.quantiles[0.05].value)
        assert left + width == pytest.approx(found.quantiles[0.95].value)
    assert "limit 1.5 mm" in words(figure)
    assert words(figure).count("miss it") == 5
    assert limit_drawn(figure) == [1.5, 1.5]
    assert figure.axes[0].get_xlim()[1] > max(found.quantiles[0.99].value for found in rows)


@pytest.mark.parametrize(("limit", "drawn"), [(Limit(within=0.75), 0.75), (Limit(max=1.5, within=1.25), 1.25)])
def test_a_gap_limit_is_drawn_however_it_is_given(study, limit, drawn):
    outcomes = {**study.outcomes, "joint_gap": replace(study.outcomes["joint_gap"], limit=limit)}
    figure = plots.gap_by_joint(DESIGN, replace(study, outcomes=outcomes))
    assert f"limit {drawn} mm" in words(figure)
    assert words(figure).count("miss it") == 5
    assert limit_drawn(figure) == [drawn, drawn]


def test_the_forecast_s_bars_add_to_all_classes_and_mark_nine_in_ten():
    """100 classes: 2 have 1, 3 have 2 and 5 % is passed at 2; 90 have 7; 95 % is passed at 7; 5 have 12."""
    figure = plots.class_forecast(DESIGN, classes([1] * 2 + [2] * 3 + [7] * 90 + [12] * 5))
    heights = {round(x + width / 2): height for x, width, height in bars(figure)}
    assert sum(heights.values()) == pytest.approx(100)
    assert (heights[1], heights[2], heights[7], heights[12]) == pytest.approx((2, 3, 90, 5))
    plain = {round(patch.get_x() + patch.get_width() / 2) for patch in figure.axes[0].patches if not patch.get_hatch()}
    assert plain == {2, 3, 4, 5, 6, 7}
    assert "nine classes in ten: 2 to 7" in words(figure)
    assert "required: 80 %" in words(figure)


def test_a_million_makers_are_counted_in_groups_and_with_the_digits_that_hold():
    counts = np.linspace(235_000, 305_000, 1000).astype(int)
    figure = plots.class_forecast(DESIGN, classes(counts, makers=1_000_000))
    assert len(bars(figure)) <= plots.MOST_BARS + 1
    assert sum(height for *_, height in bars(figure)) == pytest.approx(100)
    assert "nine classes in ten: 238,000 to 301,000" in words(figure)


def test_a_class_of_one_is_drawn():
    assert sum(height for *_, height in bars(plots.class_forecast(DESIGN, classes([0, 1, 1, 0], 1)))) == 100


def test_causes_are_drawn_in_order_chance_hatched():
    figure = plots.cause_bars(DESIGN, causes({"saw": 0.6, "settling": 0.2, "drill": 0.0}), "lean")
    assert [width for _, width, _ in bars(figure)] == pytest.approx([60, 20])
    assert [bool(patch.get_hatch()) for patch in figure.axes[0].patches] == [False, True]
    assert "sawing a wall to length | chance in settling" in words(figure)
    assert "60 %" in words(figure)
    assert "it does not vary" in words(plots.cause_bars(DESIGN, causes({}), "lean"))


def test_what_helps_and_what_hurts_are_told_apart_by_hatch_and_word():
    figure = plots.help_bars(DESIGN, helps([2.0, 0.06, -1.0]))
    assert [width for _, width, _ in bars(figure)] == pytest.approx([2.0, 0.06, -1.0])
    assert len({patch.get_hatch() for patch in figure.axes[0].patches}) == 3
    assert all(word in words(figure) for word in ("+2.0 helps", "no difference", "-1.0 makes it worse"))
    assert "nothing that was tried" in words(plots.help_bars(DESIGN, helps([])))


def test_a_long_list_keeps_its_best_and_its_worst_and_says_what_it_leaves_out():
    figure = plots.help_bars(DESIGN, helps([10.0 - at for at in range(21)]))
    shown = [width for _, width, _ in bars(figure)]
    assert (len(shown), shown[0], shown[-1]) == (plots.MOST_ROWS, 10.0, -10.0)
    assert "5 changes between these are left out" in words(figure)


def luminance(tint):
    """Return the relative luminance of WCAG 2.2, of sRGB shares."""
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in tint[:3]]
    return float(np.dot([0.2126, 0.7152, 0.0722], linear))


def test_every_bar_has_an_ink_edge_that_stands_out_in_grey(study):
    """WCAG 2.2, 1.4.11: 3:1 against what lies beside it, here the paper and the bar's own face."""
    for figure in drawings(study).values():
        for patch in figure.axes[0].patches:
            edge, face = luminance(patch.get_edgecolor()), luminance(patch.get_facecolor())
            for ground in (face, luminance(PAPER)):
                assert (ground + 0.05) / (edge + 0.05) >= 3


def test_no_word_leaves_the_page_or_lies_on_another(study):
    """Every text lies within the figure; labels of rows do not overlap."""
    for name, figure in drawings(study).items():
        figure.draw_without_rendering()
        page, axes = figure.bbox, figure.axes[0]
        shown = [*figure.texts, *axes.texts, *axes.get_yticklabels(), axes.xaxis.label]
        boxes = [text.get_window_extent() for text in shown if text.get_text()]
        assert all(page.x0 <= b.x0 and b.x1 <= page.x1 and page.y0 <= b.y0 and b.y1 <= page.y1 for b in boxes), name
        rows = sorted((t.get_window_extent() for t in axes.get_yticklabels()), key=lambda b: b.y0)
        assert all(low.y1 <= high.y0 for low, high in pairwise(rows)), name


def test_files_are_svg_with_words_and_png_and_come_out_the_same_twice(study, tmp_path):
    found = [plots.write_plots(drawings(study), tmp_path / folder, "box") for folder in ("one", "two")]
    names = [
        f"box_{name}.{kind}"
        for name in ("gap_by_joint", "class_forecast", "causes", "helps")
        for kind in ("svg", "png")
    ]
    assert found[0] == [(tmp_path / "one" / name).as_posix() for name in names]
    for name in names:
        assert (tmp_path / "one" / name).read_bytes() == (tmp_path / "two" / name).read_bytes()
    said = "".join(ET.parse(tmp_path / "one" / "box_gap_by_joint.svg").getroot().itertext())
    assert all(
        word in re.sub(r"\s+", " ", said) for word in ("Frost watch: gap by joint", "right-back (A)", "limit 1.5 mm")
    )
    with Image.open(tmp_path / "one" / "box_helps.png") as image:
        assert image.width == 9 * plots.DOTS_PER_INCH


def test_a_plot_that_does_not_read_back_is_not_kept(study, tmp_path, monkeypatch):
    monkeypatch.setattr(plots, "_drawn", lambda _figure, _kind: b"<svg")
    with pytest.raises(ExportError) as refusal:
        plots.write_plots({"a": plots.gap_by_joint(DESIGN, study)}, tmp_path, "box")
    assert str(refusal.value) == (
        "box_a.svg: written, but it reads back as no plot (unclosed token: line 1, column 0); nothing was kept; "
        "export again to another folder with --plots"
    )
    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_can_not_be_written_is_told_with_the_option_that_named_it(study, tmp_path):
    (tmp_path / "taken").write_text("")
    with pytest.raises(ExportError) as refusal:
        plots.write_plots({"a": plots.gap_by_joint(DESIGN, study)}, tmp_path / "taken" / "box", "box")
    assert str(refusal.value) == (
        f"{tmp_path}/taken/box: can't write here: Not a directory; choose another folder with --plots, "
        "or free space and check its rights"
    )
