"""What makers surely do otherwise than a workshop said: their words, and settings that keep what they say."""

from dataclasses import replace
from types import SimpleNamespace

import pytest

from assembly.data.tables import rows
from assembly.files.reading import read_design, read_workshop
from assembly.learning.habits import habits_of, with_settings
from assembly.learning.learned import Figure, Learned
from assembly.model.workshop import quantities
from assembly.study.check import check
from viewer.reports.learning_report import few_readings, figure_table, habit_sentence, habit_sentences, notes

DESIGN, WORKSHOP = read_design("frost_watch"), read_workshop("new_to_tools")


def mean(quantity, before, value, off, **more):
    given = {"number": "bias", "said": 0.9, "learned": True, "low": value - off, "high": value + off} | more
    return Figure(quantity=quantity, before=before, value=value, **given)


SAW, GAUGE = mean("saw.offset", 0.8, 1.21, 0.21), mean("gauge.offset", 0.0, -0.3, 0.05)


def test_habits_are_means_that_are_surely_others_the_largest_first():
    figures = [
        mean("mark.offset", 0.0, 0.4, 0.41),  # may still be 0
        mean("stock.thickness", 0.0, 0.09, 0.01),  # surely, and too little to be seen
        GAUGE,
        mean("saw.upright", 0.0, 0.2, 0.1),  # 45 mm × tan(0.2°) = 0.16 mm
        mean("saw.plan", 0.0, 0.1, 0.01),  # 0.08 mm
        SAW,
        mean("saw.offset", 0.3, 0.9, 0.1, number="spread"),
        mean("sand.offset", 0.0, 0.9, 0.1, learned=False),
    ]
    found = [each.figure.quantity for each in habits_of(DESIGN, figures)]
    assert found == ["saw.offset", "gauge.offset", "saw.upright"]
    many = [mean(name, 0.0, 1.0, 0.1) for name in quantities()]
    assert len(habits_of(DESIGN, many)) == 5


@pytest.mark.parametrize(
    ("figure", "said"),
    [
        (SAW, "Sawing a wall to length leaves 1.21 mm on, not 0.80 (between 1.00 and 1.42): more is left to sand."),
        (
            GAUGE,
            "Gauging a lap takes it 0.30 mm too deep, not 0.00 (between 0.25 and 0.35): laps are deeper than drawn.",
        ),
        (
            mean("saw.offset", 0.8, -0.1, 0.3),
            (
                "Sawing a wall to length goes 0.10 mm beyond the line, where the workshop said the other way, 0.80 "
                "(between -0.20 and 0.40): less is left to sand."
            ),
        ),
        (
            mean("bend.angle", 0.0, 2.0, 0.5),
            (
                "Bending the plaque goes 2.00° too far, not 0.00 (between 1.50 and 2.50): plaques are bent further "
                "than drawn."
            ),
        ),
    ],
)
def test_a_habit_is_one_plain_sentence(figure, said):
    (habit,) = habits_of(DESIGN, [figure])
    assert habit_sentence(habit) == said


def test_no_habit_is_said_so():
    assert habit_sentences(DESIGN, ()) == [
        "No habit shows: every mean may be as the workshop said, or is off by less than 0.1 mm."
    ]


def test_every_quantity_has_its_words():
    assert [row["quantity"] for row in rows("habits")] == list(quantities())
    for row in rows("habits"):
        assert all(row[column].count("{}") == 1 for column in ("plus", "minus"))
        assert row["above"] and row["below"] and bool(row["lower"]) == bool(row["raise"])  # noqa: PT018 - one row


def workshop_of(learned):
    (figure,) = learned.figures
    tool = getattr(WORKSHOP.operations, figure.quantity.partition(".")[0])
    row = tool.offset.model_copy(update={"bias": figure.value})
    operations = WORKSHOP.operations.model_copy(
        update={figure.quantity.partition(".")[0]: tool.model_copy(update={"offset": row})}
    )
    return WORKSHOP.model_copy(update={"operations": operations})


def test_no_habit_rests_on_a_reading_that_hardly_fits():
    assert [each.figure for each in habits_of(DESIGN, [SAW, GAUGE])] == [SAW, GAUGE]
    assert [each.figure for each in habits_of(DESIGN, [SAW, GAUGE], {"saw.offset"})] == [GAUGE]


def tried(figure):
    learned = Learned(
        workshop=WORKSHOP, readings=(), posterior=SimpleNamespace(), figures=(figure,), behind={}, hardly=(),
        untouched=(), steadiness=(), seed=1,
    )  # fmt: skip
    return learned, with_settings(DESIGN, learned, habits_of(DESIGN, [figure]), workshop_of, seed=3)


def test_a_setting_is_told_where_it_gains_boxes_and_keeps_its_promise():
    """Laps 0.62 mm too deep: gauges set 0.6 shallower, a check of other random numbers gains as much as is said."""
    figure = mean("gauge.offset", 0.0, -0.62, 0.05)
    learned, (habit,) = tried(figure)
    assert (habit.setting.words, habit.setting.by) == ("Set gauges {} shallower", 0.6)
    set_so = replace(learned, figures=(replace(figure, value=-0.62 + 0.6),))
    shares = [check(DESIGN, workshop_of(each), boxes=20_000, seed=8).pass_share.value for each in (learned, set_so)]
    assert shares[1] - shares[0] == pytest.approx(habit.setting.gained.value, abs=0.015)
    assert habit.setting.gained.low > 0
    said = habit_sentences(DESIGN, (habit,))[2]
    gained = DESIGN.makers * habit.setting.gained.value
    assert said.startswith(
        f"- Set gauges 0.6 mm shallower: simulated with that, {gained:.1f} more of 26 boxes are good ("
    )
    key = "workshop.gauge.offset.bias=-0.02"
    assert said.endswith(f"). To see it, check with the learned workshop and --set {key}.")
    with_key = check(DESIGN, read_workshop("new_to_tools", settings=[key]), boxes=20_000, seed=8)
    assert with_key.pass_share.value == pytest.approx(shares[1], abs=1e-12)


def test_a_setting_back_to_what_was_worse_is_not_told():
    _, (habit,) = tried(mean("gauge.offset", -0.6, 0.0, 0.05))
    assert habit.setting is None


@pytest.mark.parametrize(("readings", "makers", "few"), [(4, 1, True), (9, 3, True), (10, 2, True), (10, 3, False)])
@pytest.mark.parametrize(
    ("said", "rest"), [((0.9, 0.5, 0.49), ", and the rest is mostly what the workshop said before"), ((0.5, 0.8), "")]
)
def test_few_readings_are_said_to_be_few_and_how_much_they_say(readings, makers, few, said, rest):
    figures = [mean("saw.offset", 0.8, 0.9, 0.1, said=each) for each in said]
    figures.append(mean("saw.offset", 0.1, 0.1, 0.1, said=0.0, number="class_spread", learned=False))
    learned = SimpleNamespace(readings=[0] * readings, makers=makers, classes=1, figures=figures)
    words = f"{readings} readings of {'1 maker' if makers == 1 else f'{makers} makers'} in 1 class"
    told = (
        f"These are few readings: {words}. They say over half of what was not known of 2 of the {len(said)} figures "
        f"that they touch{rest}. Let 3 makers or more take 10 readings or more."
    )
    assert few_readings(learned) == ([told] if few else [])


def test_what_readings_said_most_of_stands_first_and_little_is_named_below():
    figures = (
        mean("saw.offset", 0.8, 0.9, 0.1, said=0.3),
        mean("gauge.offset", 0.0, 0.1, 0.1, said=0.5),
        mean("gauge.offset", 0.1, 0.1, 0.1, said=0.95, number="spread"),
        mean("laser.kerf", 0.0, -0.07, 0.73, said=0.21),
        mean("saw.offset", 0.3, 0.3, 0.1, said=0.1, number="spread"),
    )
    behind = {each.quantity: SimpleNamespace(readings=2, makers=1) for each in figures}
    learned = SimpleNamespace(
        figures=figures, behind=behind, classes=2, untouched=(), steadiness=(), settled=True, hardly=()
    )
    shown = [line.split()[0] for line in figure_table(learned).splitlines()[3:]]
    assert shown == ["gauge.offset", "gauge.offset", "saw.offset"]
    assert notes(learned)[1:3] == [
        "Hardly touched by these readings, so mostly as before: laser.kerf.",
        "Of 2 figures the readings said under a quarter: --details lists them.",
    ]
    assert len(figure_table(learned, details=True).splitlines()) == 8
