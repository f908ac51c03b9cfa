"""Words of the command line: lists in its help, and what is said of an option or a design that is missing."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING, Any

from typer.core import TyperGroup

from assembly.errors import InputError
from assembly.text import near_names

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

HELP_WIDTH = 74  # letters, of the 80 of an old console
SPELT = 0.75  # how alike two words are that are taken for one misspelt, of 1


def listed(title: str, rows: Mapping[str, str]) -> str:
    """Return a list for the end of a help text, a row a line; help leaves lines after a backspace as they are."""
    lines = [textwrap.fill(f"{name}: {words}", HELP_WIDTH, subsequent_indent="    ") for name, words in rows.items()]
    return "\n".join(["\b", f"{title}:", *lines])


class Commands(TyperGroup):
    """The commands; one that is given an option that it does not have names those that are near."""

    def invoke(self, ctx: Any) -> Any:  # noqa: ANN401 - typer's own types, which it keeps to itself
        """Run the command that was asked for."""
        try:
            return super().invoke(ctx)
        except Exception as error:
            asked, command = getattr(error, "option_name", None), getattr(getattr(error, "ctx", None), "command", None)
            if isinstance(asked, str) and command and hasattr(error, "possibilities") and hasattr(error, "message"):
                error.possibilities = None
                error.message = unknown_option(asked, command, self.commands.values())
            raise


def _options(command: Any) -> Iterator[tuple[str, str | None]]:  # noqa: ANN401 - see `Commands.invoke`
    """Yield every option of a command in the order of its help, with the word for what it takes."""
    for each in command.params:
        for name in each.opts:
            if name.startswith("--"):
                yield name, each.metavar


def unknown_option(asked: str, command: Any, commands: Any) -> str:  # noqa: ANN401 - see `Commands.invoke`
    """Return the message on an option that `command` does not have.

    Near is one that is spelt alike, or that takes what the option takes where another command has it: `--plots` is the
    folder of a command without `--to`. Where none is near, all are named.
    """
    mine = dict(_options(command))
    takes = {takes for each in commands for name, takes in _options(each) if name == asked and takes}
    near = [name for name, word in mine.items() if word in takes] or near_names(asked, mine, alike=SPELT)
    cure = f"did you mean {' or '.join(near)}?" if near else f"it has {', '.join(mine)}"
    return f"{asked}: {command.name} has no such option; {cure}"


def second_of(first: str, second: str | None, then: Sequence[str] | None, workshops: Sequence[str] | None) -> str:
    """Return the second design of a comparison: the first again, where a change or two workshops are given.

    Raises
    ------
    InputError
        If nothing is given to compare the first with.
    """
    if second is not None:
        return second
    if then or len(workshops or ()) == 2:
        return first
    msg = (
        f"B: missing, and {first} would be compared with itself; give a second design, or change the first by --then, "
        f"such as --then timber.plain=9, or give --workshop twice"
    )
    raise InputError(msg)
