"""What a window is opened on, kept up with its files: where they change on disk, they are read again.

mark : what tells one state of a file from another: when it was written, how long it is, and which file it is
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from assembly.errors import ConfigError, LapwrightError
from viewer.commands import jobs
from viewer.commands.window_scenes import Scenes

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from assembly.made.records import SettledBox
    from viewer.commands.jobs import Job
    from viewer.scene.scene import Scene
    from viewer.window.state import Bounds, State

    Mark = tuple[int, int, int] | None  # None where there is no file


def mark_of(file: Path) -> Mark:
    """Return the mark of a file."""
    try:
        found = file.stat()
    except OSError:
        return None
    return found.st_mtime_ns, found.st_size, found.st_ino


class WatchedFiles:
    """Files, and as what they were read last."""

    def __init__(self, files: Sequence[Path]) -> None:
        """Take them as they are now."""
        self.files = tuple(files)
        self._read = self._last = self._marks()

    def changed(self) -> bool:
        """Whether they are others than those read, and lie still since the last look: a half-written one does not."""
        now = self._marks()
        still, self._last = now == self._last, now
        return still and now != self._read

    def taken(self) -> None:
        """Take them as read."""
        self._read = self._last = self._marks()

    def _marks(self) -> tuple[Mark, ...]:
        return tuple(mark_of(file) for file in self.files)


class WatchedScenes:
    """The scenes of a job, by state; those of the job as its files have it now, once they are read again."""

    def __init__(self, job: Job, *, seed: int, of: str | None = None) -> None:
        """Build the nominal box and find the sampled one; `of` is the limit whose likeliest bad box is shown."""
        self._seed, self._of = seed, of
        self._files = WatchedFiles(jobs.files_of(job))
        self._scenes = Scenes(job, seed=seed, of=of)

    @property
    def job(self) -> Job:
        """The job whose scenes these are."""
        return self._scenes.job

    @property
    def sampled(self) -> SettledBox:
        """The sampled box."""
        return self._scenes.sampled

    @property
    def materials(self) -> Mapping[str, str]:
        """The material of every part, by name."""
        return self._scenes.materials

    def bounds(self) -> Bounds:
        """Return what the state may be, as far as it is known by now."""
        return self._scenes.bounds()

    def ready(self, state: State) -> bool:
        """Whether a state's scene is there at once."""
        return self._scenes.ready(state)

    def scene(self, state: State) -> Scene | str:
        """Return a state's scene; or in words what is being worked out before it can be had."""
        return self._scenes.scene(state)

    def changed(self) -> bool:
        """Whether the files on disk are others than those that were read."""
        return self._files.changed()

    def reload(self) -> tuple[str, ...]:
        """Read the files again and show the box that they have now; where they have faults, keep the last good one.

        Returns
        -------
        tuple of str
            The faults, a line each; none where the box was read.
        """
        self._files.taken()
        try:
            job = jobs.read_again(self.job)
            files = WatchedFiles(jobs.files_of(job))
            scenes = Scenes(job, seed=self._seed, of=self._of)
        except ConfigError as error:
            return tuple(f"{error.source}, {problem}" for problem in error.problems)
        except LapwrightError as error:
            return (str(error),)
        self._scenes.end()
        self._scenes, self._files = scenes, files
        return ()

    def end(self) -> None:
        """End the searches that are going on."""
        self._scenes.end()
