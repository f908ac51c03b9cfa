"""One section's figures against the rows of the verdict: what needs no boxes first, then what the boxes show.

sums         : lap, screw, room: a few sums each
warnings     : grain, season, figures that are missing, EN 1995-1-1: never below "with care"
drawn rows   : tongue and screw, with the sampled error of stock, gauge and drill
sampled rows : bond and pass share, over the reference section's on the same makers
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

from assembly.data.tables import SheetMaterial, core_mm
from assembly.materials.bond import grain_runout, joint_area
from assembly.materials.climates import season_of
from assembly.materials.eurocode5 import distance, effective_diameter
from assembly.materials.panels import unpublished
from assembly.materials.screws import pilot_share
from assembly.materials.seasons import Season
from assembly.materials.timbers import walls_of
from assembly.materials.withdrawal import pull_ratio, thread_reach
from assembly.nominal.frame import frame
from assembly.section.trials import paired_passes, paired_ratio
from assembly.section.variants import broken_rules
from assembly.section.verdict import RowResult, Verdict, decide, judge
from assembly.study.check import BoxModel
from assembly.study.intervals import wilson

if TYPE_CHECKING:
    from collections.abc import Iterable

    from assembly.model.design import Design
    from assembly.nominal.frame import Frame
    from assembly.section.trials import Sample, Trials
    from assembly.study.intervals import Estimate

_SURE = 6.0  # standard errors; a glance rejects a section only where all boxes can't well say otherwise
_ENOUGH = 100  # boxes from which a glance has a standard error to rely on


@dataclass(frozen=True)
class Judge:
    """Judges sections against a reference section, both tried by the same makers."""

    trials: Trials
    reference: Design
    _glances: dict[Frame, bool] = field(default_factory=dict, init=False, repr=False)

    @cached_property
    def before(self) -> Sample:
        """The reference section's boxes."""
        return self.trials.sample(self.reference)

    def closed(self, design: Design) -> list[RowResult]:
        """Return the reasons that need no settled box; what the design does not say (contents, climate) has no row."""
        return [*_sums(design), *_warnings(design, self.reference), *_rules(design), *self._drawn(design)]

    def sampled(self, after: Sample) -> list[RowResult]:
        """Return the reasons that come of the boxes."""
        return [
            judge("bond", paired_ratio(self.before.bond, after.bond)),
            judge("pass_share_lost", paired_passes(after, self.before)),
            judge("beyond", wilson(float(after.beyond.sum()), after.boxes)),
        ]

    def verdict(self, design: Design) -> Verdict:
        """Return the verdict on a section, every row judged."""
        return self.verdict_with(design, self.trials.sample(design))

    def verdict_with(self, design: Design, after: Sample) -> Verdict:
        """Return the verdict on a section whose boxes are made already."""
        rows = [*self.closed(design), *self.sampled(after)]
        return decide(rows, reference=self.reference.timber.proven)

    def passing(self, verdict: Verdict) -> Estimate:
        """Return the share of good boxes that a verdict of this judge's goes with."""
        share = self.before.pass_share.value - (verdict.figure_of("pass_share_lost") or 0.0)
        return wilson(round(share * self.before.boxes), self.before.boxes)

    def held(self, design: Design) -> Verdict | None:
        """Return the verdict on a section that holds (no row "not sound"), None of one that does not.

        The cheapest rows are asked first, and boxes are made only where none of the others decides.
        """
        for rows in (_sums, _rules, self._drawn):
            if _fails(rows(design)):
                return None
        if self._bond_fails(design):
            return None
        found = self.verdict(design)
        return None if found.verdict == "not sound" else found

    def _bond_fails(self, design: Design) -> bool:
        """Return whether a section's bond is sure to fail, by area alone or at a glance; asked once for each frame."""
        box = frame(design)
        if box not in self._glances:
            self._glances[box] = self._bond_fails_at_a_glance(design, box)
        return self._glances[box]

    def _bond_fails_at_a_glance(self, design: Design, box: Frame) -> bool:
        closed_all = 4 * joint_area(box) / float(self.before.bond.mean())
        if _fails([judge("bond", closed_all)]):
            return True
        glance = self.trials.glance
        if glance.numbers.size < _ENOUGH:
            return False
        found = glance.bonds(BoxModel(design, self.trials.workshop))
        ratio = paired_ratio(self.before.bond[glance.numbers], found)
        return _fails([judge("bond", ratio.value + _SURE * ratio.standard_error)])

    def _drawn(self, design: Design) -> list[RowResult]:
        tongue, wood = self.trials.tongue(design), self.trials.screw_wood(design)
        scales = {"T": design.timber.lapped}
        return [
            judge("tongue", tongue, scales),
            judge("tongue_most", tongue, scales),
            judge("screw_wood", wood, {"d": design.lid.screw.diameter}),
        ]


def _fails(rows: Iterable[RowResult]) -> bool:
    return any(reason.level == "not sound" for reason in rows)


def _sums(design: Design) -> list[RowResult]:
    """Return the rows that a few sums tell."""
    screw = design.lid.screw
    share = pilot_share(screw.pilot, core_mm(screw.diameter)[0])
    thread = "thread_panel" if isinstance(walls_of(design.timber), SheetMaterial) else "thread"
    return [
        judge("shoulder_depth", frame(design).depth),
        judge(thread, thread_reach(design), {"d": screw.diameter}),
        judge("pilot_least", share),
        judge("pilot_most", share),
        *_room(design),
    ]


def _rules(design: Design) -> list[RowResult]:
    return [judge("rules_broken", float(len(faults_of(design))))]


def _warnings(design: Design, reference: Design) -> list[RowResult]:
    """Return the rows that are never below "with care": season, figures that are missing, grain and the code's."""
    box, walls, moved = frame(design), walls_of(design.timber), season_of(design)
    season = [judge("seasonal_step", moved.worst_step)] if isinstance(moved, Season) else []
    if isinstance(walls, SheetMaterial):
        return [*season, judge("no_figure", float(len(unpublished(walls))))]
    missing = float(isinstance(pull_ratio(reference, design), str))
    effective = effective_diameter(core_mm(design.lid.screw.diameter)[0])
    grain = judge("grain_runout", grain_runout(box), {"K": box.tongue})
    return [*season, judge("no_figure", missing), grain, *_code_distances(box, effective)]


def _code_distances(box: Frame, effective: float) -> list[RowResult]:
    """Return the rows of EN 1995-1-1, for a load along the wall's grain: a structural code, told as a warning."""
    edge, end = box.lapped / 2, box.lapped_length / 2
    return [
        judge("en_edge", edge, {"a4c": distance("a4c", effective)}),
        judge("en_end", end, {"a3t": distance("a3t", effective)}),
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


def _room(design: Design) -> list[RowResult]:
    spare = spare_room(design)
    if spare is None or design.contents is None:
        return []
    return [judge("room", min(spare), {"clearance": design.contents.clearance})]


def faults_of(design: Design) -> tuple[str, ...]:
    """Return the shop rules that a section breaks, in words; one of them keeps lid screws out of laps and base."""
    return tuple(map(str, broken_rules(design)))
