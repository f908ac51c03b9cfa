"""Scenes as the page's script has them: numbers and words of `viewer.scene`, named as JSON names them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from viewer.drawing.svg import hexadecimal
from viewer.page.arrays import Store
from viewer.scene import tints
from viewer.scene.scene import labels_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.arrays import FloatArray
    from viewer.page.arrays import Entry
    from viewer.scene.joints import Joint
    from viewer.scene.scene import Scene, ShownMeasure, ShownPart


def packed_data(key: str, boxes: Sequence[tuple[str, Scene]], steps: Sequence[Scene], names: Sequence[str]) -> str:
    """Return what the script is given, packed (see `viewer.page.arrays`).

    Parameters
    ----------
    key : str
        By which a browser knows this page again.
    boxes : sequence of (str, Scene)
        Boxes that can be shown, the nominal one first, and what each is called.
    steps : sequence of Scene
        The making, in order.
    names : sequence of str
        Names of all parts, in the order of the page's list.
    """
    store, number = Store(), {name: index for index, name in enumerate(names)}
    found = {
        "key": key,
        "boxes": [{"title": title} | _box(store, scene, number) for title, scene in boxes],
        "steps": [_step(store, scene, number) for scene in steps],
    }
    told = found | {
        "meshes": store.meshes,
        "lines": store.lines,
        "lights": {"ambient": tints.AMBIENT, "sun": [(_rounded(to, 6), by) for to, by in tints.lights(1.0)]},
        "tints": {
            name: hexadecimal(tint)
            for name, tint in (
                ("ink", tints.INK),
                ("paper", tints.PAPER),
                ("text", tints.TEXT),
                ("quiet", tints.QUIET),
                ("edge", tints.EDGE),
            )
        },
        "grain": tints.GRAIN_SHADE,
    }
    return store.packed(told)


def _box(store: Store, scene: Scene, number: dict[str, int]) -> Entry:
    return {
        "direction": (scene.direction.round, scene.direction.up),
        "parts": _parts(store, scene, number, grain=True),
        "joints": [_joint(store, joint) for joint in scene.joints],
    }


def _step(store: Store, scene: Scene, number: dict[str, int]) -> Entry:
    return {
        "direction": (scene.direction.round, scene.direction.up),
        "parts": _parts(store, scene, number, grain=False),
        "strokes": [{"part": each.part, "lines": store.line(each.ends), "fresh": each.fresh} for each in scene.strokes],
        "measures": [_measure(each) for each in scene.measures],
        "holes": [
            {"text": hole.text, "rim": [_rounded(point, 2) for point in _eight(hole.rim)]} for hole in scene.holes
        ],
        "ghosts": [store.line(ends) for ends in scene.ghosts],
    }


def _parts(store: Store, scene: Scene, number: dict[str, int], *, grain: bool) -> list[Entry]:
    labels = {index: lines for lines, members in labels_of(scene.parts) for index in members}
    return [
        _part(store, part, grain=grain) | {"part": number[part.name], "label": labels.get(index, ())}
        for index, part in enumerate(scene.parts)
    ]


def _part(store: Store, part: ShownPart, *, grain: bool) -> Entry:
    return {
        "kind": part.kind,
        "title": part.title,
        "colour": hexadecimal(part.colour),
        "opacity": part.opacity,
        "mesh": store.mesh(part.points, part.triangles, part.edges),
        "grain": store.line(part.grain) if grain and len(part.grain) else None,
        "away": _rounded(part.away, 2),
    }


def _joint(store: Store, joint: Joint) -> Entry:
    return {
        "name": joint.name,
        "words": joint.words,
        "colour": hexadecimal(tints.GROUNDS[joint.fit.word]),
        "worst": joint.worst,
        "patches": [
            {
                "part": patch.part,
                "ground": store.areas(patch.ground),
                "ink": store.areas(patch.ink),
            }
            for patch in joint.patches
        ],
    }


def _measure(measure: ShownMeasure) -> Entry:
    start, end = measure.ends
    away = None if measure.away is None else _rounded(measure.away, 4)
    return {"text": measure.text, "from": _rounded(start, 2), "to": _rounded(end, 2), "away": away}


def _eight(rim: FloatArray) -> FloatArray:
    """Return about eight of the points round a hole, (n, 3) mm; its label leads to one of them."""
    return rim[:: max(1, len(rim) // 8)]


def _rounded(values: FloatArray, digits: int) -> list[float]:
    return [round(value, digits) + 0.0 for value in np.asarray(values).tolist()]
