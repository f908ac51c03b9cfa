"""Parts pressed together until they close as far as they can without overlap: the contact programme (MODEL.md, 3).

minimise Σ weight_k s_k over u, with gaps s = g + A u of 0 or more. A knows nothing of boxes: any matrix and weights do.

bearing : as many contact points as unknowns, taken as touching; they fix u and with it all gaps
force   : the dual λ of a contact point, 0 or more, 0 where the gap is open: Aᵀλ = Aᵀw

Forces don't depend on g, so a basis found once can start every box: the programme keeps 16 a pattern, and a box pivots
on (`assembly.contact.dual_simplex`) from the one of greatest -Σ λ g: 7 pivots a box where a single start takes 10. A
list of bases to try in turn would save nothing, as nearly every box rests on a basis of its own.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from assembly.contact.bases import DEPENDENT, good_starts, made_up, scaled, tableaus
from assembly.contact.dual_simplex import DRIFT, NO_POSITION, UNFINISHED, Starts
from assembly.contact.settled import Geometry, Settled, settle
from assembly.errors import SettlingError

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from assembly.arrays import FloatArray, IntArray

PIVOTS = 200  # of one box, after which its tableau is worked out afresh from where it stands; 20 are rare
ROUNDS = 30  # of so many pivots, after which a box is given up
PATIENCE = 2  # rounds by the usual choice of pivots; later ones go by the lowest number, which can't cycle


class ContactProgramme:
    """A contact programme for many right-hand sides.

    Parameters
    ----------
    matrix : (m, n) float64
        A: change of each gap per unit of each unknown; of full column rank on the moves with `equality` @ u = 0.
    weights : (p, m) float64
        p patterns of weights, over 0.
    equality : (n,) float64, optional
        The row c of c u = 0 that every move must keep.
    typical : (m, s) or (m,) float64, optional
        Gaps before settling that are like those to come. Their s bases are the starts; the better they are, the fewer
        the pivots. They change no result beyond rounding.

    Raises
    ------
    SettlingError
        If a number is not finite, a shape does not fit, a weight is not over 0, or the contact points leave an unknown
        free.
    """

    def __init__(
        self,
        matrix: FloatArray,
        weights: FloatArray,
        equality: FloatArray | None = None,
        typical: FloatArray | None = None,
    ) -> None:
        """Find the start bases."""
        self.matrix = _finite("matrix", matrix, ("contact points", "unknowns"))
        points, unknowns = self.matrix.shape
        self.weights = _finite("weights", weights, ("patterns", points))
        if (self.weights <= 0).any():
            where = tuple(np.argwhere(self.weights <= 0)[0].tolist())
            msg = (
                f"contact programme: weights{list(where)} is {self.weights[where]}, must be over 0; "
                "leave out a contact point that is not to count"
            )
            raise SettlingError(msg)
        free = np.eye(unknowns) if equality is None else _kept_by(_finite("equality", equality, (unknowns,)))
        self._reduced = self.matrix @ free
        _check_rank(self._reduced)
        self._needed = self.weights @ self._reduced
        self._geometry = Geometry(matrix=self.matrix, recovery=free @ np.linalg.pinv(self._reduced))
        like = made_up(points) if typical is None else np.reshape(typical, (len(typical), -1))
        like = _finite("typical", like, (points, "boxes"))
        self._starts = good_starts(self._reduced, self.weights, like)

    def settle(self, before: FloatArray, pattern: IntArray) -> Settled:
        """Return where boxes come to rest.

        Parameters
        ----------
        before : (m, k) float64
            g: gaps before settling, boxes on the last axis.
        pattern : (k,) int64
            Which weights each box goes by, 0 to p - 1.

        Raises
        ------
        SettlingError
            If a gap is not finite, a pattern is not there, or a box has no position without overlap.
        """
        before, pattern = self._checked(before, pattern)
        found = self._round(self._starts, before, pattern, 0)
        for number in range(1, ROUNDS):
            late = np.flatnonzero(found.fault == UNFINISHED)
            if not late.size:
                break
            self._go_on(found, late, before, pattern, number)
        if found.fault.any():
            raise SettlingError(_why_not(found.fault, before))
        return found

    def forces(self, settled: Settled, pattern: IntArray) -> FloatArray:
        """Return the force λ (m, k) at every contact point of boxes that `settle` brought to rest by `pattern`."""
        holding = np.swapaxes(self._reduced[settled.bearing.T], 1, 2)
        needed = self._needed[pattern][..., None]
        forces = np.zeros(settled.gaps.shape)
        bearing = settled.bearing.astype(np.int64)
        np.put_along_axis(forces, bearing, np.linalg.solve(holding, needed)[..., 0].T, axis=0)
        return np.maximum(forces, 0)  # below 0 by rounding only

    def _round(self, starts: Starts, before: FloatArray, pattern: IntArray, number: int) -> Settled:
        """Return where boxes stand after at most PIVOTS pivots of the round of this number."""
        patience = PIVOTS if number < PATIENCE else 0
        return settle(starts, self._geometry, before, pattern, patience=patience, limit=PIVOTS)

    def _go_on(self, found: Settled, late: IntArray, before: FloatArray, pattern: IntArray, number: int) -> None:
        """Settle boxes on from where they stand, each from a tableau worked out afresh; change them in `found`."""
        bearing = np.sort(found.bearing[:, late].T.astype(np.int64))[:, None]
        starts = tableaus(self._reduced, self._needed[pattern[late]], bearing)
        again = self._round(starts, np.ascontiguousarray(before[:, late]), np.arange(len(late)), number)
        found.gaps[:, late], found.moves[:, late], found.bearing[:, late] = again.gaps, again.moves, again.bearing
        found.pivots[late] += again.pivots
        found.fault[late] = again.fault

    def _checked(self, before: FloatArray, pattern: IntArray) -> tuple[FloatArray, IntArray]:
        """Return gaps and patterns as the compiled loop needs them."""
        patterns, points = self.weights.shape
        # The loop is compiled for arrays that may be written to; a read-only one would have it compiled again.
        before = np.require(before, np.float64, ["C", "W"])
        pattern = np.require(pattern, np.int64, ["C", "W"])
        if pattern.ndim != 1 or before.shape != (points, pattern.size):
            msg = (
                f"contact programme: gaps before settling are {before.shape} for {pattern.size} patterns, must be "
                f"({points}, {pattern.size}); boxes lie on the last axis"
            )
            raise SettlingError(msg)
        if not np.isfinite(before).all():
            point, box = np.argwhere(~np.isfinite(before))[0].tolist()
            msg = (
                f"box {box}: the gap before settling at contact point {point} is {before[point, box]}, must be finite; "
                "check the errors that it was made from"
            )
            raise SettlingError(msg)
        if pattern.size and (pattern.min() < 0 or pattern.max() >= patterns):
            box = int(np.argmax((pattern < 0) | (pattern >= patterns)))
            msg = f"box {box}: pattern is {pattern[box]}, must be 0 to {patterns - 1}, the number of a row of weights"
            raise SettlingError(msg)
        return before, pattern


def _finite(name: str, value: FloatArray, sizes: tuple[int | str, ...]) -> FloatArray:
    """Return `value` as float64 of its own, refused if it does not have the sizes (a word allows any over 0)."""
    numbers = np.array(value, dtype=np.float64, order="C")
    fits = [isinstance(wanted, str) or wanted == size for wanted, size in zip(sizes, numbers.shape, strict=False)]
    if numbers.ndim != len(sizes) or not all(fits) or not numbers.size:
        wanted = f"({', '.join(map(str, sizes))}{',' if len(sizes) == 1 else ''})"
        msg = f"contact programme: {name} has the shape {numbers.shape}, must be {wanted} with nothing empty"
        raise SettlingError(msg)
    if not np.isfinite(numbers).all():
        where = tuple(np.argwhere(~np.isfinite(numbers))[0].tolist())
        msg = (
            f"contact programme: {name}{list(where)} is {numbers[where]}, must be finite; "
            "check the geometry that it was made from"
        )
        raise SettlingError(msg)
    return numbers


def _kept_by(equality: FloatArray) -> FloatArray:
    """Return a basis (n, n - 1) of the moves with c u = 0: the unknown of the greatest |c| follows from the others."""
    follows = np.abs(equality).argmax()
    if equality[follows] == 0:
        msg = "contact programme: equality is all 0, must tie an unknown; leave it out"
        raise SettlingError(msg)
    free = np.delete(np.eye(len(equality)), follows, axis=1)
    free[follows] = -np.delete(equality, follows) / equality[follows]
    return free


def _check_rank(matrix: FloatArray) -> None:
    """Refuse contact points that leave an unknown free."""
    rank, unknowns = int(np.linalg.matrix_rank(scaled(matrix), tol=DEPENDENT)), matrix.shape[1]
    if rank < unknowns:
        msg = (
            f"contact programme: {len(matrix)} contact points fix {rank} of {unknowns} unknowns, must fix all; "
            "hold an unknown or add a contact point"
        )
        raise SettlingError(msg)


def _why_not(fault: NDArray[np.int8], before: FloatArray) -> str:
    """Return the message for the first box that did not settle."""
    bad = np.flatnonzero(fault)
    box = int(bad[0])
    others = f" (and {len(bad) - 1} more)" if len(bad) > 1 else ""
    if fault[box] == NO_POSITION:
        return (
            f"box {box}{others}: its contact points leave no position without overlap, there must be one; "
            "free an unknown or leave out a contact point"
        )
    return (
        f"box {box}{others}: not settled to {DRIFT} in {ROUNDS} rounds of {PIVOTS} pivots; its gaps before settling "
        f"are up to {np.abs(before[:, box]).max():.3g}, check their unit"
    )
