"""Words of the steps: one action each, short, its figures those of its sizes; words of the trade explained."""

import itertools
import re
from pathlib import Path

import pytest
from hypothesis import HealthCheck, Phase, given, settings

from assembly.data.tables import rows
from assembly.files.reading import read_design, read_workshop
from assembly.planning.cautions import first_cautions
from assembly.planning.making import making_order
from assembly.planning.steps import StepKind
from assembly.planning.trade_words import in_pieces, pieces, trade_words
from assembly.text import decimal
from tests.boxes import still_workshop
from tests.designs import EIGHT, designs, leaving_out

SHIPPED = ("frost_watch", "label_box", "seed_box")
OTHERWISE = {
    "by hand": ('plaque.cut="by hand"', 'lid_holes="marked through"', 'glue_up="squared"', "lid.overhang=2"),
    "small": ("box.length=95", "box.width=80", "plaque.width=40", "plaque.hole_spacing=26"),
    "held by friction": ("lid.centre_hole=6.3", "plaque.stem_hole=6.2"),
    "round heads": (
        "lid.overhang=2",
        "lid.screw.round_head={ height = 2.4, washer = 8, washer_hole = 3.7, washer_thickness = 0.5 }",
    ),
    "an end to the front": ('box.front="end"', "lid.screw.length=20"),
    "lapped sides": ('box.lapped="sides"', "lid.screw.length=20"),
    "offset": ("plaque.hole_offset=-3",),
}
quick = settings(
    max_examples=15, deadline=None, phases=[Phase.reuse, Phase.generate], suppress_health_check=list(HealthCheck)
)

MOST = 20  # words of a sentence
# What an action may begin with, and what a second one in the same sentence would begin with.
ACTIONS = {
    "brush", "bend", "carry", "chisel", "clamp", "compare", "countersink", "draw", "drill", "drive", "fix",
    "gauge", "hatch", "have", "lay", "lead", "leave", "let", "mark", "measure", "note", "pare", "peel", "press",
    "prick", "push", "put", "rub", "sand", "saw", "score", "set", "smooth", "snap", "spread", "square", "stand",
    "take", "try", "turn", "wind", "wipe", "write",
}  # fmt: skip
VERBS = ACTIONS | {
    "apply", "bring", "check", "choose", "cut", "fasten", "glue", "hold", "join", "keep", "lift", "make", "move",
    "pull", "reach", "read", "remove", "run", "seal", "slide", "stop", "tell", "tighten", "trim", "use", "wait",
    "wear",
}  # fmt: skip
SECOND = re.compile(rf"(?:\b(?:and|then|or|but)|[,;:])\s+(?:then\s+|not\s+)?(?:{'|'.join(sorted(VERBS))})\b(?! line)")
FIGURE = re.compile(r"(\d+(?:\.\d+)?) mm\b")


def workshops():
    """Return workshops that mark, gauge and pare in both ways."""
    return read_workshop("new_to_tools"), still_workshop(shoulder_from="drawing", gauge_from="outside")


def all_steps(*those):
    """Return every step of some designs, made in both workshops."""
    return [step for design in those for workshop in workshops() for step in making_order(design, workshop).steps]


def many():
    """Return the shipped designs, without what they may do without, and made otherwise."""
    shipped = [read_design(name) for name in SHIPPED]
    found = list(shipped)
    for stem, plaque, cable in EIGHT:
        found += [leaving_out(design, stem=stem, plaque=plaque, cable_hole=cable) for design in shipped]
    return found + [read_design("frost_watch", changes) for changes in OTHERWISE.values()]


@pytest.fixture(scope="module")
def steps():
    return all_steps(*many())


def words(sentence):
    """Return how many words a sentence has; what is quoted is the design's own, and counts as one."""
    return len(re.sub(r'"[^"]*"', "quoted", sentence).split())


def sentences(text):
    """Return how many sentences a text is, by its full stops; that of a decimal is none."""
    return len(re.findall(r"[.!?](?:\s|$)", re.sub(r'"[^"]*"', "quoted", text)))


def check_words(step):
    """Check that a step says one thing to do, in a sentence that a pupil takes in, and nothing to do beside it."""
    first, *_ = step.action.split()
    assert first[0].isupper()
    assert first.lower() in ACTIONS, step.action
    assert not SECOND.search(step.action), step.action
    assert len(step.notes) <= 2, step.notes
    for sentence in (step.action, *step.notes):
        assert words(sentence) <= MOST, (words(sentence), sentence)
        assert sentence.endswith(".")
        assert sentences(sentence) == 1, sentence
    for note in step.notes:
        assert note[0].isupper()
        assert note.split()[0].lower() not in VERBS, note
        assert not SECOND.search(note), note


def check_figures(step):
    """Check that every length in the words is a size of the step, and that the size it is about is in its words."""
    told = set(FIGURE.findall(re.sub(r"under \d+ mm long", "", step.words)))
    sizes = [{decimal(round(size.mm, digits)) for digits in (1, 2, 3)} for size in step.sizes]
    for figure in told:
        assert any(figure in size for size in sizes), (figure, step.words)
    if sizes:
        assert sizes[0] & told, (step.sizes[0], step.words)


def check_drawn(steps_of_one):
    """Check that every marking step draws, and that nothing is drawn twice."""
    drawn = set()
    for step in steps_of_one:
        fresh = {(line.part, frozenset((line.start, line.end))) for line in step.drawn}
        assert bool(fresh) == (step.kind is StepKind.MARK or step.operation in {"laser", "laser holes"}), step.action
        assert not fresh & drawn, step.action
        drawn |= fresh


def test_every_step_of_the_shipped_designs_is_one_short_action(steps):
    for step in steps:
        check_words(step)


def test_figures_in_words_are_the_sizes_of_the_step(steps):
    for step in steps:
        check_figures(step)


def test_every_line_is_drawn_in_one_step():
    for design in many():
        for workshop in workshops():
            check_drawn(making_order(design, workshop).steps)


@quick
@given(design=designs())
def test_every_step_of_any_design_is_one_short_action_with_its_own_figures_and_lines(design):
    for workshop in workshops():
        found = making_order(design, workshop).steps
        check_drawn(found)
        for step in found:
            check_words(step)
            check_figures(step)


def test_every_action_of_the_list_begins_a_step(steps):
    assert {step.action.split()[0].lower() for step in steps} == ACTIONS


@pytest.mark.parametrize(
    "action",
    [
        "Lay the lid on the frame and clamp it.",
        "Draw both diagonals, then prick the centre.",
        "Saw the base out; smooth its edges.",
        "Clamp the lid, drill both holes.",
    ],
)
def test_a_second_action_is_found(action):
    assert SECOND.search(action)


def test_a_making_has_not_so_many_steps_that_nobody_follows_it():
    """One for each action, so about a hundred at the most; of the shipped designs a tenth fewer or more."""
    for name in SHIPPED:
        design = read_design(name)
        assert 85 <= len(making_order(design, read_workshop(design.made_by)).steps) <= 105


# Words of the trade


def told(step):
    """Return all that is said in a step, what it needs included."""
    return (step.action, *step.notes, *step.needs, *(each for c in step.cautions for each in (c.words, c.short)))


def said(steps):
    """Return every text of some steps, and what is said before any; each once."""
    return list(dict.fromkeys([text for step in steps for text in told(step)] + [c.words for c in first_cautions()]))


def test_every_trade_word_is_used_and_explained_in_a_pupil_s_words(steps):
    used = {piece.word for text in said(steps) for piece in pieces(text) if piece.word}
    assert {word.word for word in trade_words()} == {word.word for word in used}
    for row in rows("trade_words"):
        assert row["source"]
        assert row["meaning"].endswith(".")
        assert len(row["meaning"].split()) <= 25, row
    forms = [form for word in trade_words() for form in word.forms]
    assert len(forms) == len(set(forms))
    assert len({word.word for word in trade_words()}) == len(trade_words())
    heard = {piece.text.lower() for text in said(steps) for piece in in_full(text)}
    assert {form for form in forms if form.lower() not in heard} == set()


def in_full(text):
    """Return every trade word of a text as it stands there, also where it comes again."""
    return [
        piece for each in re.split(r"(?<=[.:;,])\s|\s(?=and |or |on )", text) for piece in pieces(each) if piece.word
    ]


def test_every_word_is_plain_or_explained(steps):
    """A word that neither has is new: it goes into `plain_words.txt` or, if it is the trade's, into the table."""
    plain = set(Path(__file__).with_name("plain_words.txt").read_text(encoding="utf-8").split())
    left = set()
    for text in said(steps):
        quoted = re.sub(r'"[^"]*"', "", text)
        for piece in itertools.chain.from_iterable(pieces(each) for each in re.split(r"(?<=[.:])\s", quoted)):
            if piece.word is None:
                left |= {word.lower() for word in re.findall(r"[A-Za-z][A-Za-z'-]*", piece.text)}
    forms = {token for word in trade_words() for form in word.forms for token in form.lower().split()}
    assert left - plain - forms == set()
    assert plain - left == set()


def test_words_explained_for_pupils_are_those_of_the_project():
    """What DEVELOPERS.md says of a word, the table says too: its own nouns are there, in a pupil's sentence."""
    meanings = {word.word: word.meaning for word in trade_words()}
    for word, nouns in {
        "shoulder": ("face of a lap", "across the grain", "plain wall's inside face closes on it"),
        "cheek": ("face of a lap", "along the grain", "plain wall's end closes on it"),
        "tongue": ("lap leaves standing",),
        "face side": ("inside",),
        "face edge": ("bottom edge",),
        "proud": ("Standing out",),
        "flush": ("Level",),
        "waste": ("beyond a line", "comes off"),
        "datum line": ("lengths", "measured"),
        "pilot hole": ("thread bites",),
    }.items():
        for noun in nouns:
            assert noun.lower() in meanings[word].lower(), (word, noun)


def marked(text, already=()):
    return [(piece.text, piece.word.word) for piece in pieces(text, already) if piece.word]


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("Draw the gauge line with the gauge.", [("gauge line", "gauge line"), ("gauge", "marking gauge")]),
        ("Laps and lapped walls.", [("Laps", "lap"), ("lapped walls", "lapped wall")]),
        ("No overlap, no lapse, no lap's.", []),
        ("Pare it. Laps fit. PVC never.", [("Pare", "pare"), ("Laps", "lap"), ("PVC", "PVC")]),
        ("It is Proud of pvc.", []),
        ("Waste is waste, and the waste side too.", [("Waste", "waste")]),
        ("The gauge's stock.", [("gauge's", "marking gauge"), ("stock", "stock")]),
        ("", []),
    ],
)  # fmt: skip
def test_a_trade_word_is_found_whole_and_the_longest_first(text, found):
    assert marked(text) == found
    assert "".join(piece.text for piece in pieces(text)) == text


def test_a_trade_word_is_marked_once_in_a_step():
    first, second = in_pieces(("Saw each lap.", "A lap has a cheek; the cheek is flat."))
    assert [piece.word.word for piece in first if piece.word] == ["lap"]
    assert [piece.word.word for piece in second if piece.word] == ["cheek"]
    assert marked("A lap has a cheek.", {"lap"}) == [("cheek", "cheek")]


def test_pieces_of_every_step_make_up_its_sentences(steps):
    for step in steps[:200]:
        texts = told(step)
        found = in_pieces(texts)
        assert tuple("".join(piece.text for piece in some) for some in found) == texts
        once = [piece.word.word for some in found for piece in some if piece.word]
        assert len(once) == len(set(once))
