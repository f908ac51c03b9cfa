"""The command line: exit codes, streams, files, and what a command must be able to do without."""

import io
import json
import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest
import trimesh
from commands import FEW, HEAVY, ROOT, ended, in_json

from assembly.files.reading import maker, read_design
from assembly.files.shipped import shipped_designs, shipped_workshops
from assembly.model.outcomes import OUTCOMES
from assembly.study.check import check
from assembly.writers.formats import FORMATS
from viewer import cli
from viewer.__main__ import main

INTERRUPTS = """
import signal
from assembly.study import blocks as study
add = study.Tally.add
def interrupted(total, other):
    add(total, other)
    if total.boxes == 20_000:
        os.kill(os.getpid(), signal.SIGINT)
study.Tally.add = interrupted
"""

# What check answers


def test_check_tells_cut_sizes_expectations_and_a_verdict(run):
    code, out, err = run("check", "frost_watch", *FEW)
    assert code in {0, 1}
    assert err == ""  # no progress bar where nobody watches
    for words in (
        "What to cut",
        "lapped wall",
        "plaque, flat",
        "What to expect, from 2,000 simulated boxes",
        "widest joint gap",
        "About ",
    ):
        assert words in out
    assert all(ord(letter) < 256 for letter in out), "a console of an old code page prints it too"


def test_json_is_the_study_to_the_last_digit(run):
    _, out, _ = run("check", "frost_watch", *FEW, "--seed", "7", "--json")
    data = json.loads(out)
    design = read_design("frost_watch")
    study = check(design, maker(design, "frost_watch"), boxes=2000, seed=7)
    assert (data["boxes"], data["seed"]) == (2000, 7)
    assert data["pass_share"] == in_json(study.pass_share)
    assert list(data["outcomes"]) == list(OUTCOMES)
    assert list(data["corners"]) == ["right-back", "right-front", "left-back", "left-front"]
    for name, outcome in data["outcomes"].items():
        found = study.outcomes[name]
        assert list(outcome) == ["unit", "limit", "mean", "sd", "quantiles", "share_within"]
        assert list(outcome["quantiles"]) == ["0.05", "0.5", "0.95", "0.99"]
        assert outcome["unit"] == OUTCOMES[name].unit
        assert (outcome["mean"], outcome["sd"]) == (in_json(found.mean), in_json(found.sd))
        assert outcome["share_within"] == (in_json(found.share_within) if found.share_within else None)
        assert list(outcome["quantiles"].values()) == [in_json(each) for each in found.quantiles.values()]


def test_what_one_box_can_not_tell_is_null_in_json(run):
    """One box has no spread, so its mean has no interval; JSON has no word for a bound without end."""
    code, out, err = run("check", "frost_watch", "--boxes", "1", "--json")
    assert (code in {0, 1}, err) == (True, "")
    mean = json.loads(out)["outcomes"]["joint_gap"]["mean"]
    assert (mean["low"], mean["high"]) == (None, None)
    assert mean["value"] > 0


def test_exit_code_follows_the_point_estimate(run):
    """The share kept is compared with the share required: on either side of it by a thousandth."""
    _, out, _ = run("check", "frost_watch", *FEW, "--json")
    share = json.loads(out)["pass_share"]["value"]
    assert 0.001 < share < 0.999
    code, above, _ = run("check", "frost_watch", *FEW, "--set", f"required_share={share + 0.001}")
    assert code == 1
    code, below, _ = run("check", "frost_watch", *FEW, "--set", f"required_share={share - 0.001}")
    assert code == 0
    assert "Too close to call: 2,000 boxes" in above
    assert "The estimate itself is not enough" in above
    assert "The estimate itself is enough" in below


def test_set_changes_the_design_and_the_workshop(run):
    """A thinner plain wall shortens the shoulder; hands that make no error make no gap."""
    new, practised = (
        json.loads(run("check", "frost_watch", *FEW, "--set", "timber.plain=9", "--workshop", name, "--json")[1])
        for name in ("new_to_tools", "practised")
    )
    walls = {part["name"]: part for part in new["parts"]}
    assert walls[next(name for name in walls if name.startswith("plain wall"))]["thickness"] == 9
    means = [each["outcomes"]["joint_gap"]["mean"]["value"] for each in (new, practised)]
    assert means[1] < 0.7 * means[0]


# Words that can't be used; single messages are in `test_refusals.py`


@pytest.mark.parametrize("words", [("check",), ("chek", "frost_watch"), ("check", "frost_watch", "--boxes", "many")])
def test_usage_errors_leave_by_the_same_door(run, words):
    code, out, err = run(*words)
    assert (code, out) == (2, "")
    assert err.startswith("lapwright: ")
    assert "Traceback" not in err


def test_a_missing_file_is_named_and_nothing_is_written(run):
    code, out, err = run("export", "frost_wach")
    assert (code, out) == (2, "")
    assert err.startswith("lapwright: frost_wach: 1 to fix\n  file: does not exist; did you mean 'frost_watch'? ")
    assert list(Path.cwd().iterdir()) == []


def test_a_file_in_place_of_a_folder_ends_a_command_that_writes(run):
    Path("taken").write_text("")
    for words in (("export", "frost_watch", "--as", "stl"), ("picture", "frost_watch"), ("new", "mine.toml")):
        code, out, err = run(*words, "--to", "taken")
        assert (code, out) == (3, "")
        assert err == "lapwright: taken: is a file, and a folder is needed to write into; give another with --to\n"


# Writing


def test_new_writes_a_design_that_can_be_checked_and_never_overwrites(run):
    assert run("new", "mine.toml", "--to", "boxes") == (0, "wrote boxes/mine.toml\n", "")
    code, out, _ = run("check", "boxes/mine.toml", *FEW)
    assert code in {0, 1}
    assert "What to cut" in out
    before = Path("boxes/mine.toml").read_bytes()
    message = "lapwright: boxes/mine.toml: is there already and is not overwritten; give another name or move it away\n"
    assert run("new", "mine.toml", "--to", "boxes") == (2, "", message)
    assert Path("boxes/mine.toml").read_bytes() == before


def test_export_lists_the_files_it_wrote(run):
    code, out, err = run("export", "frost_watch", "--as", "stl,step,glb", "--scale", "1:2", "--to", "files", "--json")
    assert (code, err) == (0, "")
    files = json.loads(out)["files"]
    assert sorted(files) == sorted(path.as_posix() for path in Path("files").rglob("*") if path.is_file())
    assert {Path(file).suffix for file in files} == {".stl", ".step", ".glb"}


def test_files_to_scale_carry_it_in_their_names_and_leave_those_in_true_size_alone(run):
    """Half as large, each solid has an eighth of the volume; both files stay."""
    sizes = {}
    for scale, name in (("1:1", "frost_watch"), ("1:2", "frost_watch_1to2"), ("1:2.5", "frost_watch_1to2.5")):
        code, out, err = run("export", "frost_watch", "--as", "glb,stl", "--scale", scale, "--to", "files", "--json")
        assert (code, err) == (0, "")
        written = [Path(file) for file in json.loads(out)["files"]]
        assert {path.relative_to("files").parts[0] for path in written} == {f"{name}.glb", f"{name}-stl"}
        sizes[name] = trimesh.load_mesh(f"files/{name}-stl/base.stl").volume
    assert len(list(Path("files").iterdir())) == 6
    assert sizes["frost_watch_1to2"] == pytest.approx(sizes["frost_watch"] / 8, rel=1e-6)
    assert sizes["frost_watch_1to2.5"] == pytest.approx(sizes["frost_watch"] / 2.5**3, rel=1e-6)


@pytest.mark.skipif(sys.platform == "win32", reason="no file may have such a name there")
def test_names_of_files_bring_nothing_unseen_to_a_terminal(run):
    """A folder whose name clears the screen and turns the direction of writing; JSON keeps the name as it is."""
    folder = "a\x1b[2J\u202eb"
    assert run("new", "box", "--to", folder) == (0, "wrote a\\x1b[2J\\u202eb/box.toml\n", "")
    code, out, err = run("new", "box", "--to", folder)
    assert (code, out) == (2, "")
    assert err.startswith("lapwright: a\\x1b[2J\\u202eb/box.toml: is there already")
    code, out, _ = run("new", "other", "--to", folder, "--json")
    assert all(letter.isprintable() or letter == "\n" for letter in out)
    assert json.loads(out) == {"command": "new", "files": [f"{folder}/other.toml"], "remarks": []}


def test_picture_writes_a_png(run):
    code, out, err = run("picture", "frost_watch", "--explode", "0.5", "--size", "640x480", "--to", "seen")
    assert (code, out) == (0, "wrote seen/frost_watch.png\n"), err
    assert Path("seen/frost_watch.png").read_bytes().startswith(b"\x89PNG")


def test_demo_checks_draws_and_exports(run):
    code, out, err = run("demo", *FEW, "--json")
    assert (code, err) == (0, "")
    data = json.loads(out)
    assert data["boxes"] == 2000
    assert sorted(data["files"]) == sorted(path.as_posix() for path in Path("exports").rglob("*") if path.is_file())
    assert {Path(file).suffix for file in data["files"]} == {".png", *(f".{name}" for name in FORMATS)}


# What a command does without


def test_check_works_where_no_heavy_library_can_be_loaded(tmp_path):
    done = ended(tmp_path, "check", "frost_watch", *FEW, blocked=HEAVY)
    assert (done.returncode in {0, 1}, done.stderr) == (True, "")
    assert "What to expect" in done.stdout


def test_demo_prints_the_check_before_it_misses_the_kernel(tmp_path):
    says = "libGL.so.1: cannot open shared object file: No such file or directory"
    done = ended(tmp_path, "demo", *FEW, blocked=HEAVY, says=says)
    assert "What to expect" in done.stdout
    assert done.returncode == 3
    assert done.stderr == (
        f"lapwright: building solids: the system library libGL.so can't be loaded ({says}); install the system package "
        "that holds it (Debian and Ubuntu: apt-get install libgl1)\n"
    )


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no such signal to send")
def test_ctrl_c_ends_a_study_with_130_and_no_traceback(tmp_path):
    """The signal is a real one, which the process sends itself well inside a study that ends in any case."""
    done = ended(tmp_path, "check", "frost_watch", "--boxes", "300000", first=INTERRUPTS)
    assert done.returncode == 130
    assert done.stdout.startswith("Partial: stopped by Ctrl-C after 20,000 boxes; ")
    assert done.stderr == "lapwright: stopped; nothing is left half-written\n"


LISTED = ("picture", "frost_watch", "--step", "list")  # every command says its answer in one place; this one is quick


@pytest.mark.skipif(sys.platform == "win32", reason="needs a POSIX pipe")
def test_a_reader_who_has_gone_away_is_no_error(tmp_path):
    reader, writer = os.pipe()
    os.close(reader)
    done = ended(tmp_path, *LISTED, stdout=writer)
    os.close(writer)
    assert done.stderr == ""


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs Linux's full device")
def test_a_full_disk_under_standard_output_is_told(tmp_path):
    with Path("/dev/full").open("w") as full:
        done = ended(tmp_path, *LISTED, stdout=full)
    assert done.returncode == 3
    assert done.stderr == (
        "lapwright: standard output: can't be written (No space left on device); free some space or send it elsewhere\n"
    )


def test_help_of_every_command_names_its_options(run):
    for command in ("check", "demo", "picture", "export", "new"):
        code, out, _ = run(command, "--help")
        assert code == 0
        assert "--json" in out
        assert ("--set" in out) is (command != "new")
        assert ("--to" in out) is (command != "check")


def test_help_names_every_command_in_one_line_and_every_exit_code(run):
    code, out, _ = run("--help")
    assert code == 0
    lines = out.split("Commands:\n")[1].split("\n\n")[0].splitlines()
    assert len(lines) == len(cli.COMMANDS)
    assert not any(line.endswith("...") for line in lines)
    text = " ".join(out.split())
    assert [number for number, words in cli.EXIT_CODES.items() if f" {number}: {words}" not in text] == []


def test_help_of_check_says_what_every_outcome_means(run):
    out = " ".join(run("check", "--help")[1].split())
    assert [each for each in OUTCOMES.values() if f"{each.label}: {each.means}" not in out] == []


def test_help_names_every_file_that_ships_and_every_outcome_to_ask_about(run):
    out = " ".join(run("causes", "--help")[1].split())
    assert f"one that ships: {', '.join(shipped_designs())}." in out
    assert f"one that ships: {', '.join(shipped_workshops())}." in out
    assert f"one of {', '.join(OUTCOMES)}." in out


@pytest.mark.parametrize("encoding", ["ascii", "cp1251", "cp932"])
def test_an_output_that_lacks_a_sign_gets_another_in_its_place(monkeypatch, tmp_path, encoding):
    """The table has ± and °; JSON says such signs in its own way."""
    monkeypatch.chdir(tmp_path)
    before = signal.getsignal(signal.SIGTERM)

    def printed(*words):
        streams = [io.TextIOWrapper(io.BytesIO(), encoding=encoding) for _ in range(2)]
        with monkeypatch.context() as here:
            here.setattr(sys, "argv", ["lapwright", "check", "frost_watch", *FEW, *words])
            here.setattr(sys, "stdout", streams[0])
            here.setattr(sys, "stderr", streams[1])
            with pytest.raises(SystemExit) as end:
                main()
        signal.signal(signal.SIGTERM, before)
        out, err = (stream.buffer.getvalue() for stream in streams)
        assert (end.value.code in {None, 0, 1}, err) == (True, b"")
        return out.decode(encoding)

    assert "diagonal difference" in printed()
    assert json.loads(printed("--json"))["command"] == "check"


def test_a_picture_is_drawn_wherever_one_stands(tmp_path):
    """The child that draws imports nothing that lies in the folder it was called from."""
    (tmp_path / "random.py").write_text("raise SystemExit('the wrong random')\n", encoding="utf-8")
    (tmp_path / "viewer").mkdir()
    (tmp_path / "viewer" / "__init__.py").write_text("raise SystemExit('the wrong viewer')\n", encoding="utf-8")
    env = os.environ | {"PYTHONPATH": str(ROOT)}
    words = ["picture", "seed_box", "--size", "480x480", "--to", "out"]
    command = [sys.executable, "-P", "-m", "viewer", *words]
    done = subprocess.run(command, cwd=tmp_path, env=env, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (0, "")
    assert [file.name for file in (tmp_path / "out").iterdir()] == ["seed_box.png"]
