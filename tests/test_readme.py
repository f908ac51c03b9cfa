"""The README says what is so: its commands, its output, and its Python."""

import re
from pathlib import Path

from assembly.files.shipped import shipped_designs, shipped_workshops
from viewer import cli

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")


def blocks(language: str) -> list[str]:
    """Return the fenced blocks of a language."""
    return re.findall(rf"^```{language}\n(.*?)^```", README, re.DOTALL | re.MULTILINE)


def test_ci_runs_the_very_test_command():
    """The command that CI hands to the check is a block of its own in the README."""
    command = re.search(r'^sh \.ci/check "(.*)"$', (ROOT / ".ci" / "run").read_text(encoding="utf-8"), re.MULTILINE)
    assert command
    assert blocks("sh") == ["sh .ci/setup && .venv/bin/lapwright demo\n", f"{command[1]}\n"]


def test_output_is_what_the_command_prints(printed):
    assert blocks("text")[0] == printed("check", "frost_watch")


def test_python_in_five_lines_prints_what_is_said(capsys):
    """The block is five lines of code long, and prints what stands under it."""
    code = blocks("python")[0]
    assert len([line for line in code.splitlines() if line]) == 5
    exec(compile(code, "README.md", "exec"), {})
    assert f"It prints `{capsys.readouterr().out.strip()}`." in README


def test_every_shipped_file_is_named():
    assert [name for name in (*shipped_designs(), *shipped_workshops()) if f"`{name}`" not in README] == []


def test_every_command_is_in_the_table():
    names = [command.callback.__name__ for command in cli.app.registered_commands if command.callback]
    assert [name for name in names if f"| `lapwright {name}" not in README] == []


def test_every_file_that_it_shows_is_there():
    for target in re.findall(r"\]\(([^)#]+)\)", README):
        assert (ROOT / target).exists(), target
