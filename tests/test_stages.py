"""A box worked out in stages tells the same as worked out whole, whatever changes."""

import numpy as np
import pytest
from models import ISHIGAMI

from assembly.files.reading import read_design, read_workshop
from assembly.made.sampling import draw_block, values
from assembly.study.check import BoxModel
from assembly.study.improvements import tried
from assembly.study.stages import staged

DESIGN = read_design("configs/frost_watch.toml").model_copy(update={"lid_holes": "marked through"})
BOX = BoxModel(DESIGN, read_workshop("new_to_tools"))
BEFORE, ANEW = (values(BOX.inputs, draw_block(BOX.inputs, 40, seed=seed, block=0)) for seed in (1, 2))


@pytest.mark.parametrize("name", [each.name for each in BOX.inputs])
def test_one_input_drawn_anew(name):
    stages, value = staged(BOX), {**BEFORE, name: ANEW[name]}
    np.testing.assert_array_equal(stages.after({name}, value, stages.results(BEFORE)), BOX.evaluate(value))


def test_every_change_to_the_box_is_worked_out_as_if_alone():
    stages = staged(BOX)
    results = stages.results(BEFORE)
    for change in tried(DESIGN, BOX.workshop):
        value = values(change.model.inputs, draw_block(change.model.inputs, 40, seed=1, block=0))
        rows = staged(change.model).instead_of(stages, value, results)
        np.testing.assert_array_equal(rows, change.model.evaluate(value), err_msg=change.change.words)


def test_only_what_changes_is_worked_out():
    """The frame is left alone where only a hole's mark changes, and sheets and holes where only a saw's error does."""
    stages = staged(BOX)
    marks = [object(), object()]
    seen = []
    watched = type(stages)(stages=stages.stages, gather=lambda results: seen.append(results) or np.zeros((1, 1)))
    watched.after({"hole_mark.offset"}, BEFORE, marks)
    watched.after({"saw.offset"}, BEFORE, marks)
    watched.after({"stock.thickness"}, BEFORE, marks)
    same = [[result is mark for result, mark in zip(results, marks, strict=True)] for results in seen]
    assert same == [[True, False], [False, True], [False, False]]


def test_any_other_model_is_one_stage_of_its_own():
    value = values(ISHIGAMI.inputs, draw_block(ISHIGAMI.inputs, 5, seed=1, block=0))
    one, other = staged(ISHIGAMI), staged(ISHIGAMI)
    np.testing.assert_array_equal(one.gather(one.results(value)), ISHIGAMI.evaluate(value))
    np.testing.assert_array_equal(other.instead_of(one, value, [np.zeros((1, 5))]), ISHIGAMI.evaluate(value))
