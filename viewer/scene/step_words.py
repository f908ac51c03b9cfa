"""What stands under the title of a step: what to do, what it needs, and what can hurt in it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from viewer.scene.scene import Caption

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.planning.making import MakingOrder
    from assembly.planning.steps import Step


def caption_of(order: MakingOrder, step: Step) -> Caption:
    """Return what the step says, what it needs, and what can hurt in it; before the first step what is said before."""
    before = ("Before you start:", *(f"• {caution.words}" for caution in order.first)) if step.number == 1 else ()
    need = (need_of(step),) if step.needs else ()
    return Caption(before=before, action=step.action, lead=(*step.notes, *need), care=careful(order, step))


def need_of(step: Step) -> str:
    """Return what is to be fetched for a step, as a sentence."""
    return f"You need: {'; '.join(step.needs)}."


def careful(order: MakingOrder, step: Step) -> str:
    """Return a step's cautions for who reads every step in its order."""
    return care_of(order.steps[: step.number], step)


def care_of(steps: Sequence[Step], step: Step) -> str:
    """Return a step's cautions: whole where they come for the first time, else short, and where they are whole.

    `steps` are those that have been read by then, this one the last of them.
    """
    first: dict[str, int] = {}
    for one in steps:
        for caution in one.cautions:
            first.setdefault(caution.operation, one.number)
    sentences = [c.words if first[c.operation] == step.number else c.short for c in step.cautions]
    whole = sorted({first[c.operation] for c in step.cautions} - {step.number})
    if whole:
        sentences.append(f"(In full: step {' and '.join(map(str, whole))}.)")
    return " ".join(filter(None, sentences))
