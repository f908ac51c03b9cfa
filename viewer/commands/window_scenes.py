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
from viewer.commands.made_boxes import BoxAsMade, scene_as_made, searched, sought
from viewer.window.state import Bounds, State

if TYPE_CHECKING:
    from multiprocessing.connection import Connection

    from viewer.commands.jobs import Job
    from viewer.commands.made_boxes import Sought
    from viewer.scene.scene import Scene
    from viewer.window.state import Drawn


class Search:
    """The search for one box, in a process of its own."""

    def __init__(self, job: Job, box: Sought, seed: int) -> None:
        """Begin."""
        spawned = multiprocessing.get_context("spawn")  # a forked process would share the window's connection
        self._receiver, sender = spawned.Pipe(duplex=False)
        self.process = spawned.Process(target=search, args=(sender, job, box, seed), daemon=True)
        self.process.start()
        sender.close()
        self._began = time.monotonic()
        self._found: BoxAsMade | LapwrightError | None = None
        self._sought = box.words

    def found(self) -> BoxAsMade | None:
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
                self._found = SolidError(f"The search for {self._sought} ended without a word; run `lapwright worst`.")
        if isinstance(self._found, LapwrightError):
            raise self._found
        return self._found

    def status(self) -> str:
        """Return what is being done and for how long."""
        return f"working: looking for {self._sought}, {time.monotonic() - self._began:.0f} s"

    def end(self) -> None:
        """End it, wherever it is."""
        self.process.kill()
        self.process.join()
        self._receiver.close()


def search(sender: Connection, job: Job, box: Sought, seed: int) -> None:
    """Send a box, or why there is none; what the process of a `Search` does."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C goes to the window, which ends this
    try:
        sender.send(searched(job, box, seed=seed))
    except LapwrightError as error:
        sender.send(SolidError(str(error)))


class Scenes:
    """The scenes of one job, by state."""

    def __init__(self, job: Job, *, seed: int, of: str | None = None) -> None:
        """Build the nominal box and find the sampled one; `of` is the limit whose likeliest bad box is shown."""
        box = jobs.built(job)
        with loading("opening a window"):
            from assembly.planning.making import making_order
            from assembly.solids.as_made import most_times
            from assembly.solids.box import box_arrays

        self.job, self._seed, self._of = job, seed, of
        self._parts, self._order = box_arrays(box), making_order(job.design, job.workshop)
        self.sampled = jobs.sampled(job, seed=seed)
        self._searches: dict[Drawn, Search] = {}
        self._known: dict[tuple[Drawn, float, int], Scene] = {}
        self._bounds = Bounds(steps=len(self._order.steps), p95=most_times(self.sampled))
        self.materials = {part.facts.name: part.facts.material for part in box.parts}

    def bounds(self) -> Bounds:
        """Return what the state may be, as far as it is known by now."""
        for drawn, begun in self._searches.items():
            try:
                found = begun.found()
            except LapwrightError:
                continue
            if found is not None and self._sought(drawn):
                from assembly.solids.as_made import most_times

                most, now = most_times(found.settled), self._bounds
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
        if state.drawn == "nominal":
            return jobs.scene_of(self.job, self._parts, self.sampled)
        if state.drawn == "p95":
            return scene_as_made(self.job, BoxAsMade(settled=self.sampled), state.times)
        if state.drawn not in self._searches:
            box = sought(self.job, state.drawn, self._of, self.sampled)
            self._searches[state.drawn] = Search(self.job, box, self._seed)
        begun = self._searches[state.drawn]
        found = begun.found()
        # What `bounds` has not come to yet is still looked for: a box is never asked for beyond what can be drawn.
        if found is None or self._sought(state.drawn):
            return begun.status()
        return scene_as_made(self.job, found, state.times)
