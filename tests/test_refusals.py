"""Every refusal of the command line, whole: one message on the error stream, nothing on standard output, no traceback.

Those of `lapwright section` are in `test_section_refusals.py`, those of pictures in `test_picture_refusals.py`.
"""

import errno
import os
from pathlib import Path

import pytest
from commands import FEW
from typer.main import get_command

from assembly.model.outcomes import OUTCOMES
from assembly.writers.formats import FORMATS
from assembly.writers.outlines import OUTLINES
from viewer.cli import app

EVERY_FORMAT = ", ".join((*FORMATS, *OUTLINES))
REFUSALS = {
    "scale": (
        ("export", "frost_watch", "--scale", "1:200"),
        "--scale: got '1:200', must be 1:N with N from 1 (true size) to 100, such as 1:2",
    ),
    "no scale": (
        ("export", "frost_watch", "--scale", "0.5"),
        "--scale: got '0.5', must be 1:N with N from 1 (true size) to 100, such as 1:2; write 1:2",
    ),
    "new file without a name": (
        ("new", ""),
        "FILE: got '', must be the name of a file to write, such as my_box.toml",
    ),
    "format": (
        ("export", "frost_watch", "--as", "stp"),
        f"--as: got 'stp', must be a list of {EVERY_FORMAT}, such as step,stl; did you mean 'step'?",
    ),
    "explode": (
        ("picture", "frost_watch", "--explode", "2"),
        "--explode: got 2, must be 0 (closed) to 1 (taken apart); give 0.5 for halfway",
    ),
    "check's seed": (("check", "frost_watch", "--seed", "-1"), "seed: got -1, must be 0 or more"),
    "picture's seed": (("picture", "frost_watch", "--seed", "-1"), "seed: got -1, must be 0 or more"),
    "demo's boxes": (("demo", "--boxes", "0"), "boxes: got 0, must be 1 or more"),
    "view's design": (
        ("view", "frost_wach"),
        (
            "frost_wach: 1 to fix\n  file: does not exist; did you mean 'frost_watch'? give the path of a file, or a "
            "shipped one: frost_watch, label_box, seed_box, starter"
        ),
    ),
    "outcome": (
        ("causes", "frost_watch", "--of", "joint_gp"),
        "--of: unknown name 'joint_gp'; did you mean 'joint_gap'?",
    ),
    "far outcome": (
        ("causes", "frost_watch", "--of", "zzz"),
        f"--of: unknown name 'zzz'; must be one of {', '.join(OUTCOMES)}",
    ),
    "joint": (
        ("worst", "frost_watch", "--joint", "right-bak"),
        "--joint: unknown name 'right-bak'; did you mean 'right-back'?",
    ),
    "limit that is none": (
        ("worst", "frost_watch", "--of", "closed_shar"),
        "--of: unknown name 'closed_shar'; did you mean 'closed_share'?",
    ),
    "limit that is not set": (
        ("worst", "label_box", "--of", "lean"),
        (
            "--of: the design sets no limit for lean; it has limits for joint_gap, closed_share, step, out_of_square, "
            "length, width; set one with --set limits.lean.max=NUMBER"
        ),
    ),
    "limit and joint": (
        ("worst", "frost_watch", "--of", "step", "--joint", "left-back"),
        "--of: can't be given together with --joint, which asks for the limit of its gap; leave out one of them",
    ),
    "effort without a proof": (
        ("worst", "frost_watch", "--effort", "2"),
        "--effort: goes into the proof of the limit case, which was not asked for; add --limit-case",
    ),
    "joint, the other way round": (
        ("worst", "frost_watch", "--joint", "back-rigth"),
        "--joint: unknown name 'back-rigth'; did you mean 'right-back'?",
    ),
    "far joint": (
        ("worst", "frost_watch", "--joint", "E"),
        (
            "--joint: unknown name 'E'; must be one of right-back (A), right-front (B), left-back (C), left-front (D); "
            "name or letter will do"
        ),
    ),
    "effort": (
        ("worst", "frost_watch", "--effort", "-0.5"),
        "--effort: got -0.5, must be 0 (nothing is proved) to 1000 times the usual work",
    ),
    "both": (
        ("check", "frost_watch", "--digits", "2", "--boxes", "10"),
        "--digits: can't be given together with --boxes; digits decide how many boxes are made",
    ),
    "points": (
        ("check", "frost_watch", "--points", "sobl"),
        "--points: unknown name 'sobl'; did you mean 'sobol'?",
    ),
    "points' digits": (
        ("check", "frost_watch", "--points", "sobol", "--digits", "2"),
        "--points: sobol can't be given together with --digits; say how many boxes with --boxes",
    ),
    "points' boxes": (
        ("check", "frost_watch", "--points", "sobol", "--boxes", "3000000"),
        "boxes: got 3000000, must be 1 to 2097152 for 16 scrambles of Sobol' points",
    ),
    "no boxes": (
        ("check", "frost_watch", "--points", "sobol", "--boxes", "0"),
        "boxes: got 0, must be 1 to 2097152 for 16 scrambles of Sobol' points",
    ),
    "scrambles": (
        ("check", "frost_watch", "--points", "sobol", "--scrambles", "1"),
        "scrambles: got 1, must be 2 to 1000, as the error is taken over them",
    ),
    "scrambles' points": (
        ("check", "frost_watch", "--scrambles", "8"),
        "--scrambles: only Sobol' points are scrambled; add --points sobol",
    ),
    "a share of all": (
        ("advise", "frost_watch", "--reach", "1"),
        (
            "--reach: got 1, must be a share of boxes over 0 and under 1, such as 0.8 for 8 boxes in 10; that every "
            "box of every class comes out good can't be promised"
        ),
    ),
    "a share of none": (
        ("advise", "frost_watch", "--reach", "0"),
        "--reach: got 0, must be a share of boxes over 0 and under 1, such as 0.8 for 8 boxes in 10",
    ),
    "a share over all": (
        ("advise", "frost_watch", "--reach", "1.5"),
        "--reach: got 1.5, must be a share of boxes over 0 and under 1, such as 0.8 for 8 boxes in 10",
    ),
    "a design that requires all": (
        ("advise", "frost_watch", "--set", "required_share=1"),
        (
            "required_share: the design wants every box of every class to come out good, which can't be promised; ask "
            "for a share under 1 by --reach, such as --reach 0.95"
        ),
    ),
    "a share in percent": (
        ("advise", "frost_watch", "--reach", "80"),
        (
            "--reach: got 80, must be a share of boxes over 0 and under 1, such as 0.8 for 8 boxes in 10; 80 % is 0.8: "
            "write 0.8"
        ),
    ),
    "a share in words": (
        ("advise", "frost_watch", "--reach", "most"),
        "--reach: got most, must be a share of boxes over 0 and under 1, such as 0.8 for 8 boxes in 10",
    ),
    "changes at once": (
        ("advise", "frost_watch", "--at-most", "7"),
        "--at-most: got 7, must be 1 to 6 changes taken together",
    ),
    "advise's boxes": (
        ("advise", "frost_watch", "--boxes", "10"),
        "boxes: got 10, must be 1000 or more to tell sets of changes apart",
    ),
    "advise's seed": (("advise", "frost_watch", "--seed", "-1"), "seed: got -1, must be 0 or more"),
    "no such costs": (
        ("advise", "frost_watch", "--costs", "mine.toml"),
        "mine.toml: 1 to fix\n  file: does not exist; check the name and the folder",
    ),
    "a design that no rule allows": (
        ("advise", "frost_watch", "--set", "timber.lapped=8"),
        (
            "frost_watch: 1 to fix\n  line 49: lid.screw.head: got 7 mm, which leaves 0.5 mm to the lid's edge; at "
            "least 1 mm is needed (shop rule 4, project choice); take a smaller screw, more lid.overhang or a thicker "
            "timber.lapped"
        ),
    ),
    "a design that check refuses": (
        ("advise", "frost_watch", "--set", "workshop.saw.plan.spread=20"),
        (
            "workshop 'New to tools': 99% of the boxes have a face more than 5° out or more than a third of its "
            "thickness off, and at most 10% may; such boxes are outside what these predictions hold for: make the "
            "spreads smaller, or the timber thicker"
        ),
    ),
    "check's boxes": (("check", "frost_watch", "--boxes", "0"), "boxes: got 0, must be 1 or more"),
    "class of none": (
        ("check", "frost_watch", "--set", "makers=0"),
        ("frost_watch: 1 to fix\n  --set makers: got 0, must be 1 to 1000000 "
        "(how many makers a class has, a box each)"),
    ),
    "limit of an unknown outcome": (
        ("check", "frost_watch", "--set", "limits.joint_gp.max=1"),
        "frost_watch: 1 to fix\n  --set limits.joint_gp.max: unknown key; did you mean 'joint_gap'?",
    ),
    "digits": (("check", "frost_watch", "--digits", "9"), "digits: got 9, must be 1 to 4"),
    "digits' seed": (("check", "frost_watch", "--digits", "2", "--seed", "-1"), "seed: got -1, must be 0 or more"),
    "rule": (
        ("check", "frost_watch", "--rule", "0"),
        "--rule: got 0, must be what the rule is read to, 0.1 to 10 mm, such as 1 or 0.5",
    ),
    "rule in words": (
        ("check", "frost_watch", "--rule", "abc"),
        "--rule: got 'abc', must be what the rule is read to, 0.1 to 10 mm, such as 1 or 0.5",
    ),
    "rule with a comma": (
        ("check", "frost_watch", "--rule", "0,5"),
        "--rule: got '0,5', must be what the rule is read to, 0.1 to 10 mm, such as 1 or 0.5; write it with a point",
    ),
    "rule that is none": (
        ("check", "frost_watch", "--rule", "nan"),
        "--rule: got nan, must be what the rule is read to, 0.1 to 10 mm, such as 1 or 0.5",
    ),
    "nothing to compare with": (
        ("compare", "frost_watch", "--workshop", "practised"),
        (
            "B: missing, and frost_watch would be compared with itself; give a second design, or change the first by "
            "--then, such as --then timber.plain=9, or give --workshop twice"
        ),
    ),
    "boxes": (
        ("compare", "frost_watch", "seed_box", "--boxes", "10"),
        "boxes: got 10, must be 2000 or more to compare medians",
    ),
    "causes' seed": (("causes", "frost_watch", "--seed", "-1"), "seed: got -1, must be 0 or more"),
    "compare's seed": (("compare", "frost_watch", "seed_box", "--seed", "-1"), "seed: got -1, must be 0 or more"),
    "worst's seed": (("worst", "frost_watch", "--seed", "-1"), "seed: got -1, must be 0 or more"),
    "causes' boxes": (("causes", "frost_watch", "--boxes", "1"), "boxes: got 1, must be 2 or more"),
    "workshops": (
        ("compare", "frost_watch", "seed_box", "--workshop", "a", "--workshop", "b", "--workshop", "c"),
        "--workshop: given 3 times, must be given once (for both) or twice (first, then second)",
    ),
    "operation": (
        ("causes", "frost_watch", "--set", "workshop.sav.offset.spread=1"),
        "new_to_tools: 1 to fix\n  --set workshop.sav.offset.spread: unknown key; did you mean 'saw'?",
    ),
    "what is set": (
        ("check", "frost_watch", "--set", "timber.plain=-9"),
        "frost_watch: 1 to fix\n  --set timber.plain: got -9, must be 3 to 60 mm (thickness of the plain walls)",
    ),
    "what is then": (
        ("compare", "frost_watch", "--then", "timber.plain=-9"),
        ("the second: frost_watch: 1 to fix\n"
        "  --then timber.plain: got -9, must be 3 to 60 mm (thickness of the plain walls)"),
    ),
    "what an aid in use keeps from counting": (
        (
            "check",
            "frost_watch",
            "--set",
            "workshop.aids.stop_block.used=true",
            "--set",
            "workshop.saw.offset.spread=1",
        ),
        (
            "new_to_tools: 1 to fix\n  --set workshop.saw.offset.spread: changes nothing, as the aid stop_block is "
            'used and gives this number; set workshop.aids.stop_block.replaces."saw.offset".spread, or '
            "workshop.aids.stop_block.used=false"
        ),
    ),
    "makers": (
        ("check", "frost_watch", "--set", "makers=1000001"),
        ("frost_watch: 1 to fix\n  --set makers: got 1000001, must be 1 to 1000000 "
        "(how many makers a class has, a box each)"),
    ),
    "spreads": (
        ("causes", "frost_watch", "--set", "workshop.saw.plan.spread=15", "--set", "workshop.sand.plan.spread=15"),
        (
            "workshop 'New to tools': 100% of the boxes have a face more than 5° out or more than a third of its "
            "thickness off, and at most 10% may; such boxes are outside what these predictions hold for: make the "
            "spreads smaller, or the timber thicker"
        ),
    ),
}  # fmt: skip


@pytest.mark.parametrize(("words", "message"), REFUSALS.values(), ids=REFUSALS)
def test_bad_input_is_refused_whole(run, words, message):
    assert run(*words) == (2, "", f"lapwright: {message}\n")


@pytest.mark.parametrize(
    "words",
    [
        ("check", "frost_watch", *FEW),
        ("check", "frost_watch", "--points", "sobol", "--boxes", "4096"),
        ("check", "frost_watch", "--digits", "1"),
        ("compare", "frost_watch", "frost_watch", *FEW),
        ("worst", "frost_watch", "--joint", "left-back"),
    ],
    ids=" ".join,
)
def test_spreads_outside_first_order_are_refused_however_boxes_are_made(run, words):
    wild = [word for row in ("saw.plan", "sand.plan") for word in ("--set", f"workshop.{row}.spread=15")]
    which = "the first, 'Frost watch': " if words[0] == "compare" else ""
    assert run(*words, *wild) == (2, "", f"lapwright: {which}{REFUSALS['spreads'][1]}\n")


def test_a_file_in_place_of_the_plots_folder_is_told_before_the_study(run):
    Path("taken").write_text("")
    for command in ("check", "causes"):
        assert run(command, "frost_watch", "--plots", "taken") == (
            3, "", "lapwright: taken: is a file, and a folder is needed to write into; give another with --plots\n",
        )  # fmt: skip


def test_a_disk_that_is_full_half_way_leaves_none_of_the_plots(run, monkeypatch, tmp_path):
    """The third file meets it: the two before it, and one that stood there, are as if nothing had been written."""
    real, tries = Path.write_bytes, iter(range(9))

    def write_bytes(self, content):
        if next(tries) == 2:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        return real(self, content)

    old = tmp_path / "frost_watch_gap_by_joint.svg"
    old.write_text("old")
    monkeypatch.setattr(Path, "write_bytes", write_bytes)
    study = run("check", "frost_watch", *FEW)[1]
    code, out, err = run("check", "frost_watch", *FEW, "--plots", str(tmp_path))
    assert (code, out) == (3, study)  # what was worked out is not lost
    assert err == (
        f"lapwright: {tmp_path}: can't write here: No space left on device; choose another folder with --plots, or "
        "free space and check its rights\n"
    )
    assert [(file, file.read_text()) for file in tmp_path.iterdir()] == [(old, "old")]


COMMANDS = (
    "check, causes, advise, worst, compare, demo, picture, view, page, export, sheets, section, order, readings, "
    "learn, outcome, new"
)
USAGE = {
    "option that takes a folder": (
        ("causes", "frost_watch", "--to", "x"),
        "--to: causes has no such option; did you mean --plots?",
    ),
    "option spelt alike": (
        ("check", "frost_watch", "--box", "9"),
        "--box: check has no such option; did you mean --boxes?",
    ),
    "option like none": (
        ("worst", "frost_watch", "--zip", "x"),
        (
            "--zip: worst has no such option; it has --set, --joint, --of, --limit-case, --effort, --details, --seed, "
            "--workshop, --json"
        ),
    ),
    "option before a command": (
        ("--boxes", "9", "check"),
        f"--boxes: comes before a command; give a command first: {COMMANDS}",
    ),
    "command spelt alike": (("chek", "frost_watch"), "chek: no such command; did you mean check?"),
    "command like none": (("zzz",), f"zzz: no such command; commands are {COMMANDS}"),
    "no command": (("--",), f"a command is missing; commands are {COMMANDS}"),
    "no design": (
        ("check",),
        "DESIGN: missing; give a design file, or one that ships: frost_watch, label_box, seed_box, starter",
    ),
    "no file": (("new",), "FILE: missing; give the design file to write; it must not exist yet"),
    "no value": (("check", "frost_watch", "--boxes"), "--boxes: needs a value after it"),
    "a value too many": (
        ("check", "frost_watch", "--json=yes"),
        "--json: takes no value; leave out the = and what follows it",
    ),
    "a word too many": (
        ("check", "frost_watch", "seed_box"),
        "seed_box: check takes no more words; an option begins with --",
    ),
    "whole number": (("check", "frost_watch", "--boxes", "many"), "--boxes: got 'many', must be a whole number"),
    "whole number with a comma": (
        ("check", "frost_watch", "--boxes", "100,000"),
        "--boxes: got '100,000', must be a whole number; write 100000",
    ),
    "whole number with an exponent": (
        ("check", "frost_watch", "--boxes", "1e5"),
        "--boxes: got '1e5', must be a whole number; write 100000",
    ),
    "half a number": (("causes", "frost_watch", "--seed", "1.5"), "--seed: got '1.5', must be a whole number"),
    "number": (("worst", "frost_watch", "--effort", "soon"), "--effort: got 'soon', must be a number"),
    "number with a comma": (
        ("worst", "frost_watch", "--effort", "2,5"),
        "--effort: got '2,5', must be a number; write 2.5",
    ),
}  # fmt: skip


def test_every_command_has_its_refusals():
    """Those of `section`, `order`, `picture`, `page`, `sheets` and of what is learned stand in files of their own."""
    apart = {"section", "order", "picture", "page", "sheets", "readings", "learn", "outcome"}
    rows = {words[0] for words, _ in REFUSALS.values()} | apart
    missing = get_command(app).commands.keys() - rows
    assert not missing, f"write what each of {missing} refuses, whole, as rows of REFUSALS"


@pytest.mark.parametrize(("words", "message"), USAGE.values(), ids=USAGE)
def test_words_that_no_command_takes_are_refused_in_our_words(run, words, message):
    assert run(*words) == (2, "", f"lapwright: {message}\n")


def test_every_number_that_a_command_takes_is_refused_in_our_words(run):
    """Whatever number an option takes, a word in its place is refused without a word of the library that reads it."""
    for command in get_command(app).commands.values():
        words = {"compare": ("a", "b")}.get(command.name, ("a",) if any(p.required for p in command.params) else ())
        for option in command.params:
            if option.type_descriptor.annotation in {int, int | None, float}:
                code, out, err = run(command.name, *words, option.opts[-1], "x")
                assert (code, out) == (2, "")
                assert err in {f"lapwright: {option.opts[-1]}: got 'x', must be {a} number\n" for a in ("a", "a whole")}
