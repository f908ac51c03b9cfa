"""What the window says: of the box that is shown, of the part that is picked, of keys and mouse, in paragraphs."""

from __future__ import annotations

from typing import TYPE_CHECKING

from assembly.nominal.frame import corner_words
from assembly.solids.as_made import MOST_TIMES
from viewer.scene.box_scene import apart_words
from viewer.scene.joints import WALL_NAMES
from viewer.window.keys import KEYS, MOUSE

if TYPE_CHECKING:
    from collections.abc import Mapping

    from assembly.letters import Weight
    from viewer.scene.scene import Scene
    from viewer.window.state import State

    Paragraph = tuple[str, Weight]

_SOUGHT = {"limit": "the limit case", "likeliest": "the likeliest bad box"}
_HINT = "Drag to turn, with shift to move, wheel for nearer, click a part. ? tells the keys."

# What parts without a lap are joined to, by name, or by kind where equal ones are joined alike.
_JOINS = {
    "base": "glued under the four walls",
    "lid": "joined to the lapped walls by two screws",
    "plaque": "joined to the lid by two screws",
    "left lid screw": "joins the lid to the left wall",
    "right lid screw": "joins the lid to the right wall",
    "front lid screw": "joins the lid to the front wall",
    "back lid screw": "joins the lid to the back wall",
    "plaque screw": "joins the plaque to the lid",
    "lid washer": "spreads the pressure of a lid screw's head",
    "plaque washer": "spreads the pressure of a plaque screw's head",
    "stem": "stands in the lid's centre hole",
}


def panel_words(state: State, scene: Scene, materials: Mapping[str, str]) -> tuple[Paragraph, ...]:
    """Return the panel's paragraphs with their weight; an empty one parts what does not belong together."""
    if state.keys_shown:
        return key_words()
    title, *rest = heading(state, scene)
    action = scene.caption.action
    told: list[Paragraph] = [(line, "Bold" if line == action else "Regular") for line in rest]
    found: list[Paragraph] = [*_fault_words(state), (title, "Bold"), *told, ("", "Regular")]
    if state.picked in {part.name for part in scene.parts}:
        name, *facts = part_words(str(state.picked), scene, materials)
        return (*found, (name, "Bold"), *((line, "Regular") for line in facts))
    return (*found, (_HINT, "Regular"))


def _fault_words(state: State) -> list[Paragraph]:
    """Return what is at fault in the files on disk; nothing where they are as shown."""
    if not state.faults:
        return []
    lead = "The file was changed and can't be used. Until it is put right, the last good box stays shown."
    return [(lead, "Bold"), *((fault, "Regular") for fault in state.faults), ("", "Regular")]


def key_words() -> tuple[Paragraph, ...]:
    """Return what keys and mouse do, a paragraph each."""
    keys = [f"{key.cap}: {key.words}" for key in KEYS]
    mouse = [f"{what}: {does}" for what, does in MOUSE]
    return (
        ("Keys", "Bold"),
        *((words, "Regular") for words in keys),
        ("", "Regular"),
        ("Mouse", "Bold"),
        *((words, "Regular") for words in mouse),
    )


def heading(state: State, scene: Scene) -> tuple[str, ...]:
    """Return what the window says of what it shows, a paragraph each; the first is the title."""
    if state.step:
        return (scene.title, *scene.caption.paragraphs)
    caption = scene.caption.paragraphs if state.marked else _unmarked(state, scene)
    if state.shown is not None:
        return (
            f"{scene.name}: {_SOUGHT[state.drawn]} is being looked for",
            "Until it is found, this stays shown:",
            *caption,
        )
    title = f"{scene.name}, {apart_words(state.explode)}"
    return (title, *caption, *(note for note in (state.note, _most(state)) if note))


def _unmarked(state: State, scene: Scene) -> tuple[str, ...]:
    """Return what is said of a box without its marks: which box it is, where that shows, and how it is drawn."""
    if scene.worst is None:
        return scene.caption.paragraphs
    which = scene.caption.lead if (state.shown or state.drawn) != "nominal" else ()
    return (*which, scene.caption.drawn)


def _most(state: State) -> str:
    """Say that errors can't be drawn larger, where they are drawn as large as they can be."""
    most = state.bounds.most_times(state.drawn)
    if state.drawn == "nominal" or state.times < most or state.scene_key[2]:
        return ""
    return f"At {most:g} times the faces are about to cross: no more can be shown." if most < MOST_TIMES else ""


def part_words(name: str, scene: Scene, materials: Mapping[str, str]) -> tuple[str, ...]:
    """Return the facts of a picked part: name, size, timber, and what it joins with how each joint fits."""
    part = next(part for part in scene.parts if part.name == name)
    index = scene.parts.index(part)
    fits: dict[str, list[str]] = {}
    for joint in scene.joints:
        ends = [patch.part for patch in joint.patches]
        if index in ends:
            mate = scene.parts[next(other for other in ends if other != index)].name
            fits.setdefault(f"joins the {mate}, {corner_words(joint.corner)}", []).append(f"{joint.face} {joint.words}")
    lines = [
        part.title,
        f"{' '.join(part.sizes)}; {materials[name]}",
        *(f"{at}: {'; '.join(fit)}" for at, fit in fits.items()),
    ]
    if name in WALL_NAMES:
        return tuple(lines)
    through = ", through the plaque" if name == "stem" and "plaque" in {each.name for each in scene.parts} else ""
    return (*lines, (_JOINS.get(name) or _JOINS[part.kind]) + through)
