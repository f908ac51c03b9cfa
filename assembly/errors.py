"""What can go wrong, as a tree; the front door turns each branch into one message and one exit code.

LapwrightError
├── InputError          the design, the workshop or a command's words can't be used  (exit 2)
│   ├── ConfigError     a file that can't be used: every fault found, at once
│   ├── ImpossibleError a design that no box can have: every reason, at once
│   └── NeverGoodError  walls that no number of spare blanks makes good
├── SettlingError       the contact programme can't be solved for these numbers      (exit 2)
├── SolidError          a part came out as a shape that is not the part asked for    (exit 3)
├── ExportError         a file could not be written, or is not what was meant        (exit 3)
├── LibraryError        a library that this command needs could not be loaded        (exit 3)
└── StoppedError        a study was stopped before anything of it was known          (exit 130)
"""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

SHOWN = 3  # lines with the same fault: of more, the first so many are named
LONGEST_KEY = 120  # characters of a key that a message repeats

# Kinds of characters that are not seen but change what is: controls, direction and other marks, halves of characters,
# separators of lines and of paragraphs (Unicode, general category).
_UNSEEN = {"Cc", "Cf", "Cs", "Zl", "Zp"}
_JOINERS = "\u200c\u200d"  # some languages can't be spelt without them


def unseen(character: str) -> bool:
    """Tell whether a character is one that no name may have: it is not seen, but changes what is seen."""
    return unicodedata.category(character) in _UNSEEN and character not in _JOINERS


def escaped(text: str, *, keep: str = "") -> str:
    """Return a text in which every character that is not seen stands as its escape, but for those in `keep`."""
    return "".join(repr(c)[1:-1] if unseen(c) and c not in keep else c for c in text)


class LapwrightError(Exception):
    """Anything that lapwright refuses to do, worded for the person who asked."""

    def __str__(self) -> str:
        """Word the refusal; what a file or a command brought with it reaches no terminal as more than text."""
        return escaped(super().__str__(), keep="\n")


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
        where = self.where if len(self.where) <= LONGEST_KEY else f"{self.where[: LONGEST_KEY - 4]} ..."
        words = escaped(f"{where}: {self.what}")
        return f"line {self.line}: {words}" if self.line else words


def _worded(problems: Sequence[Problem]) -> list[str]:
    """Return a line for each fault; of one that many lines have, one line that names the first of them."""
    same: dict[tuple[str, str] | int, list[Problem]] = {}
    for at, each in enumerate(problems):
        same.setdefault((each.where, each.what) if each.line else at, []).append(each)
    lines = []
    for group in same.values():
        if len(group) <= SHOWN:
            lines += [f"  {each}" for each in group]
            continue
        first = ", ".join(str(each.line) for each in group[:SHOWN])
        lines.append(f"  lines {first} and {len(group) - SHOWN} more: {replace(group[0], line=None)}")
    return lines


class ImpossibleError(InputError):
    """A design that no box can have; `faults` holds every reason."""

    def __init__(self, faults: Sequence[Problem]) -> None:
        """Keep the reasons as they are."""
        self.faults = tuple(faults)
        super().__init__("\n".join(map(str, self.faults)))


class ConfigError(InputError):
    """A file that can't be used; `problems` holds every fault found."""

    def __init__(self, source: str, problems: Sequence[Problem]) -> None:
        """Keep the faults as data and word them once; `source` is the file's name as the user gave it."""
        self.source, self.problems = source, tuple(problems)
        super().__init__("\n".join([f"{escaped(source)}: {len(problems)} to fix", *_worded(problems)]))


class NeverGoodError(InputError):
    """Walls of which too many are spoilt from every blank: of any number of spares a class may run out."""


class SettlingError(LapwrightError):
    """A contact programme that has no settled place, or that does not hold finite numbers."""


class SolidError(LapwrightError):
    """A part that came out empty, open, invalid, or of another volume or size than it should have."""


class ExportError(LapwrightError):
    """A file that could not be written, or that does not read back as what was meant."""


class LibraryError(LapwrightError):
    """A library, or a system library under it, that is missing; the message says what to install."""


class StoppedError(LapwrightError):
    """A study that was stopped before anything of it was known."""

    def __init__(self) -> None:
        """Word it."""
        super().__init__("stopped before anything was known")
