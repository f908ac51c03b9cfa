"""The making as a list: every step with its number, its stage and its action, and how each is drawn."""

import pytest

from assembly.files.reading import maker, read_design
from assembly.planning.making import making_order


@pytest.mark.parametrize("name", ["frost_watch", "seed_box"])
def test_every_step_is_listed_with_its_number_stage_and_action(name, run):
    design = read_design(name)
    steps = making_order(design, maker(design, name)).steps
    code, out, err = run("picture", name, "--step", "list")
    assert (code, err) == (0, "")
    heading, command, _, *rows = out.splitlines()
    assert heading == f"The making of {design.name} in {len(steps)} steps. One of them as a picture:"
    assert command == f"lapwright picture {name} --step 1"
    listed: list[list[str]] = []
    for row in rows[2:]:
        number, stage, words = (cell.strip() for cell in row.split("|"))
        if number:
            listed.append([number, stage, words])
        else:
            listed[-1][2] += f" {words}"
    assert listed == [[str(step.number), step.stage, step.action] for step in steps]


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("--json",), "--json: names the files of pictures, and --step list draws none; leave out one of them"),
        (
            ("--spin", "turn.gif"),
            "--spin: turns one picture, and --step list draws none; give --step a number, or leave out --spin",
        ),
        (
            ("--explode", "1"),
            "--step: shows the timber before it is a box, and can't go with --explode; leave it out",
        ),
    ],
)
def test_what_does_not_go_with_a_list_is_refused(words, message, run):
    assert run("picture", "frost_watch", "--step", "list", *words) == (2, "", f"lapwright: {message}\n")
