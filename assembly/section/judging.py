"""One section's figures against the rows of the verdict: what needs no boxes first, then what the boxes show.

sums         : lap, plain wall, screw, room: a few sums each
timber rows  : grain, season, damp, figures that are missing, and EN 1995-1-1, which is information only
drawn rows   : tongue and screw, with the sampled error of stock, gauge and drill
sampled rows : bond and good boxes, over the reference section's on the same makers, and errors too large to predict
refused      : `assembly.study.check` says nothing of such a box: a rule is broken, or errors are too large to predict
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
from assembly.materials.sheets import DRY_HUMIDITY, is_mdf
from assembly.materials.timbers import walls_of
from assembly.materials.withdrawal import pull_ratio, thread_reach
from assembly.nominal.frame import frame
from assembly.section.trials import paired_passes, paired_ratio
from assembly.section.variants import broken_rules
from assembly.section.verdict import RowResult, Verdict, decide, judge
from assembly.study.check import REFUSED_BEYOND, BoxModel
from assembly.study.intervals import wilson

if TYPE_CHECKING:
    from collections.abc import Iterable

    from assembly.model.design import Design
    from assembly.nominal.frame import Frame
    from assembly.section.trials import Sample, Trials
    from assembly.study.intervals import Estimate

_SURE = 6.0  # standard errors; a glance rejects a section only where all boxes can't well say otherwise
_WALLS = 4
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
        return [*_sums(design), *_of_timber(design, self.reference), *_rules(design), *self._drawn(design)]

    def sampled(self, after: Sample) -> list[RowResult]:
        """Return the reasons that come of the boxes."""
        return [
            judge("bond", paired_ratio(self.before.bond, after.bond)),
            judge("pass_share_lost", paired_passes(after, self.before)),
            judge("good_boxes", after.pass_share),
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
        return next(row.figure for row in verdict.reasons if row.row == "good_boxes")

    def held(self, design: Design) -> Verdict | None:
        """Return the verdict on a section that holds: no row fails and no good boxes are lost; None of another.

        The cheapest rows are asked first, and boxes are made only where none of the others decides.
        """
        for rows in (_sums, _rules, self._timber, self._drawn):
            if _fails(rows(design)):
                return None
        if self._bond_fails(design):
            return None
        found = self.verdict(design)
        return None if found.fails or found.level_of("pass_share_lost") != "sound" else found

    def _timber(self, design: Design) -> list[RowResult]:
        return _of_timber(design, self.reference)

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
    return any(reason.fails for reason in rows)


def refused(verdict: Verdict) -> bool:
    """Return whether `assembly.study.check` refuses the box: a rule is broken, or too many errors are too large."""
    return bool(verdict.figure_of("rules_broken")) or (verdict.figure_of("beyond") or 0.0) > REFUSED_BEYOND


def _sums(design: Design) -> list[RowResult]:
    """Return the rows that a few sums tell."""
    screw = design.lid.screw
    share = pilot_share(screw.pilot, core_mm(screw.diameter)[0])
    thread = "thread_panel" if isinstance(walls_of(design.timber), SheetMaterial) else "thread"
    return [
        judge("shoulder_depth", frame(design).depth),
        judge("plain_wall", design.timber.plain),
        judge(thread, thread_reach(design), {"d": screw.diameter}),
        judge("pilot_least", share),
        judge("pilot_most", share),
        *_room(design),
    ]


def _rules(design: Design) -> list[RowResult]:
    return [judge("rules_broken", float(len(broken_rules(design))))]


def _of_timber(design: Design, reference: Design) -> list[RowResult]:
    """Return the rows of what the walls are made of: season, damp, missing figures, grain, cupping, the code's."""
    box, walls = frame(design), walls_of(design.timber)
    season = _seasons(design)
    if isinstance(walls, SheetMaterial):
        return [*season, judge("no_figure", float(len(unpublished(walls))))]
    missing = float(isinstance(pull_ratio(reference, design), str))
    effective = effective_diameter(core_mm(design.lid.screw.diameter)[0])
    grain = judge("grain_runout", grain_runout(box), {"K": box.tongue})
    cupping = [] if design.timber.sawing == "quarter" else [judge("cupping", box.height)]
    return [*season, judge("no_figure", missing), grain, *cupping, *_code_distances(box, effective)]


def _seasons(design: Design) -> list[RowResult]:
    """Return the rows of the move to the box's home; none where the design gives no climate."""
    if design.climate is None:
        return []
    moved = season_of(design)
    steps = [judge("seasonal_step", moved.worst_step)] if isinstance(moved, Season) else []
    tops = [judge("seasonal_top", moved.top_step)] if isinstance(moved, Season) else []
    walls = [design.timber.name] * _WALLS
    swelling = sum(map(is_mdf, [*walls, design.base.material, design.lid.material]))
    damp = swelling if design.climate.home.humidity > DRY_HUMIDITY else 0
    return [*steps, *tops, judge("damp_mdf", float(damp))]


def _code_distances(box: Frame, effective: float) -> list[RowResult]:
    """Return the rows of EN 1995-1-1, for a load along the wall's grain: a structural code, given as a warning."""
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
