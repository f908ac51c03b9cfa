"""A model worked out in stages, so that a study of many variants works out anew only what a variant changes.

stage  : a part of a model that reads some of the inputs; the frame, or sheets and holes
recipe : what a stage is made by; stages of equal recipes give the same for the same draws
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from assembly.study.check import BoxModel

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from assembly.arrays import FloatArray
    from assembly.study.blocks import Model

Value = dict[str, "FloatArray"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Stage:
    """One part of a model: the names of the inputs it reads, its recipe, and its work."""

    inputs: frozenset[str]
    recipe: object
    work: Callable[[Value], Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class Staged:
    """A model's stages, and how their results become its rows: (rows, boxes)."""

    stages: tuple[Stage, ...]
    gather: Callable[[Sequence[Any]], FloatArray]

    def results(self, value: Value) -> list[Any]:
        """Return what every stage gives."""
        return [stage.work(value) for stage in self.stages]

    def after(self, names: set[str], value: Value, before: Sequence[Any]) -> FloatArray:
        """Return the rows after the inputs `names` have changed, from the stages' results before."""
        return self.gather(
            [stage.work(value) if stage.inputs & names else old for stage, old in zip(self.stages, before, strict=True)]
        )

    def instead_of(self, other: Staged, value: Value, before: Sequence[Any]) -> FloatArray:
        """Return the rows of this model for the draws for which the stages of `other` gave `before`."""
        if len(self.stages) != len(other.stages):
            return self.gather(self.results(value))
        return self.gather(
            [
                old if mine.recipe == its.recipe else mine.work(value)
                for mine, its, old in zip(self.stages, other.stages, before, strict=True)
            ]
        )


def staged(model: Model) -> Staged:
    """Return a model's stages; a model that is not the box is one stage, never taken for another's."""
    if isinstance(model, BoxModel):
        return staged_box(model)
    whole = Stage(inputs=frozenset(each.name for each in model.inputs), recipe=object(), work=model.evaluate)
    return Staged(stages=(whole,), gather=lambda results: results[0])


def staged_box(box: BoxModel) -> Staged:
    """Return the box as two stages: its frame, and its sheets and holes, which also read the timber's thickness."""
    sheets = {each.name for each in box.fitting.inputs} | {"stock.thickness"}
    frame = {each.name for each in box.inputs} - {each.name for each in box.fitting.inputs}
    workshop = box.workshop
    made_by = (box.design, workshop.shoulder_from, workshop.gauge_from, workshop.pare)
    return Staged(
        stages=(
            Stage(
                inputs=frozenset(frame),
                recipe=(*made_by, _read(box, frame)),
                work=lambda value: box.of_settled(*box.settle(value)),
            ),
            Stage(inputs=frozenset(sheets), recipe=(box.design, _read(box, sheets)), work=box.fitting.outcomes),
        ),
        gather=lambda results: box.gathered(*results),
    )


def _read(box: BoxModel, names: set[str]) -> tuple[object, ...]:
    return tuple(each for each in box.inputs if each.name in names)
