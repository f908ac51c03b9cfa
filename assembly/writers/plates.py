"""Plates of a printer: every part of a box lies flat on one of as few as are found, as 3MF files.

plate : width and depth that a printer takes, mm; its corner is the origin, x along its width
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from assembly.order.sheets import SheetOnSale, fewest_sheets
from assembly.text import decimal
from assembly.writers.threemf import Item, meant, package

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from pathlib import Path

    from assembly.files.writing import Meant
    from assembly.order.layouts import Laid, Layout

BETWEEN = 5.0  # mm between two parts, for a brim or a scraper; project choice, no source
EDGE = 5.0  # mm that stay free along a plate's edges, for a brim or clips; project choice, no source
_TRIALS = 6  # in which parts are brought closer together
_TURN = np.array([[0.0, -1.0, 0.0], [1.0, 0.0, 0.0], [0.0, 0.0, 1.0]])


class Plate(NamedTuple):
    """A printer's plate; mm."""

    width: float
    depth: float

    def takes(self, along: float, across: float) -> bool:
        """Tell whether a rectangle goes on it, one way or the other, its edges left free."""
        return min(along, across) <= min(self) - 2 * EDGE and max(along, across) <= max(self) - 2 * EDGE


def footprint(item: Item) -> tuple[float, float]:
    """Return how long and how wide a part lies, mm."""
    along, across, _ = np.ptp(item.points, axis=0).tolist()
    return along, across


def on_plates(items: Sequence[Item], plate: Plate) -> tuple[tuple[Item, ...], ...]:
    """Return parts, given as they lie by themselves, close together on as few plates as are found, in their middle.

    Raises
    ------
    InputError
        If a part is larger than the plate.
    """
    sizes, plan = [footprint(item) for item in items], _packed(items, plate)
    low, high = 0.0, 1.0  # of the plate's size; on less of it, as few plates have their parts closer together
    for _ in range(_TRIALS):
        share = (low + high) / 2
        part = Plate(share * plate.width, share * plate.depth)
        closer = _packed(items, part) if all(part.takes(*size) for size in sizes) else None
        if closer is not None and len(closer) == len(plan):
            plan, high = closer, share
        else:
            low = share
    return tuple(_centred([_put(items[laid.kind], laid) for laid in layout], plate) for layout in plan)


def _packed(items: Sequence[Item], plate: Plate) -> tuple[Layout, ...]:
    """Return where parts lie on as few plates as are found."""
    sheet = SheetOnSale(length=plate.width, width=plate.depth, kerf=BETWEEN, edge_trim=EDGE, straight=False, turn=True)
    names = [item.part.facts.name for item in items]
    return fewest_sheets([footprint(item) for item in items], [1] * len(items), sheet, names=names).sheets


def plate_files(name: str, plates: Iterable[Sequence[Item]], plate: Plate, folder: Path) -> dict[Path, Meant]:
    """Return plates of the parts of a box as 3MF files in `folder`."""
    laid = list(plates)
    size = f"{decimal(plate.width)}x{decimal(plate.depth)}"
    return {
        folder / f"plate_{size}_{number}.3mf": meant(package(f"{name}: plate {number} of {len(laid)}", items), items)
        for number, items in enumerate(laid, 1)
    }


def _put(item: Item, laid: Laid) -> Item:
    points = item.points @ _TURN.T if laid.turned else item.points
    return Item(item.part, points - [*points[:, :2].min(axis=0), 0.0] + [laid.x, laid.y, 0.0])


def _centred(items: Sequence[Item], plate: Plate) -> tuple[Item, ...]:
    """Return what lies on a plate in the middle of it."""
    points = np.vstack([item.points for item in items])
    middle = (points.min(axis=0) + points.max(axis=0)) / 2
    shift = np.array([plate.width / 2 - middle[0], plate.depth / 2 - middle[1], 0.0])
    return tuple(Item(item.part, item.points + shift) for item in items)
