"""One change to a design or to how it is made, and what several of them are together.

    change = Change(kind="squared", words="...", settings=(design_setting("glue_up", to="squared"),))
    change.lines  # ("--set glue_up=squared",)

A change says what it sets, key by key, so that it can be typed after `--set`, pasted into a file, and applied
(`assembly.changes.apply`), with the same figures each way. Changes are taken together only where no two of them decide
the same number: then their order does not matter.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING, Any, Literal

from assembly.errors import InputError
from assembly.files.settings import THEN, Setting, key_words, setting_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.files.settings import File, KeyPath

Kind = Literal[
    "asked",  # typed by somebody
    "combined",
    "half the spread",
    "no bias",
    "aid",
    "shoulder from",
    "squared",
    "one more paring",
    "overlength",
    "left to sand",
    "gauge side",
    "marked through",
    "section",
    "lap share",
    "lapped",
    "plain",
    "screw",
    "inside",
    "height",
    "not proven",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One change: its kind, what it is about, what it is in words, what it sets, and what it costs where that is known.

    `replaces` are the numbers that stand otherwise with it though it does not set them itself: those of an aid.
    """

    kind: Kind
    what: str = ""  # the operation or aid that it is about; empty where the kind says all
    words: str
    settings: tuple[Setting, ...]
    replaces: tuple[Setting, ...] = ()
    money: float | None = None  # in the currency of the school's own table; None where it is not known
    minutes: float | None = None  # of a maker's time; None where it is not known

    @property
    def lines(self) -> tuple[str, ...]:
        """Return what is pasted into a command line, one `--set KEY=VALUE` each."""
        return tuple(setting.words for setting in self.settings)

    def touches(self, file: File, key: KeyPath) -> bool:
        """Tell whether it sets a key, a key below it, or the table that the key stands in."""
        return any(each.file == file and _one_in_the_other(each.key, key) for each in self.settings)


def asked(texts: Sequence[str] = (), then: Sequence[str] = ()) -> Change:
    """Return the change that somebody typed, `key=value` each, after `--set` and after `--then`.

    Of a key that is given twice the last counts. A text that is no `key=value` is a fault where the change is applied
    or a file is read with it.
    """
    settings = (*(setting_of(text) for text in texts), *(setting_of(text, THEN) for text in then))
    return Change(kind="asked", words=", ".join([*texts, *then]), settings=settings)


def combined(*changes: Change) -> Change:
    """Return several changes as one, whatever their order; what it costs is known where it is known of each.

    Raises
    ------
    InputError
        If two of them decide the same number, unless both set it to the same value.
    """
    for one, other in combinations(changes, 2):
        _refuse_clash(one, other)
    unlike: list[Setting] = []
    for setting in (each for change in changes for each in change.settings):
        if setting not in unlike:
            unlike.append(setting)
    return Change(
        kind="combined",
        words=" and ".join(change.words for change in changes),
        settings=tuple(unlike),
        replaces=tuple(each for change in changes for each in change.replaces),
        money=_sum([change.money for change in changes]),
        minutes=_sum([change.minutes for change in changes]),
    )


def _refuse_clash(one: Change, other: Change) -> None:
    for mine in (*one.settings, *one.replaces):
        for its in (*other.settings, *other.replaces):
            both_set = mine in one.settings and its in other.settings
            alike = mine.file == its.file and _one_in_the_other(mine.key, its.key)
            if alike and not (both_set and mine == its):
                longer = max(mine, its, key=lambda each: len(each.key))
                msg = (
                    f"these can't be taken together, as both decide {key_words(longer.file, longer.key)}: "
                    f"{one.words}; {other.words}"
                )
                raise InputError(msg)


def _one_in_the_other(one: KeyPath, other: KeyPath) -> bool:
    """Tell whether two keys are the same, or one is a table that the other stands in."""
    shared = min(len(one), len(other))
    return shared > 0 and one[:shared] == other[:shared]


def _sum(costs: Sequence[float | None]) -> float | None:
    known = [cost for cost in costs if cost is not None]
    return sum(known) if len(known) == len(costs) else None


def design_setting(*key: str, to: Any) -> Setting:  # noqa: ANN401 - whatever a file may hold
    """Return the setting of a design's key."""
    return Setting(file="design", key=key, value=to)


def workshop_setting(*key: str, to: Any) -> Setting:  # noqa: ANN401 - whatever a file may hold
    """Return the setting of a workshop's key, as it stands in the file: `("operations", "saw", "offset", "spread")`."""
    return Setting(file="workshop", key=key, value=to)
