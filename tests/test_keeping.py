"""Advice is kept by doing what it says, to the letter: files copied, lines written, and the check that tells it."""

import re
import shlex
import shutil
from pathlib import Path

import pytest

from assembly.files.reading import maker, read_design
from assembly.files.shipped import shipped

SEEN = r"(?:To see that it is kept, type this; its second line names the workshop file and the aids in use:)"


def steps(out):
    """Return the lines of the steps, without their numbers."""
    told = out.split("To keep it:\n")[1].split("\n\n")[0]
    return [line[3:] for line in told.splitlines()]


def do(lines):
    """Do what the steps say in the current folder, and return the check that they end with."""
    for line in lines:
        if found := re.fullmatch(r"(/.*) as (.*)", line):
            assert not Path(found[2]).exists()
            shutil.copy(found[1], found[2])
        elif found := re.fullmatch(r"In (\S+), (?:under (\[.*\]), )?(.*?): (.* = .*)", line):
            write(Path(found[1]), found[2], found[3], found[4])
        else:
            assert re.fullmatch(
                rf"Copy (?:this file, which ships|these files, which ship) with the program:|{SEEN}", line
            ) or (line == lines[-1])
    return shlex.split(lines[-1])


def write(file, table, place, row):
    lines = file.read_text(encoding="utf-8").splitlines()
    if found := re.fullmatch(r"change the line of (.+) \(line (\d+)\) to", place):
        at = next(number for number, line in enumerate(lines) if line.startswith(f"{found[1]} = "))
        assert at + 1 >= int(found[2])  # lines written above it before move it down
        lines[at] = row
    else:
        assert place == ("write" if table else "above its first table, write")
        lines.insert([line.partition("#")[0].strip() for line in lines].index(table) + 1 if table else 0, row)
    file.write_text("\n".join(lines), encoding="utf-8")


FEW = ("--boxes", "1000")
TWO = ("--set", "workshop.aids.stop_block.used=true", "--set", "limits.joint_gap.max=1.6", "--set", "glue_up=squared")


@pytest.mark.parametrize("words", [("--at-most", "2"), (*TWO, "--at-most", "1")], ids=["ships", "changes typed before"])
def test_advice_on_a_design_that_ships_is_kept_by_doing_what_it_says(words, run, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    out = run("advise", "frost_watch", *words, *FEW)[1]
    typed = shlex.split(next(line for line in out.splitlines() if line.startswith("lapwright check ")))[1:]
    kept = do(steps(out))[1:]
    assert not any(word.startswith("--") for word in kept)
    before, after = run(*typed, *FEW, "--json")[1], run(*kept, *FEW, "--json")[1]
    assert before == after


def test_the_check_s_header_names_the_file_and_the_aids_in_use(run, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "my_workshop.toml").write_text(
        shipped("new_to_tools").read_text(encoding="utf-8").replace("[aids.saw_guide]", "[aids.saw_guide]\nused = true")
        .replace("[aids.depth_stop]", "[aids.depth_stop]\nused = true"), encoding="utf-8",
    )  # fmt: skip
    shutil.copy(shipped("frost_watch"), "own.toml")
    lines = run("check", "own.toml", *FEW)[1].splitlines()
    assert lines[1] == "Made by: New to tools (new_to_tools, as shipped), no aids in use"
    text = (
        Path("own.toml").read_text(encoding="utf-8").replace('made_by = "new_to_tools"', 'made_by = "my_workshop.toml"')
    )
    Path("own.toml").write_text(text, encoding="utf-8")
    lines = run("check", "own.toml", *FEW)[1].splitlines()
    assert lines[1] == "Made by: New to tools (my_workshop.toml), with saw guide and depth stop"
    lines = run("check", "frost_watch", "--workshop", "my_workshop.toml", *FEW)[1].splitlines()
    assert lines[1] == "Made by: New to tools (my_workshop.toml), with saw guide and depth stop"


def test_one_s_own_files_are_written_into_where_they_lie_and_a_copy_takes_no_name_that_is_taken(
    run, tmp_path, monkeypatch
):
    monkeypatch.chdir(tmp_path)
    Path("boxes").mkdir()
    shutil.copy(shipped("frost_watch"), "boxes/own.toml")
    Path("boxes/my_workshop.toml").write_text("taken", encoding="utf-8")
    told = steps(run("advise", "boxes/own.toml", "--at-most", "2", *FEW)[1])
    assert told[:2] == [
        "Copy this file, which ships with the program:",
        f"{shipped('new_to_tools')} as boxes/my_workshop_2.toml",
    ]
    assert 'In boxes/own.toml, change the line of made_by (line 8) to: made_by = "my_workshop_2.toml"' in told
    assert do(told) == ["lapwright", "check", "boxes/own.toml"]
    design = read_design("boxes/own.toml")
    assert any(aid.used for aid in maker(design, "boxes/own.toml").aids.values())
    told = steps(run("advise", "boxes/own.toml", *FEW, "--reach", "0.95", "--at-most", "2")[1])
    assert not any("Copy" in line or "made_by" in line for line in told)


def test_a_workshop_given_beside_the_design_is_given_again(run, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    out = run("advise", "frost_watch", "--workshop", "new_to_tools", "--at-most", "1", *FEW)[1]
    told = steps(out)
    assert not any("made_by" in line for line in told)
    assert do(told)[1:] == ["check", "frost_watch", "--workshop", "my_workshop.toml"]
