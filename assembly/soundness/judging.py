"""One section's figures against the rows of the verdict: what needs no boxes first, then what the boxes show.

closed rows  : lap, tongue, screws, room, season: a few sums each, with the sampled error of tongue and screw
sampled rows : bond and pass share, over the reference section's on the same makers
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from assembly.errors import InputError
from assembly.frame import frame
from assembly.soundness.bond import bond_ratio, grain_runout
from assembly.soundness.moisture import Climate
from assembly.soundness.screws import pilot_share
from assembly.soundness.seasons import Season, season
from assembly.soundness.structural import distance, effective_diameter
from assembly.soundness.timbers import timber_of
from assembly.soundness.variants import broken_rules
from assembly.soundness.verdict import Reason, Verdict, decide, judge
from assembly.tables import core_mm

if TYPE_CHECKING:
    from assembly.design import Design
    from assembly.frame import Frame
    from assembly.soundness.trials import Sample, Trials

_ACROSS = math.pi / 2  # a screw loaded square to the grain, towards an edge


@dataclass(frozen=True)
class Judge:
    """Judges sections against a reference section, both tried by the same makers."""

    trials: Trials
    reference: Design

    @cached_property
    def before(self) -> Sample:
        """The reference section's boxes."""
        return self.trials.sample(self.reference)

    def closed(self, design: Design) -> list[Reason]:
        """Return the reasons that need no settled box; what the design does not say (contents, climate) has no row."""
        box = frame(design)
        return [
            *self._lap(design, box),
            *self._screw(design, box),
            *_room(design),
            *_seasonal(design),
            judge("rules_broken", float(len(faults_of(design)))),
        ]

    def sampled(self, after: Sample) -> list[Reason]:
        """Return the reasons that come of the boxes."""
        ratio = bond_ratio(float(after.bond.mean()), float(self.before.bond.mean()))
        return [
            judge("bond", ratio),
            judge("pass_share_lost", self.before.pass_share - after.pass_share),
            judge("beyond", float(after.beyond.mean())),
        ]

    def verdict(self, design: Design) -> Verdict:
        """Return the verdict on a section, every row judged."""
        return self.verdict_with(design, self.trials.sample(design))

    def verdict_with(self, design: Design, after: Sample) -> Verdict:
        """Return the verdict on a section whose boxes are made already."""
        rows = [*self.closed(design), *self.sampled(after)]
        return decide(rows, reference=self.reference.timber.proven)

    def holds(self, design: Design) -> bool:
        """Return whether no row is "not sound"; boxes are made only where no closed row decides."""
        if any(reason.level == "not sound" for reason in self.closed(design)):
            return False
        return self.verdict(design).verdict != "not sound"

    def _lap(self, design: Design, box: Frame) -> list[Reason]:
        tongue, scales = self.trials.tongue(design), {"T": box.lapped, "K": box.tongue}
        return [
            judge("tongue", tongue, scales),
            judge("tongue_most", tongue, scales),
            judge("shoulder_depth", box.depth),
            judge("grain_runout", grain_runout(box), scales),
        ]

    def _screw(self, design: Design, box: Frame) -> list[Reason]:
        screw = design.lid.screw
        core = core_mm(screw.diameter)[0]
        share, scales = pilot_share(screw.pilot, core), {"d": screw.diameter}
        return [
            judge("screw_wood", self.trials.screw_wood(design), scales),
            judge("thread", thread_reach(design), scales),
            judge("pilot_least", share),
            judge("pilot_most", share),
            *_code_distances(box, effective_diameter(core)),
        ]


def thread_reach(design: Design) -> float:
    """Return the thread in the wall, mm, at most its height; a screw that is too long or too short breaks a rule."""
    return min(design.lid.screw.length - design.lid.thickness, design.box.height)


def _code_distances(box: Frame, effective: float) -> list[Reason]:
    """Return the rows of EN 1995-1-1: a structural code, told as a warning."""
    edge, end = box.lapped / 2, box.lapped_length / 2
    return [
        judge("en_edge", edge, {"a4c": distance("a4c", effective, _ACROSS)}),
        judge("en_end", end, {"a3t": distance("a3t", effective, 0.0)}),
        judge("en_axial_edge", edge, {"d": effective}),
    ]


def room_inside(box: Frame) -> tuple[float, float, float]:
    """Return the clear length, width and height inside, mm, between walls, base and lid."""
    x, y = box.inside
    return (x, y, box.height) if box.length_axis == "x" else (y, x, box.height)


def spare_room(design: Design) -> tuple[float, float, float] | None:
    """Return what the contents leave of the inside's length, width and height, mm; None where none are given."""
    wanted = design.contents
    if wanted is None:
        return None
    length, width, height = room_inside(frame(design))
    return length - wanted.length, width - wanted.width, height - wanted.height


def _room(design: Design) -> list[Reason]:
    spare = spare_room(design)
    if spare is None or design.contents is None:
        return []
    return [judge("room", min(spare), {"clearance": design.contents.clearance})]


def season_of(design: Design) -> Season | None:
    """Return what the move to its home does to a design's walls; None where it gives no climate."""
    if design.climate is None:
        return None
    making, home = climates(design)
    return season(frame(design), timber_of(design.timber), design.timber.sawing, making, home)


def climates(design: Design) -> tuple[Climate, Climate]:
    """Return the air that a design is made in and lives in; refused where the design gives none."""
    found = design.climate
    if found is None:
        msg = "climate: not given; add a [climate] table with making and home, each a temperature and a humidity"
        raise InputError(msg)
    making, home = (
        Climate(name=name, temperature_c=air.temperature, humidity=air.humidity)
        for name, air in (("the making room", found.making), ("its home", found.home))
    )
    return making, home


def _seasonal(design: Design) -> list[Reason]:
    moved = season_of(design)
    return [] if moved is None else [judge("seasonal_step", moved.worst_step)]


def faults_of(design: Design) -> tuple[str, ...]:
    """Return the shop rules that a section breaks, in words; one of them keeps lid screws out of laps and base."""
    return tuple(map(str, broken_rules(design)))
