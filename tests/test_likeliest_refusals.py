"""What `picture` and `view` refuse of the box that they shall draw as made, whole, before anything is drawn."""

import re
import time
from pathlib import Path

import pytest

from assembly.files.shipped import shipped_designs
from assembly.model.outcomes import OUTCOMES
from assembly.nominal.frame import CORNERS
from viewer.commands import jobs
from viewer.commands.showing import ViewRequest, opened

KINDS = "must be p95 (a sampled box), likeliest (the likeliest bad box) or limit (every error at its limits)"
HAS = (
    "it has limits for joint_gap, closed_share, step, out_of_square, diagonal_difference, lean, length, width, "
    "screw_wood, plaque_spare"
)
NONE = "likeliest: no simulated box, and no search, breaks the limit of length; ask for another with --of"
OF = "which says of what limit the likeliest bad box is drawn; add --as-made likeliest, or leave out --of"
REFUSALS = {
    "no kind of box": (("--as-made", "p90"), f"--as-made: got 'p90', {KINDS}"),
    "a limit of the nominal box": (("--of", "step"), f"--of: got 'step', {OF}"),
    "a limit of the limit case": (("--as-made", "limit", "--of", "step"), f"--of: got 'step', {OF}"),
    "a misspelt joint": (
        ("--as-made", "likeliest", "--of", "left-bck"),
        "--of: unknown name 'left-bck'; did you mean 'left-back'?",
    ),
    "a misspelt outcome": (
        ("--as-made", "likeliest", "--of", "closed_shar"),
        "--of: unknown name 'closed_shar'; did you mean 'closed_share'?",
    ),
    "an unknown outcome": (
        ("--as-made", "likeliest", "--of", "zzz"),
        f"--of: unknown name 'zzz'; must be one of {', '.join((*CORNERS, *OUTCOMES))}",
    ),
    "an outcome without a limit": (
        ("--as-made", "likeliest", "--of", "top_step"),
        f"--of: the design sets no limit for top_step; {HAS}; set one with --set limits.top_step.max=NUMBER",
    ),
}


@pytest.mark.parametrize("command", ["picture", "view"])
@pytest.mark.parametrize(("words", "message"), REFUSALS.values(), ids=REFUSALS)
def test_a_box_that_can_t_be_drawn_as_made_is_refused_whole(run, command, words, message):
    assert run(command, "frost_watch", *words) == (2, "", f"lapwright: {message}\n")
    assert not list(Path().glob("**/*.png"))


def designed(text):
    Path("mine.toml").write_text(text, encoding="utf-8")
    return "mine.toml"


def shipped():
    return shipped_designs()["frost_watch"].read_text(encoding="utf-8")


@pytest.mark.parametrize("command", ["picture", "view"])
def test_a_design_without_limits_has_no_bad_box(run, command):
    design = designed(re.sub(r"(?ms)^\[limits\].*?(?=^\[|\Z)", "", shipped()))
    message = "the design sets no limits, so no box is bad; set one, such as --set limits.joint_gap.max=1.5"
    assert run(command, design, "--as-made", "likeliest") == (2, "", f"lapwright: likeliest: {message}\n")


@pytest.mark.parametrize("command", ["picture", "view"])
def test_a_joint_without_a_limit_of_its_gap_has_no_bad_box(run, command):
    design = designed(re.sub(r"(?m)^joint_gap.max = .*\n", "", shipped()))
    has = HAS.replace("joint_gap, ", "")
    message = f"the design sets no limit for joint_gap; {has}; set one with --set limits.joint_gap.max=NUMBER"
    for of in ("right-back", "joint_gap"):
        assert run(command, design, "--as-made", "likeliest", "--of", of) == (2, "", f"lapwright: --of: {message}\n")


def test_a_limit_that_no_box_breaks_has_no_bad_box_in_a_picture(run):
    words = ("--as-made", "likeliest", "--of", "length", "--set", "limits.length.within=20")
    assert run("picture", "frost_watch", *words) == (2, "", f"lapwright: {NONE}\n")
    assert not list(Path().glob("**/*.png"))


@pytest.mark.usefixtures("off_screen")
def test_nor_in_the_window_which_stays_and_says_so():
    job = jobs.read("frost_watch", ["limits.length.within=20"])
    scenes, window = opened(job, ViewRequest(as_made="likeliest", of="length"), off_screen=True)
    try:
        assert window.working.startswith('working: looking for the likeliest bad box of "error of length", ')
        for _ in range(600):
            window.tick()
            if not window.working:
                break
            time.sleep(0.1)
        assert (window.state.drawn, window.state.note) == ("nominal", NONE)
    finally:
        scenes.end()
        window.plotter.close()


@pytest.mark.usefixtures("off_screen")
def test_a_window_opens_on_the_box_that_is_asked_for():
    job = jobs.read("frost_watch")
    scenes, window = opened(job, ViewRequest(as_made="p95"), off_screen=True)
    assert (window.state.drawn, window.working, window.scene.caption.drawn) == (
        "p95", "", "The walls are drawn as they were made, at true size.",
    )  # fmt: skip
    scenes.end()
    window.plotter.close()
