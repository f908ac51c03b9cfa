"""The drawings of a page that need no script: each step's, and the box apart with its labels.

A face that two stills have in the same place stands in the page once; both use it.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from viewer.drawing.svg import defined, drawing, group, labels_still, step_still
from viewer.picture.layout import labels_alone, notes_of
from viewer.picture.lettering import Note

if TYPE_CHECKING:
    from collections.abc import Sequence

    from viewer.scene.camera import View
    from viewer.scene.scene import Scene

STEP_SIZE, STEP_EM = (640, 460), 20
WIDE, WIDE_EM = (960, 640), 16
_BOX = "e0"  # the drawing of the box, which two stills use
_WORTH = 60  # letters; to name a shorter piece saves nothing
NARROW, NARROW_EM = (420, 420), 17


@dataclass(frozen=True, slots=True, kw_only=True)
class Stills:
    """All stills of a page as SVG."""

    shared: str  # the drawing of the box, which two stills use; stands once, unseen, before them
    shared_by_steps: str  # what steps share; as their stills it is read by a browser only where these are shown
    wide: str  # the box with its labels
    narrow: str  # the same with numbers, those of the list of parts
    steps: tuple[str, ...]


def stills_of(box: Scene, steps: Sequence[Scene]) -> Stills:
    """Return the stills of a page: of its box, taken apart, and of the making."""
    draw = _Drawn()
    made = [step_still(one, STEP_SIZE, STEP_EM, f"Drawing of step {at}", draw) for at, one in enumerate(steps, 1)]
    count = Counter(element for still in made for element in still.drawn)
    often = [element for element, times in count.items() if times > 1 and len(element) > _WORTH]
    names = {element: f"e{at}" for at, element in enumerate(often, 1)}
    wide = labels_alone(box, WIDE, WIDE_EM, notes_of(box))
    narrow = labels_alone(box, NARROW, NARROW_EM, _numbers(box))
    drawn = "".join(drawing(box, wide.view))
    scale = narrow.view.scale / wide.view.scale
    off = narrow.view.pixels(np.zeros(3)) - scale * wide.view.pixels(np.zeros(3))
    title = "The box, taken apart; the list of parts names what is seen"
    return Stills(
        shared=defined({_BOX: drawn}),
        shared_by_steps=defined({name: element for element, name in names.items()}),
        wide=labels_still(wide, title, group(_BOX)),
        narrow=labels_still(narrow, title, group(_BOX, scale, (float(off[0]), float(off[1])))),
        steps=tuple(still.svg(names) for still in made),
    )


def _numbers(box: Scene) -> tuple[Note, ...]:
    """Return a label for each part that is its number in the list of parts."""
    return tuple(Note(lines=(str(at),), marks=(at,)) for at in range(1, len(box.parts) + 1))


class _Drawn:
    """Drawings, each worked out once: many steps of the making look as the one before."""

    def __init__(self) -> None:
        """Begin with none."""
        self._known: dict[bytes, tuple[str, ...]] = {}

    def __call__(self, scene: Scene, view: View) -> tuple[str, ...]:
        """Return the drawing of a scene."""
        arrays = [array for part in scene.parts for array in (part.points, part.triangles)]
        arrays += [stroke.ends for stroke in scene.strokes] + [*scene.ghosts, view.focus]
        told = ([(part.colour, part.opacity) for part in scene.parts], [(s.part, s.fresh) for s in scene.strokes])
        key = b"".join(array.tobytes() for array in arrays) + repr((told, view.scale, view.direction)).encode()
        if key not in self._known:
            self._known[key] = drawing(scene, view)
        return self._known[key]
