"""What a window is opened on: the scenes that its states ask for, and the searches beside it for boxes.

A search takes seconds, so it runs in a process of its own, begun when what it looks for is first asked for and ended
with the window. Every other scene is built when it is asked for, in less than a second, and kept.
"""

from __future__ import annotations

import multiprocessing
import signal
import time
from dataclasses import replace
from typing import TYPE_CHECKING

from assembly.errors import LapwrightError, SolidError
from viewer.commands import jobs
from viewer.commands.libraries import loading
from viewer.window.state import Bounds, State

if TYPE_CHECKING:
    from collections.abc import Callable
    from multiprocessing.connection import Connection

    from assembly.made.records import SettledBox
    from viewer.commands.jobs import Job
    from viewer.scene.scene import Scene
    from viewer.window.state import Drawn

    Found = tuple[SettledBox, bool] | tuple[SettledBox, bool, str]  # the box, if beyond first order, what is said of it


class LimitSearch:
    """The search for the limit case of one joint, in a process of its own."""

    sought = "the limit case"

    def __init__(self, job: Job, corner: str, seed: int) -> None:
        """Begin."""
        from assembly.nominal.frame import corner_words  # numpy

        spawned = multiprocessing.get_context("spawn")  # a forked process would share the window's connection
        self._receiver, sender = spawned.Pipe(duplex=False)
        self.process = spawned.Process(target=self.work(), args=(sender, job, corner, seed), daemon=True)
        self.process.start()
        sender.close()
        self._began = time.monotonic()
        self._found: Found | LapwrightError | None = None
        self.words = f"working: looking for {self.sought} of the {corner_words(corner)} joint"

    @staticmethod
    def work() -> Callable[[Connection, Job, str, int], None]:
        """Return what the process does."""
        return search_limit

    def found(self) -> Found | None:
        """Return what was found, or None while the search goes on.

        Raises
        ------
        LapwrightError
            If it failed.
        """
        if self._found is None and self._receiver.poll():
            try:
                self._found = self._receiver.recv()
            except EOFError:
                self._found = SolidError(f"The search for {self.sought} ended without a word; run `lapwright worst`.")
        if isinstance(self._found, LapwrightError):
            raise self._found
        return self._found

    def status(self) -> str:
        """Return what is being done and for how long."""
        return f"{self.words}, {time.monotonic() - self._began:.0f} s"

    def end(self) -> None:
        """End it, wherever it is."""
        self.process.kill()
        self.process.join()
        self._receiver.close()


def search_limit(sender: Connection, job: Job, corner: str, seed: int) -> None:
    """Send the limit case of a joint, or why there is none; what the process of a `LimitSearch` does."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C goes to the window, which ends this
    try:
        sender.send(jobs.limit_case(job, corner, seed=seed))
    except LapwrightError as error:
        sender.send(SolidError(str(error)))


class LikeliestSearch(LimitSearch):
    """The search for the likeliest bad box of one joint, in a process of its own."""

    sought = "the likeliest bad box"

    @staticmethod
    def work() -> Callable[[Connection, Job, str, int], None]:
        """Return what the process does."""
        return search_likeliest


def search_likeliest(sender: Connection, job: Job, corner: str, seed: int) -> None:
    """Send the likeliest bad box of a joint, or why there is none; what the process of a `LikeliestSearch` does."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C goes to the window, which ends this
    try:
        of = corner if job.design.limits.joint_gap else None  # without it, the first limit's
        sender.send(jobs.likeliest_shown(job, of, jobs.sampled(job, seed=seed), seed=seed))
    except LapwrightError as error:
        sender.send(SolidError(str(error)))


class Scenes:
    """The scenes of one job, by state."""

    def __init__(self, job: Job, *, seed: int) -> None:
        """Build the nominal box and find the sampled one."""
        box = jobs.built(job)
        with loading("opening a window"):
            from assembly.planning.making import making_order
            from assembly.solids.as_made import most_times
            from assembly.solids.box import box_arrays

        self.job, self._seed = job, seed
        self._parts, self._order = box_arrays(box), making_order(job.design, job.workshop)
        self.sampled = jobs.sampled(job, seed=seed)
        self._searches: dict[Drawn, LimitSearch] = {}
        self._known: dict[tuple[Drawn, float, int], Scene] = {}
        self._bounds = Bounds(steps=len(self._order.steps), p95=most_times(self.sampled))
        self.materials = {part.facts.name: part.facts.material for part in box.parts}

    def bounds(self) -> Bounds:
        """Return what the state may be, as far as it is known by now."""
        for drawn, search in self._searches.items():
            try:
                found = search.found()
            except LapwrightError:
                continue
            if found is not None and self._sought(drawn):
                from assembly.solids.as_made import most_times

                most, now = most_times(found[0]), self._bounds
                self._bounds = replace(now, limit=most) if drawn == "limit" else replace(now, likeliest=most)
        return self._bounds

    def ready(self, state: State) -> bool:
        """Whether a state's scene is there at once: built before, the nominal box, or still being looked for."""
        known = state.scene_key in self._known or state.scene_key[0] == "nominal"
        return known or self._sought(state.drawn)

    def _sought(self, drawn: Drawn) -> bool:
        """Whether a box has to be looked for, and is not known to be found yet."""
        known = {"limit": self._bounds.limit, "likeliest": self._bounds.likeliest}
        return drawn in known and known[drawn] is None

    def scene(self, state: State) -> Scene | str:
        """Return a state's scene; or in words what is being worked out before it can be had.

        Raises
        ------
        LapwrightError
            If it can't be built, or the search for it failed.
        """
        if state.scene_key not in self._known:
            found = self._built(state)
            if isinstance(found, str):
                return found
            self._known[state.scene_key] = found
        return self._known[state.scene_key]

    def end(self) -> None:
        """End the searches that are going on."""
        for search in self._searches.values():
            search.end()

    def _built(self, state: State) -> Scene | str:
        if state.step:
            from assembly.made.gap_classes import gap_scale_of
            from viewer.scene.step_scene import step_scene

            design = self.job.design
            return step_scene(self._order, state.step, self._parts, design.name, gap_scale_of(design))
        corner = jobs.widest_joint(self.sampled)
        if state.drawn not in {"limit", "likeliest"}:
            return self._box(state, (self.sampled, False), None)
        if state.drawn not in self._searches:
            kind = LimitSearch if state.drawn == "limit" else LikeliestSearch
            self._searches[state.drawn] = kind(self.job, corner, self._seed)
        search = self._searches[state.drawn]
        case = search.found()
        # What `bounds` has not come to yet is still looked for: a box is never asked for beyond what can be drawn.
        if case is None or self._sought(state.drawn):
            return search.status()
        return self._box(state, case, corner if state.drawn == "limit" else None)

    def _box(self, state: State, case: Found, limit_of: str | None) -> Scene:
        """Return the box with its joints marked, nominal or as one was made."""
        from assembly.solids.as_made import as_made

        settled, beyond, *said = case
        if state.drawn == "nominal":
            return jobs.scene_of(self.job, self._parts, settled)
        parts, made = as_made(self.job.design, settled, state.times, limit_of)
        return jobs.scene_of(self.job, parts, settled, made=replace(made, beyond=beyond, bad="".join(said)))
