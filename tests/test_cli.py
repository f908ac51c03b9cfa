"""The command line: exit codes, streams, every refusal whole, and what a command must be able to do without."""

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from assembly.reading import maker, read_design
from assembly.tolerance.check import OUTCOMES, check
from viewer import cli

ROOT = Path(__file__).parent.parent
FEW = ("--boxes", "2000")
# Starts the command line in an interpreter where the libraries named in BLOCKED can't be loaded.
BLOCKER = """
import os, sys
class Blocker:
    def find_spec(self, name, path=None, target=None):
        if name.split(".")[0] in blocked or name in blocked:
            raise ImportError(os.environ["SAYS"], name=name)
blocked = os.environ["BLOCKED"].split()
sys.meta_path.insert(0, Blocker())
from viewer.cli import main
main()
"""
HEAVY = "cadquery OCP vtk vtkmodules pyvista scipy.optimize scipy.stats manifold3d trimesh"


@pytest.fixture
def run(monkeypatch, capsys, tmp_path):
    """Return a function that runs a command in an empty folder: (exit code, standard output, error stream)."""
    monkeypatch.chdir(tmp_path)

    def _run(*words: str) -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "argv", ["lapwright", *words])
        with pytest.raises(SystemExit) as end:
            cli.main()
        out, err = capsys.readouterr()
        return int(end.value.code or 0), out, err

    return _run


def start(folder: Path, *words: str, blocked: str = "", says: str = "blocked", **how) -> subprocess.Popen[str]:
    """Start the command line in an interpreter of its own."""
    code = [sys.executable, "-c", BLOCKER, *words]
    environment = os.environ | {"BLOCKED": blocked, "SAYS": says, "PYTHONPATH": str(ROOT)}
    streams = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE, "text": True} | how
    return subprocess.Popen(code, cwd=folder, env=environment, **streams)


# What check answers


def test_check_tells_cut_sizes_expectations_and_a_verdict(run):
    code, out, err = run("check", "frost_watch", *FEW)
    assert code in {0, 1}
    assert err == ""  # no progress bar where nobody watches
    for words in (
        "What to cut",
        "lapped wall",
        "plaque, flat",
        "What to expect, from 2,000 boxes",
        "widest joint gap",
        "About ",
    ):
        assert words in out
    assert all(ord(letter) < 256 for letter in out), "a console of an old code page prints it too"


def test_json_is_the_study_to_the_last_digit(run):
    _, out, _ = run("check", "frost_watch", *FEW, "--seed", "7", "--json")
    told = json.loads(out)
    design = read_design("frost_watch")
    study = check(design, maker(design, "frost_watch"), boxes=2000, seed=7)
    assert (told["boxes"], told["seed"]) == (2000, 7)
    assert told["pass"] == {"share": study.pass_share.share, "low": study.pass_share.low, "high": study.pass_share.high}
    assert list(told["outcomes"]) == list(OUTCOMES)
    assert list(told["corners"]) == ["right-back", "right-front", "left-back", "left-front"]
    for name, outcome in told["outcomes"].items():
        found = study.outcomes[name]
        assert list(outcome) == ["unit", "limit", "mean", "sd", "quantiles", "share_within", "low", "high"]
        assert list(outcome["quantiles"]) == ["0.05", "0.5", "0.95", "0.99"]
        assert outcome["unit"] == OUTCOMES[name]
        assert (outcome["mean"], outcome["sd"], outcome["share_within"]) == (found.mean, found.sd, found.share_within)
        assert list(outcome["quantiles"].values()) == list(found.quantiles.values())


def test_exit_code_follows_the_point_estimate(run):
    """The share kept is compared with the share required: on either side of it by a thousandth."""
    _, out, _ = run("check", "frost_watch", *FEW, "--json")
    share = json.loads(out)["pass"]["share"]
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
    _, out, _ = run("check", "frost_watch", *FEW, "--set", "timber.plain=9", "--json")
    walls = {part["name"]: part for part in json.loads(out)["parts"]}
    assert walls[next(name for name in walls if name.startswith("plain wall"))]["thickness"] == 9
    new, practised = (
        json.loads(run("check", "frost_watch", *FEW, "--workshop", name, "--json")[1])["outcomes"]["joint_gap"]["mean"]
        for name in ("new_to_tools", "practised")
    )
    assert practised < 0.7 * new


# Refusals: one message on the error stream, nothing on standard output, no traceback

REFUSALS = {
    "scale": (
        ("export", "frost_watch", "--scale", "1:200"),
        "--scale: got '1:200', must be a scale such as 1:2 or 0.5, from 1:100 to 100:1",
    ),
    "no scale": (
        ("export", "frost_watch", "--scale", "1:0"),
        "--scale: got '1:0', must be a scale such as 1:2 or 0.5, from 1:100 to 100:1",
    ),
    "format": (
        ("export", "frost_watch", "--as", "stp"),
        "--as: got 'stp', must be a list of step, stl, glb, such as step,stl; did you mean 'step'?",
    ),
    "explode": (
        ("picture", "frost_watch", "--explode", "2"),
        "explode: got 2, must be from 0 (closed) to 1 (taken apart)",
    ),
    "boxes": (("check", "frost_watch", "--boxes", "0"), "boxes: got 0, must be 1 or more"),
    "seed": (("check", "frost_watch", "--seed", "-1"), "seed: got -1, must be 0 or more"),
}


@pytest.mark.parametrize(("words", "message"), REFUSALS.values(), ids=REFUSALS)
def test_unusable_words_are_refused_whole(run, words, message):
    assert run(*words) == (2, "", f"lapwright: {message}\n")


@pytest.mark.parametrize("words", [("check",), ("chek", "frost_watch"), ("check", "frost_watch", "--boxes", "many")])
def test_usage_errors_leave_by_the_same_door(run, words):
    code, out, err = run(*words)
    assert (code, out) == (2, "")
    assert "Error" in err
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


def test_picture_writes_a_png(run):
    code, out, err = run("picture", "frost_watch", "--explode", "0.5", "--to", "seen")
    assert (code, out) == (0, "wrote seen/frost_watch.png\n"), err
    assert Path("seen/frost_watch.png").read_bytes().startswith(b"\x89PNG")


def test_demo_checks_draws_and_exports(run):
    code, out, err = run("demo", *FEW, "--json")
    assert (code, err) == (0, "")
    told = json.loads(out)
    assert told["boxes"] == 2000
    assert sorted(told["files"]) == sorted(path.as_posix() for path in Path("exports").rglob("*") if path.is_file())
    assert {Path(file).suffix for file in told["files"]} == {".png", ".step", ".stl", ".glb"}


# What a command does without


def test_check_works_where_no_heavy_library_can_be_loaded(tmp_path):
    done = start(tmp_path, "check", "frost_watch", *FEW, blocked=HEAVY)
    out, err = done.communicate()
    assert (done.returncode in {0, 1}, err) == (True, "")
    assert "What to expect" in out


def test_demo_prints_the_check_before_it_misses_the_kernel(tmp_path):
    says = "libGL.so.1: cannot open shared object file: No such file or directory"
    done = start(tmp_path, "demo", *FEW, blocked=HEAVY, says=says)
    out, err = done.communicate()
    assert "What to expect" in out
    assert done.returncode == 3
    assert err == (
        f"lapwright: building solids: the system library libGL.so can't be loaded ({says}); install the system package "
        "that holds it (Debian and Ubuntu: apt-get install libgl1)\n"
    )


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no such signal to send")
def test_ctrl_c_ends_a_study_with_130_and_no_traceback(tmp_path):
    done = start(tmp_path, "check", "frost_watch", "--boxes", "500000000")
    time.sleep(4)  # well inside the study
    done.send_signal(signal.SIGINT)
    out, err = done.communicate(timeout=60)
    assert done.returncode == 130
    assert out.startswith("Partial: stopped by Ctrl-C after ")
    assert err == "lapwright: stopped; nothing is left half-written\n"


@pytest.mark.skipif(sys.platform == "win32", reason="needs a POSIX pipe")
def test_a_reader_who_has_gone_away_is_no_error(tmp_path):
    reader, writer = os.pipe()
    os.close(reader)
    done = start(tmp_path, "check", "frost_watch", *FEW, stdout=writer)
    os.close(writer)
    assert done.communicate()[1] == ""


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs Linux's full device")
def test_a_full_disk_under_standard_output_is_told(tmp_path):
    with Path("/dev/full").open("w") as full:
        done = start(tmp_path, "check", "frost_watch", *FEW, stdout=full)
        err = done.communicate()[1]
    assert done.returncode == 3
    assert err == (
        "lapwright: standard output: can't be written (No space left on device); free some space or send it elsewhere\n"
    )


def test_help_of_every_command_names_its_options(run):
    for command in ("check", "demo", "picture", "export", "new"):
        code, out, _ = run(command, "--help")
        assert code == 0
        assert "--json" in out
        assert ("--set" in out) is (command != "new")
        assert ("--to" in out) is (command != "check")
