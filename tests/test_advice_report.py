"""What advice says: the first screen, the list, what is typed and written, and its JSON."""

import json
import shlex
import tomllib
from dataclasses import replace

from assembly.advice.advice import Advice
from assembly.advice.candidates import Supplies, candidates
from assembly.advice.in_the_way import InTheWay
from assembly.advice.rows import Row
from assembly.changes.of_making import aid_used, left_to_sand, lid_marked_through, squared_glue_up
from assembly.files.costs import read_costs
from assembly.files.reading import read_design, read_workshop
from assembly.model.design import Limit
from assembly.model.workshop import Disturbance
from assembly.section.variants import section_change
from assembly.study.improvements import tried
from assembly.study.intervals import Interval, around, exact, wilson
from viewer.reports.advice_report import advice_text, cost_words, to_do, why_words
from viewer.reports.keeping import Kept, KeptFile
from viewer.reports.output.advice import advice_output

DESIGN, WORKSHOP, COSTS = read_design("frost_watch"), read_workshop("new_to_tools"), read_costs()
COMMAND = "lapwright check frost_watch"
KEPT = Kept(
    design=KeptFile(path="my_frost_watch.toml", copy_of="/there/frost_watch.toml", lines={("made_by",): 8}),
    workshop=KeptFile(path="my_workshop.toml", copy_of="/there/new_to_tools.toml", lines={}),
    design_typed="frost_watch",
    made_by="my_workshop.toml",
)


def row(share, *changes, money=0.0, minutes=0.0, ties=(), boxes=20_000):
    found = wilson(share * boxes, boxes)
    return Row(
        changes=changes,
        share=found,
        gained=around(share - 0.63, 0.004, Interval.PAIRED_SHARE),
        money=money,
        minutes=minutes,
        reaches=share >= 0.8,
        close=found.low < 0.8 < found.high,
        worst="closed_share",
        worst_kept=wilson(0.91 * boxes, boxes),
        ties=ties,
    )


GUIDE, STOP = aid_used(WORKSHOP, "saw_guide"), aid_used(WORKSHOP, "depth_stop")
ROWS = (
    row(0.7, lid_marked_through(), minutes=1.0, ties=(1,)),
    row(0.703, left_to_sand(WORKSHOP, "saw.offset", 1.2), minutes=4.0, ties=(0,)),
    row(0.83, GUIDE, STOP, money=0.7, minutes=7.0),
)


def advice(**how):
    usual = {
        "makers": 26, "boxes": 20_000, "seed": 1, "reach": 0.8, "now": row(0.63), "rows": ROWS, "best": 2,
        "in_the_way": (), "tried": 851, "partial": False,
    }  # fmt: skip
    return Advice(**usual | how)


def screen(found):
    return advice_text(DESIGN, WORKSHOP, COSTS, found, command=COMMAND, kept=KEPT)


def test_the_first_screen_says_what_to_do_what_it_costs_and_what_to_type():
    lines = screen(advice()).split("What is worth its price")[0].splitlines()
    assert len(lines) < 30
    assert lines == [
        "Frost watch, made by: New to tools. As things are, about 16 of 26 boxes come out good, 63 %. 80 %",
        "are wanted.",
        "",
        "Do these two things, and about 22 of 26 boxes come out good, 83 %:",
        "1. Use a block clamped to the line that keeps the saw square.",
        "   It steadies sawing a wall to length and sawing a shoulder.",
        "2. Use a stop that keeps saw and chisel from going below the cheek.",
        "   It steadies setting and running the marking gauge for the lap's depth and chiselling a cheek to",
        "   the gauge line.",
        "They cost a maker 0.70 in money and 7 minutes. The limit that then fails most: joint closed by glue.",
        "91 % of boxes keep it.",
        "",
        "To try it, type:",
        f"{COMMAND} --set workshop.aids.saw_guide.used=true --set workshop.aids.depth_stop.used=true",
        "",
        "To keep it:",
        "1. Copy these files, which ship with the program:",
        "   /there/frost_watch.toml as my_frost_watch.toml",
        "   /there/new_to_tools.toml as my_workshop.toml",
        "2. In my_workshop.toml, under [aids.saw_guide], write: used = true",
        "   In my_workshop.toml, under [aids.depth_stop], write: used = true",
        '3. In my_frost_watch.toml, change the line of made_by (line 8) to: made_by = "my_workshop.toml"',
        "4. To see that it is kept, type this; its second line names the workshop file and the aids in use:",
        "   lapwright check my_frost_watch.toml",
        "",
    ]


def test_the_list_has_every_row_with_its_interval_its_cost_and_its_ties():
    listed = screen(advice()).split("What is worth its price")[1]
    cells = [[cell.strip() for cell in line.split("|")] for line in listed.splitlines() if "|" in line]
    numbered = {line[0]: line[2:] for line in cells if line[0]}
    assert numbered == {
        "1": ["18.2", "18.0 to 18.4", "0.00", "1"],
        "2": ["18.3", "18.1 to 18.4", "0.00", "4"],
        "3 *": ["21.6", "21.4 to 21.7", "0.70", "7"],
    }
    words = " ".join(line[1] for line in cells)
    assert "through the plaque itself (as good as 2)" in words
    assert "* what is proposed above" in listed


def test_every_change_of_the_list_has_what_is_typed_and_what_is_written():
    pasted = screen(advice()).split("What each of them is")[1]
    for change in (lid_marked_through(), left_to_sand(WORKSHOP, "saw.offset", 1.2), GUIDE, STOP):
        assert pasted.count(" ".join(change.lines)) == 1
    written = [line.split("write: ")[1] for line in pasted.splitlines() if "[operations], write: " in line]
    assert [tomllib.loads(line)["saw"]["offset"]["bias"] for line in written] == [1.2]


def test_what_is_enough_what_is_close_and_what_does_not_reach():
    enough = screen(advice(now=row(0.83), best=None))
    assert "That is enough, and nothing needs to be changed. More can be had:" in enough
    assert "too close to call" in screen(advice(rows=(row(0.801, GUIDE),), best=0))
    short = screen(advice(rows=ROWS[:2], best=1))
    assert "No set of up to one changes" not in short
    assert (
        "Nothing that was tried reaches 80 %. Of what is worth its price this comes nearest.\n"
        "Do this one thing, and about 18 of 26"
    ) in short
    assert "Nothing that was tried helps" in screen(advice(rows=(), best=None))


def test_a_limit_in_the_way_is_named_with_what_it_would_have_to_be():
    way = InTheWay(
        name="cable_hole",
        limit=Limit(max=0.1),
        changes=(),
        kept=wilson(240, 10_000),
        needed=Limit(max=0.8051),
        by=0.7051,
    )
    folded = " ".join(screen(advice(rows=(), best=None, in_the_way=(way,))).split())
    assert (
        "In the way: cable hole off centre, at most 0.1 mm. 2 % of boxes keep it, and nothing tried helps it. "
        "80 % would keep at most 0.81 mm, 0.71 mm wider. The limit is yours to set."
    ) in folded
    low = replace(way, name="closed_share", limit=Limit(min=0.5), changes=(STOP,), needed=Limit(min=0.237), by=0.263)
    folded = " ".join(screen(advice(rows=(), best=None, in_the_way=(low,))).split())
    assert (
        "joint closed by glue, at least 50 %. 2 % of boxes keep it, with what helps it most (use a stop that" in folded
    )
    assert "80 % would keep at least 23 %, 27 % wider." in folded


def test_changes_are_worded_as_something_to_do():
    assert to_do(GUIDE) == "use a block clamped to the line that keeps the saw square"
    assert to_do(section_change(DESIGN, lapped=12, plain=9)) == "take lapped walls of 12 mm and plain walls of 9 mm"
    assert to_do(section_change(DESIGN, lap_share=0.6)) == "take a lap share of 0.6"
    assert to_do(squared_glue_up()) == "make the diagonals equal while the glue is wet"


def test_a_cost_is_worded_with_the_school_s_own_currency():
    crowns = COSTS.model_copy(update={"currency": "crowns"})
    assert cost_words(row(0.7, money=1.5), crowns) == "1.50 crowns"
    assert cost_words(row(0.7, money=1.5, minutes=1), COSTS) == "1.50 in money and 1 minute"
    assert cost_words(row(0.7), COSTS) == "nothing"


def test_json_has_every_row_whole():
    data = json.loads(advice_output(DESIGN, WORKSHOP, COSTS, advice(), exact(0.0)).model_dump_json())
    assert (data["best"], data["reached"], data["tried"]) == (3, True, 851)
    best = data["rows"][2]
    assert best["change"]["settings"] == ["workshop.aids.saw_guide.used=true", "workshop.aids.depth_stop.used=true"]
    assert [each["line"] for each in best["change"]["rows"]] == ["used = true", "used = true"]
    assert best["boxes"]["value"] == 26 * best["pass_share"]["value"]
    assert data["rows"][0]["ties"] == [2]


def test_the_command_line_prints_what_it_says_to_type(run):
    """What is pasted is a command: it has the words that were typed, the design's place and the settings among them."""
    code, out, err = run(
        "advise", "starter", "--set", "name=Our box", "--at-most", "1", "--boxes", "1000", "--reach", "0.7"
    )
    assert (code, err) == (0, "")
    typed = next(line for line in out.splitlines() if line.startswith("lapwright check "))
    words = shlex.split(typed)[1:]
    assert words[:4] == ["check", "starter", "--set", "name=Our box"]
    code, text, _ = run(*words, "--boxes", "20000")
    assert code in {0, 1}
    assert text.startswith("Our box: ")


def test_exit_code_and_json_of_a_share_that_is_not_reached(run):
    words = ("advise", "starter", "--at-most", "1", "--boxes", "1000", "--reach", "0.99", "--json")
    code, out, _ = run(*words)
    data = json.loads(out)
    assert (code, data["reached"], data["reach"]) == (1, False, 0.99)
    assert data["partial"] is False


NEVER = """
marked_from_part.possible = false
squared.possible = false
one_more_paring.possible = false
gauge_side.possible = false
marked_through.possible = false
lap_share.possible = false
left_to_sand.possible = false
lid_left_to_sand.possible = false
overlength.possible = false
section.possible = false
aid.possible = false
aids.stop_block.possible = false
aids.saw_guide.possible = false
aids.depth_stop.possible = false
"""


def test_costs_that_allow_nothing_are_refused(run, tmp_path):
    file = tmp_path / "never.toml"
    file.write_text(NEVER, encoding="utf-8")
    code, out, err = run("advise", "frost_watch", "--costs", str(file))
    assert (code, out) == (2, "")
    assert err == (
        "lapwright: nothing can be changed: all that could be is done already, or is not possible by the costs file; "
        "allow a row of it, or give the workshop an aid\n"
    )


def test_a_limit_that_no_change_can_keep_is_named_and_by_how_much(run):
    """The hole's distance is Rayleigh's of √0.2025 (see `test_advise.py`): 80 % are within 0.807, 2.4 % within 0.1.

    Of the 10,000 boxes that say so the quantile's standard error is 0.004: 0.81 or 0.82 when rounded up, 0.72 wider.
    """
    words = ("advise", "frost_watch", "--set", "limits.cable_hole.max=0.1", "--at-most", "1", "--boxes", "1000")
    code, out, err = run(*words)
    assert (code, err) == (1, "")
    assert (
        "In the way: cable hole off centre, at most 0.1 mm. 2 % of boxes keep it, and nothing tried helps it. 80 % "
        "would keep at most 0.82 mm, 0.72 mm wider. The limit is yours to set."
    ) in " ".join(out.split())


def test_why_an_aid_helps_is_told_from_its_own_numbers():
    """Of a saw guide that spreads its marks wider than the workshop's, nothing but the saw's is told."""
    rows = {"saw.plan": {"spread": 0.4}, "mark.offset": {"spread": 0.9}, "sand.offset": {"bias": 0.0}}
    replaces = {name: Disturbance(**row) for name, row in rows.items()}
    wider = WORKSHOP.aids["saw_guide"].model_copy(update={"replaces": replaces})
    own = WORKSHOP.model_copy(update={"aids": {"jig": wider}})
    assert why_words(aid_used(own, "jig"), own) == ["   It steadies sawing a wall to length."]
    assert why_words(lid_marked_through(), own) == []


def test_what_helps_and_what_is_advised_try_the_same_things_to_do():
    """But for what comes in many amounts, and for errors that should be smaller, as the help of `causes` says."""
    amounts, wishes = (
        {"left to sand", "overlength", "section", "lap share", "lapped", "plain"},
        {"half the spread", "no bias"},
    )
    advised = {
        (each.change.kind, each.change.what) for each in candidates(DESIGN, WORKSHOP, Supplies(costs=COSTS, stock=()))
    }
    causes = {(each.change.kind, each.change.what) for each in tried(DESIGN, WORKSHOP)}
    assert {each for each in advised if each[0] not in amounts} == {
        each for each in causes if each[0] not in amounts | wishes
    }
    assert ("marked through", "") in causes
