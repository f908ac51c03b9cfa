"""What `lapwright order` refuses, each message whole, and cures that work."""

from pathlib import Path

import pytest

from assembly.order.class_pieces import SpareRule
from viewer.commands.ordering import spare_rule

QUICK = ("--spares", "0")
NO_SUCH = "--spares: got {!r}, must be auto, 0 or a percentage from 0% to 200%, such as 5%"


REFUSALS = {
    "no makers": (("--makers", "0"), "--makers: got 0, must be 1 to 1000"),
    "too many makers": (("--makers", "1001"), "--makers: got 1001, must be 1 to 1000"),
    "too many makers in the design": (
        ("--set", "makers=5000"),
        "makers: got 5000, must be 1 to 1000 for one order; give --makers",
    ),
    "spares in words": (("--spares", "some"), NO_SUCH.format("some")),
    "spares without a sign": (("--spares", "10"), f"{NO_SUCH.format('10')}; write 10%"),
    "spares as a share": (("--spares", "0.1"), f"{NO_SUCH.format('0.1')}; write 10%"),
    "spares below none": (("--spares", "-5%"), NO_SUCH.format("-5%")),
    "spares beyond all": (("--spares", "300%"), NO_SUCH.format("300%")),
    "chance in words": (("--chance", "low"), "--chance: got 'low', must be a percentage from 0.5% to 50%, such as 5%"),
    "chance of none": (("--chance", "0%"), "--chance: got '0%', must be a percentage from 0.5% to 50%, such as 5%"),
    "chance that few classes tell": (
        ("--chance", "0.4%"),
        "--chance: got '0.4%', must be a percentage from 0.5% to 50%, such as 5%",
    ),
    "chance beyond a half": (
        ("--chance", "51 %"),
        "--chance: got '51 %', must be a percentage from 0.5% to 50%, such as 5%",
    ),
    "chance as a share": (
        ("--chance", "0.05"),
        "--chance: got '0.05', must be a percentage from 0.5% to 50%, such as 5%; write 5%",
    ),
    "chance beside a percentage": (
        ("--spares", "10%", "--chance", "5%"),
        "--chance: only --spares auto goes by a chance; leave out one of the two",
    ),
    "seed": (("--seed", "-1"), "seed: got -1, must be 0 or more"),
    "paper": (("--paper", "A5"), "--paper: got 'A5', must be one of A4, A3, Letter"),
    "no such stock": (
        ("--stock", "none.toml"),
        "none.toml: 1 to fix\n  file: does not exist; check the name and the folder",
    ),
    "letters that pages do not have": (
        ("--set", "name=箱"),
        (
            "箱: the letters of the sheets (DejaVu Sans) have no '箱' (U+7BB1); they have Latin, Greek and Cyrillic; "
            "write it so in the design"
        ),
    ),
    "lengths that are too short": (
        ("--stock", "short.toml"),
        (
            "stock: no length on sale takes the lapped wall (end), whose blank is 110 mm long: the longest, 300 mm, "
            "leaves 100 mm once 100 mm is trimmed off each end; put one of at least 310 mm into timber.lengths of a "
            "file of your own and give it by --stock\n"
            "stock: no length on sale takes the plain wall (side), whose blank is 165 mm long: the longest, 300 mm, "
            "leaves 100 mm once 100 mm is trimmed off each end; put one of at least 365 mm into timber.lengths of a "
            "file of your own and give it by --stock"
        ),
    ),
    "sheets that are too small": (
        ("--stock", "small.toml"),
        (
            "stock: no sheet of birch plywood on sale takes the base, whose blank is 184 x 114 mm: the largest, 150 x "
            "200 mm, leaves 130 x 180 mm once 10 mm is trimmed off each edge, and pieces may not be turned; put one of "
            "at least 204 x 134 mm into sheets.plywood.sizes of a file of your own and give it by --stock\n"
            "stock: no sheet of birch plywood on sale takes the lid, whose blank is 180 x 110 mm: the largest, 150 x "
            "200 mm, leaves 130 x 180 mm once 10 mm is trimmed off each edge, and pieces may not be turned; put one of "
            "at least 200 x 130 mm into sheets.plywood.sizes of a file of your own and give it by --stock"
        ),
    ),
    "a stock file with faults": (
        ("--stock", "faulty.toml"),
        (
            "faulty.toml: 2 to fix\n"
            "  line 1: timbr: unknown key; did you mean 'timber'?\n"
            "  line 4: sheet.kerf: got -1, must be 0 to 10 mm (width of the cut of saw or laser)"
        ),
    ),
}  # fmt: skip


@pytest.mark.parametrize(("words", "message"), REFUSALS.values(), ids=REFUSALS)
def test_what_can_not_be_ordered_is_refused_with_nothing_written(run, words, message):
    Path("short.toml").write_text("[timber]\nlengths = [300]\nend_trim = 100")
    Path("small.toml").write_text("[sheets.plywood]\nsizes = [[150, 200]]")
    Path("faulty.toml").write_text("[timbr]\nkerf = 2\n[sheet]\nkerf = -1")
    assert run("order", "frost_watch", *words) == (2, "", f"lapwright: {message}\n")
    assert not list(Path().rglob("*order*"))


def test_the_cures_of_stock_that_is_too_small_work(run):
    Path("short.toml").write_text("[timber]\nlengths = [310, 365]\nend_trim = 100")
    Path("small.toml").write_text("[sheets.plywood]\nsizes = [[204, 134]]")
    for name in ("short.toml", "small.toml"):
        assert run("order", "frost_watch", "--makers", "2", "--stock", name, *QUICK)[0] == 0


def test_blanks_around_a_rule_of_spares_do_not_count():
    assert spare_rule("  auto", "\t5 % ") == spare_rule("auto ", None) == SpareRule(chance=0.05)
    assert spare_rule(" 0", None) == spare_rule(" 0 % ", None) == SpareRule(share=0.0)
    assert spare_rule("auto", "0.5%") == SpareRule(chance=0.005), "the least that is allowed"
