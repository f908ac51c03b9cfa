"""What `lapwright picture` refuses, whole, with nothing written; and every step of the making drawn by one command."""

from pathlib import Path

import pytest
from PIL import Image

from assembly.errors import LibraryError
from assembly.planning.making import making_order
from viewer.commands import jobs
from viewer.commands.showing import size_of, steps_of, steps_shown
from viewer.picture import write

SIZES = "must be width x height, each 480 to 4096 pixels, such as 1600x1200"
TIMES = "must be 1 (true size) to 20, or to where the faces of the box cross before; start with --times 2"
APART = "shows the timber before it is a box, and can't go with"
REFUSALS = {
    "as made": (
        ("--as-made", "p90"),
        (
            "--as-made: got 'p90', must be p95 (a sampled box), likeliest (the likeliest bad box) or limit (every "
            "error at its limits)"
        ),
    ),
    "likeliest of what is none": (
        ("--as-made", "likeliest", "--of", "right-bak"),
        "--of: unknown name 'right-bak'; did you mean 'right-back'?",
    ),
    "likeliest of no limit": (
        ("--as-made", "likeliest", "--of", "top_step"),
        (
            "--of: the design sets no limit for top_step; it has limits for joint_gap, closed_share, step, "
            "out_of_square, diagonal_difference, lean, length, width, screw_wood, plaque_spare; set one with --set "
            "limits.top_step.max=NUMBER"
        ),
    ),
    "of the sampled box": (
        ("--as-made", "p95", "--of", "step"),
        (
            "--of: got 'step', which says of what limit the likeliest bad box is drawn; add --as-made likeliest, or "
            "leave out --of"
        ),
    ),
    "times of the likeliest": (("--as-made", "likeliest", "--times", "50"), f"--times: got 50, {TIMES}"),
    "step beyond": (
        ("--step", "99"),
        "--step: got 99, must be 1 to {steps}, the steps of making this box, or all to draw each; list names them",
    ),
    "step none": (
        ("--step", "0"),
        "--step: got 0, must be 1 to {steps}, the steps of making this box, or all to draw each; list names them",
    ),
    "step in words": (
        ("--step", "two"),
        "--step: got 'two', must be 1 to {steps}, the steps of making this box, or all to draw each; list names them",
    ),
    "step half": (
        ("--step", "2.5"),
        "--step: got 2.5, must be 1 to {steps}, the steps of making this box, or all to draw each; list names them",
    ),
    "step closed": (("--step", "2", "--explode", "0"), f"--step: {APART} --explode; leave it out"),
    "step as made": (("--step", "2", "--as-made", "p95"), f"--step: {APART} --as-made; leave it out"),
    "step with all": (
        ("--step", "all", "--as-made", "p95", "--times", "3"),
        f"--step: {APART} --as-made and --times; leave them out",
    ),
    "all turning": (
        ("--step", "all", "--spin", "a.gif"),
        "--spin: turns one picture, and --step all draws many; give --step a number, or leave out --spin",
    ),
    "explode": (("--explode", "-1"), "--explode: got -1, must be 0 (closed) to 1 (taken apart); give 0.5 for halfway"),
    "explode in words": (
        ("--explode", "half"),
        "--explode: got 'half', must be 0 (closed) to 1 (taken apart); give 0.5 for halfway",
    ),
    "explode that is none": (
        ("--explode", "nan"),
        "--explode: got nan, must be 0 (closed) to 1 (taken apart); give 0.5 for halfway",
    ),
    "times alone": (
        ("--times", "50"),
        (
            "--times: got 50 without --as-made, and only a box as made has errors to show; add --as-made p95, for "
            "which --times may be 1 (true size) to 6.2 with this box"
        ),
    ),
    "times too large": (
        ("--as-made", "p95", "--times", "50"),
        "--times: got 50, must be 1 (true size) to 6.2 for this box; beyond that its faces cross",
    ),
    "times of this box": (
        ("--as-made", "p95", "--times", "10"),
        "--times: got 10, must be 1 (true size) to 6.2 for this box; beyond that its faces cross",
    ),
    "times in words": (("--as-made", "p95", "--times", "two"), f"--times: got 'two', {TIMES}"),
    "times of the limit case": (("--as-made", "limit", "--times", "50"), f"--times: got 50, {TIMES}"),
    "size in words": (("--size", "big"), f"--size: got 'big', {SIZES}"),
    "size too small": (("--size", "10x10"), f"--size: got '10x10', {SIZES}"),
    "size too large": (("--size", "100000x100"), f"--size: got '100000x100', {SIZES}"),
    "size beyond all": (("--size", "9" * 5000 + "x600"), f"--size: got '{'9' * 5000}x600', {SIZES}"),
    "ground": (("--ground", "pink"), "--ground: got 'pink', must be white or transparent"),
    "spin": (("--spin", "out.png"), "--spin: got 'out.png', must end in .gif"),
    "spin on nothing": (
        ("--spin", "a.gif", "--ground", "transparent"),
        "--ground: a turning picture has a white ground; leave out --ground or --spin",
    ),
}


@pytest.mark.parametrize(("words", "message"), REFUSALS.values(), ids=REFUSALS)
def test_what_can_t_be_drawn_is_refused_whole_and_nothing_is_written(run, words, message):
    job = jobs.read("frost_watch")
    steps = len(making_order(job.design, job.workshop).steps)
    expected = message.replace("{steps}", str(steps))
    assert run("picture", "frost_watch", *words, "--to", "none") == (2, "", f"lapwright: {expected}\n")
    assert not [file for file in Path("none").rglob("*") if file.is_file()]


def test_a_folder_where_none_can_be_is_named_with_its_cure(run):
    assert run("picture", "frost_watch", "--to", "/proc/x") == (
        3,
        "",
        "lapwright: /proc/x: can't be made, as /proc takes no folders; give one that you may write to with --to\n",
    )


def test_a_size_is_two_numbers():
    assert size_of("1600x1200") == size_of("1600×1200") == size_of(" 1600X1200") == (1600, 1200)


def test_every_step_is_drawn_into_a_file_of_its_own(run, monkeypatch):
    """Three of the steps, to be quick; the file of each is the one that its own command draws."""
    job = jobs.read("seed_box")
    assert steps_of(job, "all") == list(range(1, len(making_order(job.design, job.workshop).steps) + 1))
    names = [f"drawn/seed_box_step_{number:02d}.png" for number in (1, 5, 11)]
    wrote = "".join(f"wrote {name}\n" for name in names)
    with monkeypatch.context() as patch:
        patch.setattr("viewer.commands.showing.steps_of", lambda *_: [1, 5, 11])
        assert run("picture", "seed_box", "--step", "all", "--size", "800x600", "--to", "drawn") == (0, wrote, "")
    pictures = [Image.open(name).copy() for name in names]
    assert [one.size for one in pictures] == [(800, 600)] * 3
    assert len({one.tobytes() for one in pictures}) == 3
    assert run("picture", "seed_box", "--step", "5", "--size", "800x600", "--to", "one")[0] == 0
    assert Image.open("one/seed_box_step_05.png").tobytes() == pictures[1].tobytes()


def test_of_many_pictures_none_is_left_where_one_can_t_be_drawn(tmp_path):
    """The second fails, after the first is drawn: neither file appears, and what was there before stays."""
    scenes = steps_shown(jobs.read("frost_watch"), [1, 2])
    files = [tmp_path / "1.png", tmp_path / "2.png"]
    files[0].write_bytes(b"old")
    progress = []
    with pytest.raises(LibraryError):
        write.write_pictures(
            list(zip([scenes[0], None], files, strict=True)),
            (640, 480),
            progress=lambda *counts: progress.append(counts),
        )
    assert progress == [(1, 2)]
    assert files[0].read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [files[0]]


def test_a_child_begun_in_a_window_of_no_use_gives_way_to_the_next(tmp_path, monkeypatch):
    """The first window's child dies by a signal, begun before its scene as it was; the second draws."""
    useful = write.possible_windows()[0]
    start = write._started  # noqa: SLF001 - what would start in the window of no use is killed
    started = []

    def dies(window):
        child = start(useful)
        started.append(window)
        if window == "useless":
            child.kill()
        return child

    monkeypatch.setattr(write, "possible_windows", lambda: ("useless", useful))
    monkeypatch.setattr(write, "_started", dies)
    scene = steps_shown(jobs.read("frost_watch"), [1])[0]
    with write.begun() as child:
        write.write_picture(scene, tmp_path / "1.png", (640, 480), child=child)
    assert started == ["useless", useful]
    assert [file.name for file in tmp_path.iterdir()] == ["1.png"]


def test_a_child_that_is_begun_and_not_used_is_ended():
    with write.begun() as child:
        assert child.poll() is None
    assert child.returncode is not None
