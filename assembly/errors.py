"""What can go wrong, as a tree; the front door turns each branch into one message and one exit code.

LapwrightError
├── InputError          the design, the workshop or a command's words can't be used  (exit 2)
│   └── ConfigError     a file that can't be used: every fault found, at once
├── SettlingError       the contact programme can't be solved for these numbers      (exit 2)
├── SolidError          a part came out as a shape that is not the part asked for    (exit 3)
├── ExportError         a file could not be written, or is not what was meant        (exit 3)
└── LibraryError        a library that this command needs could not be loaded        (exit 3)
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence


class LapwrightError(Exception):
    """Anything that lapwright refuses to do, worded for the person who asked."""


class InputError(LapwrightError):
    """A request that can't be carried out as it was put."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """One fault of a file: its dotted key, its line (None where no line can be named), and what to do about it."""

    where: str
    line: int | None
    what: str  # what was found, what is allowed and the cure, as one sentence

    def __str__(self) -> str:
        """Word the fault as one line of a message."""
        return f"line {self.line}: {self.where}: {self.what}" if self.line else f"{self.where}: {self.what}"


class ConfigError(InputError):
    """A file that can't be used; `problems` holds every fault found."""

    def __init__(self, source: str, problems: Sequence[Problem]) -> None:
        """Keep the faults as data and word them once; `source` is the file's name as the user gave it."""
        self.source, self.problems = source, tuple(problems)
        super().__init__("\n".join([f"{source}: {len(self.problems)} to fix", *(f"  {p}" for p in self.problems)]))


class SettlingError(LapwrightError):
    """A contact programme that has no settled place, or numbers in it that are none."""


class SolidError(LapwrightError):
    """A part that came out empty, open, invalid, or of another volume or size than it should have."""


class ExportError(LapwrightError):
    """A file that could not be written, or that does not read back as what was meant."""


class LibraryError(LapwrightError):
    """A library, or a system library under it, that is missing; the message says what to install."""
