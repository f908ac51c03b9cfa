"""The command line as a test runs it: in this process, or in one of its own where libraries can be missing."""

import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

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
"""
RUN = """
from viewer.cli import main
main()
"""
HEAVY = "cadquery OCP vtk vtkmodules pyvista scipy.optimize scipy.stats manifold3d trimesh"


def runner(monkeypatch, capsys) -> Callable[..., tuple[int, str, str]]:
    """Return a function that runs a command in this process: (exit code, standard output, error stream)."""

    def _run(*words: str) -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "argv", ["lapwright", *words])
        with pytest.raises(SystemExit) as end:
            cli.main()
        out, err = capsys.readouterr()
        return int(end.value.code or 0), out, err

    return _run


def start(
    folder: Path, *words: str, blocked: str = "", says: str = "blocked", first: str = "", **how
) -> subprocess.Popen[str]:
    """Start the command line in an interpreter of its own, in which the code `first` is run before."""
    code = [sys.executable, "-c", BLOCKER + first + RUN, *words]
    environment = os.environ | {"BLOCKED": blocked, "SAYS": says, "PYTHONPATH": str(ROOT)}
    streams = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE, "text": True} | how
    return subprocess.Popen(code, cwd=folder, env=environment, **streams)
