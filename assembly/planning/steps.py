"""One step of the making, as a record."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

from assembly.planning.cautions import Caution, cautions, tool_cautions

if TYPE_CHECKING:
    from assembly.nominal.fittings import Hole
    from assembly.planning.marks import Block, Letter, Line, LineKind
    from assembly.planning.measures import Measure, Name


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One thing that a maker does with one tool; sizes in mm, geometry in the frame of `assembly.nominal.frame`.

    `operation` is the workshop's own name (`assembly.model.workshop.Operations`) where the step is one that leaves an
    error.
    """

    number: int = 0  # from 1, given when all steps are in order
    stage: str
    part: str  # in words
    parts: tuple[str, ...]  # the same, as named in `assembly.solids.parts`
    tool: str  # one of `cautions.TOOLS`
    operation: str
    words: str
    face: str = ""
    from_where: str = ""
    to_where: str = ""
    size: float | None = None
    kind: LineKind | None = None  # of the lines that this step draws; None where it draws none
    lines: tuple[Line, ...] = ()
    letters: tuple[Letter, ...] = ()
    measures: tuple[Measure, ...] = ()  # sizes that are drawn beside the part
    names: tuple[Name, ...] = ()  # what the lines that it draws are called
    laid_on: tuple[Block, ...] = ()  # the end of another part that is laid on this one to mark along
    bent: tuple[Letter, ...] = ()  # engraved letters, where this step leaves them when it bends their part
    removed: tuple[Block, ...] = ()  # waste that comes off in this step
    drilled: tuple[Hole, ...] = ()
    also: tuple[str, ...] = ()  # operations whose cautions go with the step besides its tool's
    raised: tuple[str, ...] = ()  # parts to be shown lifted off, so that what is under them is seen
    together: bool = False  # walls are put together, not side by side on the bench
    upside_down: bool = False  # parts are turned over, front still to the front

    @property
    def drawn(self) -> tuple[Line, ...]:
        """Every stroke of this step: its lines, and those of its letters."""
        return (*self.lines, *(line for letter in self.letters for line in letter.lines))

    @property
    def cautions(self) -> tuple[Caution, ...]:
        """What can hurt in this step."""
        besides = (caution for operation in self.also for caution in cautions(operation))
        return (*tool_cautions(self.tool), *besides)

    def as_data(self) -> dict[str, Any]:
        """Return the step as plain data by the names of its fields, with its cautions; points are tuples."""
        return asdict(self) | {"cautions": [asdict(caution) for caution in self.cautions]}
