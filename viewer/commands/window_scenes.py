"""What a window is opened on: the scenes that its states ask for, and the search for the limit case beside it.

The search takes seconds, so it runs in a process of its own, begun when the limit case is first asked for and ended
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
    from multiprocessing.connection import Connection

    from assembly.made.records import SettledBox
    from viewer.commands.jobs import Job
    from viewer.scene.scene import Scene
    from viewer.window.state import Drawn

    Found = tuple[SettledBox, bool]  # the box, and whether it is beyond the model's first order


class LimitSearch:
    """The search for the limit case of one joint, in a process of its own."""

    def __init__(self, job: Job, corner: str, seed: int) -> None:
        """Begin."""
        from assembly.nominal.frame import corner_words  # numpy

        spawned = multiprocessing.get_context("spawn")  # a forked process would share the window's connection
        self._receiver, sender = spawned.Pipe(duplex=False)
        self.process = spawned.Process(target=search_limit, args=(sender, job, corner, seed), daemon=True)
        self.process.start()
        sender.close()
        self._began = time.monotonic()
        self._found: Found | LapwrightError | None = None
        self.words = f"working: looking for the limit case of the {corner_words(corner)} joint"

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
                self._found = SolidError("The search for the limit case ended without a word; run `lapwright worst`.")
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
        self._search: LimitSearch | None = None
        self._known: dict[tuple[Drawn, float, int], Scene] = {}
        self._bounds = Bounds(steps=len(self._order.steps), p95=most_times(self.sampled))
        self.materials = {part.facts.name: part.facts.material for part in box.parts}

    def bounds(self) -> Bounds:
        """Return what the state may be, as far as it is known by now."""
        try:
            found = self._search.found() if self._search else None
        except LapwrightError:
            return self._bounds
        if found is not None and self._bounds.limit is None:
            from assembly.solids.as_made import most_times

            self._bounds = replace(self._bounds, limit=most_times(found[0]))
        return self._bounds

    def ready(self, state: State) -> bool:
        """Whether a state's scene is there at once: built before, the nominal box, or still being looked for."""
        known = state.scene_key in self._known or state.scene_key[0] == "nominal"
        return known or (state.drawn == "limit" and self._bounds.limit is None)

    def scene(self, state: State) -> Scene | str:
        """Return a state's scene; or in words what is being worked out before it can be had.

        Raises
        ------
        LapwrightError
            If it can't be built, or the search for the limit case failed.
        """
        if state.scene_key not in self._known:
            found = self._built(state)
            if isinstance(found, str):
                return found
            self._known[state.scene_key] = found
        return self._known[state.scene_key]

    def end(self) -> None:
        """End the search, where one is going on."""
        if self._search is not None:
            self._search.end()

    def _built(self, state: State) -> Scene | str:
        if state.step:
            from assembly.made.gap_classes import gap_scale_of
            from viewer.scene.step_scene import step_scene

            design = self.job.design
            return step_scene(self._order, state.step, self._parts, design.name, gap_scale_of(design))
        if state.drawn != "limit":
            return self._box(state, (self.sampled, False), None)
        if self._search is None:
            self._search = LimitSearch(self.job, jobs.widest_joint(self.sampled), self._seed)
        case = self._search.found()
        # What `bounds` has not come to yet is still looked for: a box is never asked for beyond what can be drawn.
        if case is None or self._bounds.limit is None:
            return self._search.status()
        return self._box(state, case, jobs.widest_joint(self.sampled))

    def _box(self, state: State, case: Found, limit_of: str | None) -> Scene:
        """Return the box with its joints marked, nominal or as one was made."""
        from assembly.solids.as_made import as_made

        settled, beyond = case
        if state.drawn == "nominal":
            return jobs.scene_of(self.job, self._parts, settled)
        parts, made = as_made(self.job.design, settled, state.times, limit_of)
        return jobs.scene_of(self.job, parts, settled, made=replace(made, beyond=beyond))
