"""Arrays of a scene as the page has them: whole steps of a hundredth of a millimetre, each array once.

step  : `STEP`, or more for a part that 65,535 of them don't span; a point's place is low + step × number
chunk : the bytes of one array; equal ones are kept once, so four screws of a kind take the room of one

Numbers are little-endian, two bytes each. A mesh's edges name its own points, and only ends that are none of them are
added.
"""

from __future__ import annotations

import base64
import json
import zlib
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from assembly.solids.coarse import coarser

if TYPE_CHECKING:
    from assembly.arrays import FloatArray, IntArray
    from viewer.scene.scene import Scene, ShownPart

STEP = 0.01  # mm
_MOST = 65_535  # largest number of two bytes
_LOW = 4  # decimals of a low corner, mm
_FEW = 60  # triangles; a part with no more is left as it is
Entry = dict[str, Any]  # as JSON has it


@dataclass(slots=True)
class Store:
    """All meshes and lines of a page, each once, and the bytes that they are made of."""

    meshes: list[Entry] = field(default_factory=list)
    lines: list[Entry] = field(default_factory=list)
    _bytes: bytearray = field(default_factory=bytearray)
    _chunks: dict[bytes, int] = field(default_factory=dict)
    _known: dict[str, int] = field(default_factory=dict)

    def packed(self, told: Entry) -> str:
        """Return what is told and all chunks as a page carries them.

        That is in base64 what zlib (RFC 1950) makes of four bytes that say how long the JSON is, the JSON, and the
        chunks. Packed they take a third of the room.
        """
        words = json.dumps(told, separators=(",", ":"), allow_nan=False).encode()
        words += b" " * (-len(words) % 4)
        raw = len(words).to_bytes(4, "little") + words + bytes(self._bytes)
        return base64.b64encode(zlib.compress(raw, 9)).decode()

    @property
    def size(self) -> int:
        """How many bytes the chunks take."""
        return len(self._bytes)

    def mesh(self, points: FloatArray, triangles: IntArray, edges: FloatArray) -> int:
        """Keep a mesh and return its number.

        Parameters
        ----------
        points : (n, 3) float
            mm.
        triangles : (m, 3) int
            Numbers of points, anticlockwise seen from outside.
        edges : (k, 2 ends, 3) float
            mm.
        """
        low, step, numbers = numbered(np.concatenate([points, edges.reshape(-1, 3)]))
        kept, of = np.unique(numbers, axis=0, return_inverse=True)
        proper = of[triangles]
        proper = proper[(proper != np.roll(proper, 1, axis=1)).all(axis=1)]  # a sliver may have lost its width
        return self._entry(
            self.meshes,
            {
                "low": low,
                "step": step,
                "points": self._chunk(kept),
                "triangles": self._chunk(proper),
                "edges": self._chunk(of[len(points) :].reshape(-1, 2)),
            },
        )

    def areas(self, corners: FloatArray) -> int:
        """Keep flat areas, (k, n corners, 3) mm, as a mesh without edges; return its number.

        Their triangles are the same for as many areas with as many corners, and so are kept once.
        """
        low, step, numbers = numbered(corners.reshape(-1, 3))
        count, sides = corners.shape[:2]
        fan = np.array([[0, i, i + 1] for i in range(1, sides - 1)])
        triangles = (fan + sides * np.arange(count)[:, None, None]).reshape(-1, 3)
        entry = {"low": low, "step": step, "points": self._chunk(numbers), "triangles": self._chunk(triangles)}
        return self._entry(self.meshes, entry | {"edges": self._chunk(np.empty((0, 2), dtype=np.int64))})

    def line(self, ends: FloatArray) -> int:
        """Keep lines, (k, 2 ends, 3) mm, and return their number."""
        low, step, numbers = numbered(ends.reshape(-1, 3))
        return self._entry(self.lines, {"low": low, "step": step, "ends": self._chunk(numbers.reshape(-1, 6))})

    def _entry(self, where: list[Entry], entry: Entry) -> int:
        key = f"{id(where)} {entry}"
        if key not in self._known:
            self._known[key] = len(where)
            where.append(entry)
        return self._known[key]

    def _chunk(self, numbers: IntArray) -> tuple[int, int]:
        """Keep an array of whole numbers; return at which byte it begins, and how many rows it has."""
        raw = numbers.astype("<u2").tobytes()
        if raw not in self._chunks:
            self._chunks[raw] = len(self._bytes)
            self._bytes += raw
        return self._chunks[raw], len(numbers)


def numbered(points: FloatArray) -> tuple[list[float], float, IntArray]:
    """Return the lowest corner of points, (n, 3) mm, the step that spans them, and their places in steps: (n, 3)."""
    if not len(points):
        return [0.0, 0.0, 0.0], STEP, np.empty((0, 3), dtype=np.int64)
    low = points.min(axis=0).round(_LOW)  # not on the steps: moved, a part keeps its numbers
    step = max(STEP, float((points - low).max()) / _MOST)
    numbers = np.maximum(np.rint((points - low) / step), 0).astype(np.int64)
    return [value + 0.0 for value in low.tolist()], step, numbers


class Coarse:
    """Parts with the fewer facets that a page has; parts of one shape are worked out once."""

    def __init__(self) -> None:
        """Begin with none."""
        self._known: dict[tuple[bytes, bytes], tuple[FloatArray, IntArray, FloatArray]] = {}

    def scene(self, scene: Scene) -> Scene:
        """Return a scene whose parts have fewer facets."""
        return replace(scene, parts=tuple(self._part(part) for part in scene.parts))

    def _part(self, part: ShownPart) -> ShownPart:
        if len(part.triangles) < _FEW:
            return part
        low, step, numbers = numbered(part.points)
        key = (numbers.tobytes(), part.triangles.tobytes())
        if key not in self._known:
            self._known[key] = coarser(np.asarray(step * numbers, dtype=np.float64), part.triangles)
        points, triangles, edges = self._known[key]
        return replace(part, points=points + low, triangles=triangles, edges=edges + low)
