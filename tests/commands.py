"""The command line as a test runs it: in this process, or in one of its own where libraries can be missing.

Whatever a command prints with `--json` is held to the schema that ships, whichever test runs it.
"""

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import jsonschema
import pytest

from assembly.study.driver import Run
from assembly.study.intervals import Estimate
from viewer import cli
from viewer.commands import printing
from viewer.reports.output.record import Output

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
"""
RUN = """
from viewer.cli import main
main()
"""
HEAVY = "cadquery OCP vtk vtkmodules pyvista scipy.optimize scipy.stats manifold3d trimesh"


SCHEMA = jsonschema.Draft202012Validator(json.loads((ROOT / "configs" / "output.schema.json").read_text("utf-8")))


def hold_to_schema(data):
    """Fail where an answer is none of the schema's, with the deepest faults of the one that it comes nearest to."""
    for error in SCHEMA.iter_errors(data):
        deepest = sorted(error.context or [error], key=lambda each: -len(each.absolute_path))
        pytest.fail("\n".join(f"{list(each.absolute_path)}: {each.message:.300}" for each in deepest[:5]))


def in_json(found: Estimate) -> dict[str, float | str]:
    """Return an estimate as every answer has it."""
    return {name: getattr(found, name) for name in ("value", "low", "high", "interval")}


def runner(monkeypatch, capsys) -> Callable[..., tuple[int, str, str]]:
    """Return a function that runs a command in this process: (exit code, standard output, error stream)."""

    def _run(*words: str) -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "argv", ["lapwright", *words])
        with pytest.raises(SystemExit) as end:
            cli.main()
        out, err = capsys.readouterr()
        if out and "--json" in words:
            hold_to_schema(json.loads(out))
        return int(end.value.code or 0), out, err

    return _run


def both_runner(monkeypatch, capsys) -> Callable[..., tuple[int, str, dict]]:
    """Return a function that runs a command once in this process: (exit code, text, and the data of `--json`).

    The error stream must stay empty.
    """
    run, say, kept = runner(monkeypatch, capsys), printing.answer, []

    def answer(text: str, data: Callable[[], Output], as_json: bool) -> None:  # noqa: FBT001 - as the command has it
        kept.append(data().model_dump(mode="json"))
        say(text, data, as_json)

    def _run(*words: str) -> tuple[int, str, dict]:
        monkeypatch.setattr(printing, "answer", answer)
        code, out, err = run(*words)
        monkeypatch.setattr(printing, "answer", say)
        assert err == ""
        data = json.loads(json.dumps(kept.pop(), allow_nan=False))
        hold_to_schema(data)
        return code, out, data

    return _run


def ctrl_c_at(monkeypatch, done: int, times: int = 1) -> None:
    """Press Ctrl-C once a study tells that so much is done; it tells that in the main thread, which answers at once."""
    report = Run.report

    def pressed(self, now: int, of: int) -> None:
        report(self, now, of)
        if now == done:
            for _ in range(times):
                signal.raise_signal(signal.SIGINT)

    monkeypatch.setattr(Run, "report", pressed)


def ctrl_c_answered(run: Run) -> None:
    """Press Ctrl-C in a thread of a study, which goes on until the command has heard of it.

    Raises
    ------
    StoppedError
        Then.
    """
    signal.raise_signal(signal.SIGINT)
    while True:
        run.goes_on()
        time.sleep(0.001)


def ended(
    folder: Path, *words: str, blocked: str = "", says: str = "blocked", first: str = "", **how
) -> subprocess.CompletedProcess[str]:
    """Run the command line in an interpreter of its own, in which the code `first` is run before."""
    code = [sys.executable, "-c", BLOCKER + first + RUN, *words]
    environment = os.environ | {"BLOCKED": blocked, "SAYS": says, "PYTHONPATH": str(ROOT)}
    streams = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE, "text": True} | how
    return subprocess.run(code, cwd=folder, env=environment, check=False, **streams)
