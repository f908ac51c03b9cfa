"""How a lid screw holds against being pulled out of the wall's top edge: against the present section's, where known.

No strength: a ratio of mean failures, or why there is none. How thin the wall is does not enter it, though thin walls
split sooner. Local rules, a risk assessment and competent supervision come first.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from assembly.errors import InputError
from assembly.materials.screws import Hold, withdrawal_ratio
from assembly.materials.timbers import walls_of

if TYPE_CHECKING:
    from assembly.model.design import Design


PULL = "the pull on a lid screw"  # what no figure can be given for


def thread_reach(design: Design) -> float:
    """Return the thread in the wall, mm, at most its height; a screw that is too long or too short breaks a rule.

    Notes
    -----
    From the wall's top edge to the tip, where the head is down: a countersunk one flush, a round one on its washer.
    The tip counts: EN 1995-1-1:2004 + A1:2008, 8.7.2, speaks of the penetration length of the threaded part and takes
    nothing off it (the text before A1 took one diameter off); from memory. The screw is taken as threaded up to the
    lid.
    """
    return min(design.lid.screw.depth - design.lid.thickness, design.box.height)


def pull_ratio(present: Design, tried: Design) -> float | str:
    """Return the pull that a lid screw stands over the present section's, or in words why no figure can be given."""
    try:
        return withdrawal_ratio(_hold(tried), _hold(present))
    except InputError as error:
        return str(error)


def _hold(design: Design) -> Hold:
    screw = design.lid.screw
    return Hold(
        material=walls_of(design.timber),
        diameter_mm=screw.diameter,
        length_mm=screw.length,
        thread_mm=thread_reach(design),
    )
