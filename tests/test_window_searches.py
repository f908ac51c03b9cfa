"""Boxes that the window looks for: what it shows meanwhile, and that it shows what was found."""

import re
from dataclasses import replace

import pytest
from windows import SCENE, shot, slide

from assembly.errors import SolidError
from viewer.commands.made_boxes import LIMIT_NODES, BoxAsMade, LimitCaseSought, box_as_made, widest_joint
from viewer.commands.window_scenes import Search, search
from viewer.window.controls import bar
from viewer.window.looking import seen_as_first
from viewer.window.state import State


def test_the_limit_case_is_worked_out_beside_the_window(window):
    """While it is looked for the window says so, shows what it showed, and does whatever else it is asked for."""
    source = window.source
    window.key("3")
    assert (window.working, window.scene.caption.lead) == ("working: looking", ("nominal 1",))
    room = window.room()
    banner = shot(window)[2:24, round(room[2]) - 60 : round(room[2]) - 4]
    assert (banner.sum(axis=2) < 250).mean() > 0.4  # letters on ink, in the corner
    window.key("c")
    window.key("plus")
    window.tick()
    assert (window.working, window.state.explode, window.scene.caption.lead) == (
        "working: looking",
        0.9,
        ("nominal 1",),
    )
    window.key("2")
    assert (window.working, window.scene.caption.lead) == ("", ("p95 2",))
    window.key("3")
    source.limit = 1.5
    window.tick()
    assert (window.working, window.scene.caption.lead, window.state.times) == ("", ("limit 1.5",), 1.5)


@pytest.mark.usefixtures("undrawn")
@pytest.mark.parametrize("keys", [["2", *["plus"] * 6, "3"], ["3", "plus", "plus"]])
def test_the_limit_case_stays_the_limit_case_at_the_largest_times_that_works(window, keys):
    """However the case is found: by a tick, or by what is pressed before the next tick."""
    source = window.source
    for press in (
        lambda: None,
        lambda: window.key("plus"),
        lambda: window.key("c"),
        lambda: slide(window, "apart", 0.3),
    ):
        source.limit = None
        window.show(seen_as_first(State(bounds=source.bounds()), SCENE))
        for key in keys:
            window.key(key)
        assert window.state.shown == ("p95" if keys[0] == "2" else "nominal")
        source.limit = 2.4
        press()
        window.tick()
        assert (window.working, window.state.drawn, window.state.times) == ("", "limit", 2.4)
        assert (window.scene.caption.lead, window.state.note, window.state.shown) == (("limit 2.4",), "", None)


@pytest.mark.usefixtures("undrawn")
def test_the_slider_s_end_is_known_as_soon_as_the_limit_case_is_found_whatever_is_shown(window):
    source = window.source
    for keys in (["3", "2"], ["3", "n"]):
        source.limit = None
        window.show(seen_as_first(State(bounds=source.bounds()), SCENE))
        for key in keys:
            window.key(key)
        source.limit = 2.4
        window.tick()
        assert window.state.bounds.limit == 2.4
        window.key("3")
        assert bar(window.state, window.size).slider("errors").most == pytest.approx(1.4 / 19)


def test_a_limit_case_is_never_asked_for_beyond_what_can_be_drawn(box_window, monkeypatch):
    """What was found is not shown before `bounds` has said how far it can be drawn."""
    from assembly.solids.as_made import most_times  # noqa: PLC0415 - the same
    from viewer.commands.window_scenes import Scenes  # noqa: PLC0415 - the same

    class Search:
        case = None

        def found(self):
            return self.case

        def status(self):
            return "working"

        def end(self):
            pass

    scenes, search = Scenes(box_window.source.job, seed=1), Search()
    monkeypatch.setattr("viewer.commands.window_scenes.Search", lambda *_: search)
    state = State(bounds=scenes.bounds(), drawn="limit", times=20.0)
    assert scenes.scene(state) == "working"
    search.case = BoxAsMade(settled=scenes.sampled)
    assert scenes.ready(state)
    assert scenes.scene(state) == "working"
    assert scenes.bounds().limit == most_times(scenes.sampled) < 20


def test_a_step_gives_way_to_the_box_while_the_limit_case_is_sought(window):
    window.key("n")
    window.key("3")
    assert (window.working, window.scene.caption.lead, window.state.shown) == (
        "working: looking",
        ("nominal 1",),
        "nominal",
    )
    assert window.scene.joints


def test_a_limit_case_that_can_t_be_had_is_told(window):
    source = window.source
    window.key("3")
    source.limit = 0.4
    window.tick()
    assert (window.working, window.state.drawn) == ("", "nominal")
    assert window.state.note == "The limit case can't be drawn as made: its faces cross even at true size."
    source.limit, source.fault = None, SolidError("It broke.")
    window.key("1")
    window.show(replace(window.state, bounds=source.bounds()))
    window.key("3")
    assert (window.working, window.state.drawn, window.state.note) == ("", "nominal", "It broke.")


def test_the_limit_case_found_is_that_of_the_worst_command(box_window, monkeypatch):
    """What the process of its own sends is what the search gives here; the result itself is made up."""
    made_up = box_window.source.sampled

    class Sender:
        sent = None

        def send(self, found):
            self.sent = found

    class Case:
        box, beyond_first_order = made_up, True

    class Worst:
        def __init__(self, design, workshop):
            assert (design, workshop) == (job.design, job.workshop)

        def cases(self, corners, *, seed, nodes):
            assert (corners, seed, nodes) == (["left-back"], 7, LIMIT_NODES)
            return [Case]

    job, sender = box_window.source.job, Sender()
    monkeypatch.setattr("assembly.limit_case.search.Worst", Worst)
    monkeypatch.setattr("viewer.commands.window_scenes.signal.signal", lambda *_: None)
    search(sender, job, LimitCaseSought(joint="left-back", words="the limit case"), 7)
    assert sender.sent == BoxAsMade(settled=made_up, limit_of="left-back", beyond=True)


def test_the_likeliest_bad_box_of_the_window_is_that_of_the_picture(box_window, monkeypatch):
    """What its process sends is shown with the words that the picture of the widest joint has."""
    from viewer.commands.window_scenes import Scenes  # noqa: PLC0415 - the same

    class Sender:
        sent = None

        def send(self, found):
            self.sent = found

    class Search:
        case, asked = None, []

        def __init__(self, *asked):
            self.asked.append(asked)

        def found(self):
            return self.case

        def status(self):
            return "working"

        def end(self):
            pass

    monkeypatch.setattr("viewer.commands.window_scenes.signal.signal", lambda *_: None)
    monkeypatch.setattr("viewer.commands.window_scenes.Search", Search)
    job, sender, scenes = box_window.source.job, Sender(), Scenes(box_window.source.job, seed=1)
    state = State(bounds=scenes.bounds(), drawn="likeliest")
    assert scenes.scene(state) == "working"
    search(sender, *Search.asked[0])
    Search.case = sender.sent
    assert scenes.scene(state) == "working"
    assert 1 <= scenes.bounds().likeliest <= 20
    scene = scenes.scene(state)
    assert scene.worst.corner == widest_joint(scenes.sampled)
    assert scene.worst.gap == pytest.approx(1.5, abs=0.005)
    drawn = box_as_made(job, "likeliest", seed=1)
    assert scene.caption.lead == (f"{drawn.bad} Base, lid and plaque stay as drawn.",)
    scenes.end()


def test_the_limit_search_runs_beside_and_ends_with_the_window(box_window):
    words = "the limit case of the left-back (C) joint"
    search = Search(box_window.source.job, LimitCaseSought(joint="left-back", words=words), 1)
    assert search.found() is None
    seconds = search.status().removeprefix(f"working: looking for {words}, ")
    assert re.fullmatch(r"[0-9]+ s", seconds)  # how many is the machine's matter
    process = search.process
    assert process.is_alive()
    process.kill()
    process.join()
    with pytest.raises(SolidError) as error:
        search.found()
    assert str(error.value) == f"The search for {words} ended without a word; run `lapwright worst`."
    search.end()
    assert not process.is_alive()
