"""Commands ended by SIGTERM, and what those leave that are killed outright; every signal is a real one."""

import os
import signal
import subprocess
import sys

import pytest
from commands import ROOT

from assembly.files.writing import publish, scratch
from viewer.commands.libraries import loading

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="Windows has no such signals to send")

END = """
import os, signal, sys
def end(*_, **how):
    os.kill(os.getpid(), signal.SIGTERM)
"""
# Where each is ended: while libraries load, in a study, with a child begun, with files written and not in their place.
POINTS = {
    "import": (("check", "frost_watch"), "sys.meta_path.insert(0, type('E', (), {'find_spec': end}))\n"),
    "check": (
        ("check", "frost_watch", "--boxes", "10000000", "--plots", "out"),
        "from assembly.study.driver import Run\nRun.report = end\n",
    ),
    "picture": (
        ("picture", "frost_watch", "--to", "out"),
        (
            "from viewer.picture import write\nstarted = write._started\n"
            "def noted(window):\n    child = started(window)\n    print(child.pid)\n    return child\n"
            "write._started, write._handed = noted, end\n"
        ),
    ),
    "export": (
        ("export", "frost_watch", "--as", "stl", "--to", "out"),
        "from pathlib import Path\nPath.replace = end\n",
    ),
}
# Ends without any chance to clear up, with a file half-written.
KILLED = """
import os, signal
from pathlib import Path
from assembly.files.writing import drafts
with drafts([Path("box.txt")]) as (draft,):
    draft.write_text("half")
    os.kill(os.getpid(), signal.SIGKILL)
"""


def python(folder, code, *words):
    env = os.environ | {"PYTHONPATH": str(ROOT)}
    command = [sys.executable, "-c", code, *words]
    return subprocess.run(command, cwd=folder, env=env, capture_output=True, text=True, check=False)


@pytest.mark.parametrize("point", POINTS)
def test_sigterm_ends_a_command_with_143_and_leaves_nothing(tmp_path, point):
    words, ends = POINTS[point]
    done = python(tmp_path, f"from viewer.__main__ import main\n{END}{ends}main()", *words)
    assert (done.returncode, done.stderr) == (143, "lapwright: stopped; nothing is left half-written\n")
    assert [path for path in tmp_path.rglob("*") if path.is_file() or path.name.startswith(".")] == []
    for child in done.stdout.split():  # none but the picture's was begun
        with pytest.raises(ProcessLookupError):
            os.kill(int(child), 0)
    assert bool(done.stdout) is (point == "picture")


def test_ctrl_c_while_a_library_starts_is_answered_when_it_is_there():
    """A compiled library would make of it that it can't be loaded."""
    reached = []

    def load():
        with loading("writing step"):
            signal.raise_signal(signal.SIGINT)
            reached.append("loaded")

    with pytest.raises(KeyboardInterrupt):
        load()
    assert reached == ["loaded"]
    assert signal.getsignal(signal.SIGINT) is signal.default_int_handler


def test_what_a_killed_command_left_goes_with_the_next_and_what_is_in_use_stays(tmp_path):
    assert python(tmp_path, KILLED).returncode == -signal.SIGKILL
    (left,) = tmp_path.iterdir()
    assert [(file.name, file.read_text()) for file in left.iterdir()] == [("box.txt", "half")]
    with scratch(tmp_path) as own:
        assert list(tmp_path.iterdir()) == [own]
        publish({tmp_path / "box.txt": b"whole"}, lambda _: None)
        assert sorted(tmp_path.iterdir()) == sorted([own, tmp_path / "box.txt"])
    assert [(file.name, file.read_bytes()) for file in tmp_path.iterdir()] == [("box.txt", b"whole")]
