"""The README says what is so, its commands and their output; so does the Python of DEVELOPERS.md."""

import re
from pathlib import Path

import pytest

from assembly.files.shipped import shipped_designs, shipped_workshops
from viewer import cli

ROOT = Path(__file__).parent.parent
README, DEVELOPERS = ((ROOT / name).read_text(encoding="utf-8") for name in ("README.md", "DEVELOPERS.md"))


def blocks(language: str, text: str = README) -> list[str]:
    """Return the fenced blocks of a language."""
    return re.findall(rf"^```{language}\n(.*?)^```", text, re.DOTALL | re.MULTILINE)


def test_ci_runs_the_very_test_command():
    """The command that CI hands to the check is a block of its own in the README."""
    command = re.search(r'^sh \.ci/check "(.*)"$', (ROOT / ".ci" / "run").read_text(encoding="utf-8"), re.MULTILINE)
    assert command
    assert blocks("sh") == ["sh .ci/setup && .venv/bin/lapwright demo\n", f"{command[1]}\n"]


def test_output_is_what_the_command_prints(printed):
    assert blocks("text")[0] == printed("check", "frost_watch")


def test_the_first_afternoon_goes_as_written(run):
    """Every command of the walk in its order, in one folder; every line shown under it is a line that it prints."""
    for walk in "".join(blocks("console")).split("$ lapwright ")[1:]:
        command, *shown = walk.splitlines()
        code, out, _ = run(*command.split())
        assert code in {0, 1}, command
        assert [line for line in shown if line not in out.splitlines()] == [], command


def test_python_in_five_lines_prints_what_is_said(capsys):
    """The block is five lines of code long, and prints what stands under it."""
    code = blocks("python", DEVELOPERS)[0]
    assert len([line for line in code.splitlines() if line]) == 5
    exec(compile(code, "DEVELOPERS.md", "exec"), {})
    assert f"It prints `{capsys.readouterr().out.strip()}`." in DEVELOPERS


def test_every_shipped_file_is_named():
    assert [name for name in (*shipped_designs(), *shipped_workshops()) if f"`{name}`" not in README] == []


def test_every_command_is_named():
    names = [command.__name__ for command in cli.COMMANDS]
    assert [name for name in names if f"lapwright {name}" not in README] == []


def test_every_file_that_it_shows_is_there():
    for target in re.findall(r"\]\(([^)#]+)\)", README):
        assert (ROOT / target).exists(), target


@pytest.mark.parametrize("document", ["README.md", "DEVELOPERS.md", "assembly/MODEL.md"])
def test_every_path_that_a_document_names_is_there(document):
    text = (ROOT / document).read_text(encoding="utf-8")
    named = set(re.findall(r"`((?:assembly|viewer|tests|configs|exports|\.ci)/[\w./]*\w)`", text))
    made = {"assembly/configs"}  # where the wheel has them
    assert [path for path in named - made if not (ROOT / path).exists()] == []
