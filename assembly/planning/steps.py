"""One step of the making, as a record.

action : the one thing that is done, a sentence of at most 20 words that begins with what to do
note   : what to know, to check or to be careful of meanwhile; nothing to do

What a step does to which faces, how its parts lie and what is drawn on them are data of their own: nothing is to be
read out of its words, which may be worded anew at any time.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from assembly.planning.cautions import TOOLS, Caution, cautions, tool_cautions
from assembly.planning.needs import HOLDS, OF_TOOL, WORN, Item
from assembly.planning.wall_faces import Place, Pose, lying
from assembly.text import mm

if TYPE_CHECKING:
    from assembly.nominal.fittings import Hole
    from assembly.planning.marks import Block, Letter, Line, LineKind
    from assembly.planning.measures import Measure, Name, Size
    from assembly.planning.plan import Plan
    from assembly.planning.wall_faces import PartFace


class StepKind(StrEnum):
    """What a step does to its parts."""

    MARK = "mark"  # draws lines or letters
    SET = "set"  # sets a tool
    CUT = "cut"  # takes waste off
    DRILL = "drill"  # makes holes
    BEND = "bend"  # gives its parts their last shape
    FIT = "fit"  # puts parts together to try them, or pushes them true
    JOIN = "join"  # glues, screws or puts in for good
    WAIT = "wait"  # leaves glue or finish to dry, or plastic to cool
    LAY = "lay"  # lays, turns or clamps parts for what comes next, or takes them apart
    CHECK = "check"  # measures or compares; changes nothing
    TREAT = "treat"  # smooths, scores, wipes or coats faces; what it takes off or puts on is too little to be drawn
    CLEAN = "clean"  # rubs out every line on its parts


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One action of a maker with one tool; geometry in mm, in the frame of `assembly.nominal.frame`.

    `operation` is the workshop's own name (`assembly.model.workshop.Operations`) where the step is one that leaves an
    error.
    """

    number: int = 0  # from 1, given when all steps are in order
    stage: str
    kind: StepKind
    part: str  # in words
    parts: tuple[str, ...]  # the same, as named in `assembly.solids.parts`; walls on the bench from back to front
    tool: str  # one of `cautions.TOOLS`
    operation: str
    action: str  # what to do: one sentence
    notes: tuple[str, ...] = ()  # what to know of it: at most two sentences
    faces: tuple[PartFace, ...] = ()  # that are worked on, the most important first
    place: Place = Place.BOX
    raised: tuple[str, ...] = ()  # parts to be shown lifted off, so that what is under them is seen
    sizes: tuple[Size, ...] = ()  # that the maker works to, the one that the step is about first
    lines: tuple[Line, ...] = ()  # that this step draws
    letters: tuple[Letter, ...] = ()
    measures: tuple[Measure, ...] = ()  # sizes that are drawn beside the part, each from its datum
    names: tuple[Name, ...] = ()  # what lines on the part are called
    plan: Plan | None = None  # of the frame, where it helps to see which wall is which
    laid_on: tuple[Block, ...] = ()  # the end of another part that is laid on this one to mark along
    bent: tuple[Letter, ...] = ()  # engraved letters, where this step leaves them when it bends their part
    bent_lines: tuple[Line, ...] = ()  # lines that are left on a part that this step bends, where they then are
    wiped: tuple[LineKind, ...] = ()  # lines that this step takes off bent parts
    removed: tuple[Block, ...] = ()  # waste that comes off in this step
    drilled: tuple[Hole, ...] = ()
    besides: tuple[Item, ...] = ()  # what it needs besides its tool
    counted: tuple[str, ...] = ()  # screws and washers that it needs, as a list has them
    also: tuple[str, ...] = ()  # operations whose cautions go with the step besides its tool's

    @property
    def pose(self) -> Pose:
        """How the parts lie; walls on the bench so that the faces that are worked on are seen."""
        if self.place is Place.BENCH:
            return lying([each.face for each in self.faces])
        return Pose.UPSIDE_DOWN if self.place is Place.UPSIDE_DOWN else Pose.IN_PLACE

    @property
    def words(self) -> str:
        """What to do and what to know of it, as one paragraph."""
        return " ".join((self.action, *self.notes))

    @property
    def drawn(self) -> tuple[Line, ...]:
        """Every stroke of this step: its lines, and those of its letters."""
        return (*self.lines, *(line for letter in self.letters for line in letter.lines))

    @property
    def needs(self) -> tuple[str, ...]:
        """What to fetch: tool, bits, what else is used, holds the piece and is worn; each once, as a list has it."""
        drilled = (hole for hole in self.drilled if self.kind is StepKind.DRILL and hole.use != "countersink")
        bits = dict.fromkeys(hole.diameter for hole in drilled)
        bits |= dict.fromkeys(size.mm for size in self.sizes if size.of == "diameter" and self.kind is StepKind.SET)
        operations = (*TOOLS[self.tool], *self.also)
        careful = (item for what in (HOLDS, WORN) for operation in operations for item in what.get(operation, ()))
        found = (*OF_TOOL[self.tool], *(f"bit of {mm(size)}" for size in bits), *self.besides, *self.counted, *careful)
        return tuple(dict.fromkeys(str(item) for item in found))

    @property
    def cautions(self) -> tuple[Caution, ...]:
        """What can hurt in this step."""
        besides = (caution for operation in self.also for caution in cautions(operation))
        return (*tool_cautions(self.tool), *besides)
