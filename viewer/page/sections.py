"""The words of a page, in the order of its sections: what is made, its parts, its making and the words of the trade."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING

import numpy as np

from assembly.planning.trade_words import in_pieces, trade_words
from viewer.drawing.svg import plan_still
from viewer.scene.box_scene import sizes
from viewer.scene.joints import WALL_NAMES
from viewer.scene.step_words import careful

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.planning.making import MakingOrder
    from assembly.planning.steps import Step
    from assembly.solids.parts import Facts
    from viewer.scene.scene import Scene


_PLAN_EM = 15


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """Some words of a sentence; `term` is the number of the trade word that they are, counted from 1, else 0."""

    text: str
    term: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class ListedPart:
    """A part in the list."""

    number: int  # from 1
    name: str
    size: str
    material: str
    role: str
    done: tuple[tuple[str, tuple[int, ...]], ...]  # stages of the making, and their steps that work on it


@dataclass(frozen=True, slots=True, kw_only=True)
class ListedStep:
    """A step in the making."""

    number: int
    what: str  # it is done to
    action: tuple[Piece, ...]
    notes: tuple[tuple[Piece, ...], ...]
    need: tuple[Piece, ...]
    care: str
    still: str
    plan: str  # of the frame, where it helps to see which wall is which; else empty


@dataclass(frozen=True, slots=True, kw_only=True)
class Stage:
    """Steps that belong together."""

    name: str
    steps: tuple[ListedStep, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Term:
    """A word of the trade and what it means."""

    number: int
    word: str
    meaning: str


def outside(scene: Scene) -> str:
    """Return the size of the closed box, walls, base and lid, in words."""
    boxed = [part.points for part in scene.parts if part.name in {*WALL_NAMES, "base", "lid"}]
    return sizes(tuple(np.ptp(np.concatenate(boxed), axis=0).tolist()))


def listed_parts(scene: Scene, facts: Sequence[Facts], steps: Sequence[Step]) -> tuple[ListedPart, ...]:
    """Return the list of parts, in the order of the scene."""
    told = {one.name: one for one in facts}
    return tuple(
        ListedPart(
            number=at,
            name=part.title,
            size=", ".join(part.sizes),
            material=told[part.name].material,
            role=told[part.name].role,
            done=_done(part.name, steps),
        )
        for at, part in enumerate(scene.parts, 1)
    )


def _done(name: str, steps: Sequence[Step]) -> tuple[tuple[str, tuple[int, ...]], ...]:
    with_it = [step for step in steps if name in step.parts]
    return tuple(
        (stage, tuple(step.number for step in some)) for stage, some in groupby(with_it, key=lambda step: step.stage)
    )


def stages(order: MakingOrder, stills: Sequence[str], terms: Sequence[Term]) -> tuple[Stage, ...]:
    """Return the making, stage by stage."""
    number = {term.word: term.number for term in terms}
    return tuple(
        Stage(name=stage[:1].upper() + stage[1:], steps=tuple(_step(order, step, stills, number) for step in some))
        for stage, some in groupby(order.steps, key=lambda step: step.stage)
    )


def _step(order: MakingOrder, step: Step, stills: Sequence[str], number: dict[str, int]) -> ListedStep:
    action, *notes, need = (
        tuple(Piece(text=piece.text, term=number[piece.word.word] if piece.word else 0) for piece in sentence)
        for sentence in in_pieces(_told(step))
    )
    return ListedStep(
        number=step.number,
        what=step.part,
        action=action,
        notes=tuple(notes),
        need=need,
        care=careful(order, step),
        still=stills[step.number - 1],
        plan=plan_still(step.plan, _PLAN_EM) if step.plan else "",
    )


def _told(step: Step) -> tuple[str, ...]:
    """Return what a step says, and last what it needs."""
    return (step.action, *step.notes, "; ".join(step.needs))


def terms_of(order: MakingOrder) -> tuple[Term, ...]:
    """Return the words of the trade that the making has, in the order of the alphabet."""
    told = [in_pieces(_told(step)) for step in order.steps]
    used = {piece.word.word for sentences in told for sentence in sentences for piece in sentence if piece.word}
    known = sorted((word for word in trade_words() if word.word in used), key=lambda word: word.word.lower())
    return tuple(Term(number=at, word=word.word, meaning=word.meaning) for at, word in enumerate(known, 1))
