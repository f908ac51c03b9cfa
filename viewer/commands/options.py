"""Words of the command line: lists in its help, and what is said of an option or a design that is missing."""

from __future__ import annotations

import math
import re
import textwrap
from collections.abc import Mapping
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

import typer
from typer.core import TyperGroup
from typer.exceptions import TyperException

from assembly.errors import InputError
from assembly.text import near_names

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

HELP_WIDTH = 74  # letters, of the 80 of an old console
_UNUSABLE = "these words can't be used; lapwright --help says what can"
SPELT = 0.75  # how alike two words are that are taken for one misspelt, of 1


def listed(title: str, rows: Mapping[str, str]) -> str:
    """Return a list for the end of a help text, a row a line; help leaves lines after a backspace as they are."""
    lines = [textwrap.fill(f"{name}: {words}", HELP_WIDTH, subsequent_indent="    ") for name, words in rows.items()]
    return "\n".join(["\b", f"{title}:", *lines])


class OnDemand(Mapping[str, Any]):
    """Commands by name, each built when it is first asked for: to build all takes a tenth of the time of `--help`."""

    def __init__(self, functions: Sequence[Callable[..., None]], epilogs: Mapping[str, str]) -> None:
        """Take the functions behind them, in the order in which help lists them, and what ends the help of some."""
        self._functions = {function.__name__: function for function in functions}
        self._epilogs = epilogs
        self._built: dict[str, Any] = {}

    def __getitem__(self, name: str) -> Any:  # noqa: ANN401 - typer's own type
        """Return a command."""
        if name not in self._built:
            alone = typer.Typer(add_completion=False, pretty_exceptions_enable=False, rich_markup_mode=None)
            alone.command(epilog=self._epilogs.get(name))(self._functions[name])
            self._built[name] = typer.main.get_command(alone)
        return self._built[name]

    def __iter__(self) -> Iterator[str]:
        """Yield their names."""
        return iter(self._functions)

    def __len__(self) -> int:
        """Return how many there are."""
        return len(self._functions)


class Commands(TyperGroup):
    """The commands; words on the command line that do not fit are refused in our own words."""

    on_demand: OnDemand  # of a subclass: the commands

    def __init__(self, **given: Any) -> None:  # noqa: ANN401 - typer's own types
        """Take what typer makes of the app, which registers no commands of its own."""
        super().__init__(**given)
        self.commands = self.on_demand  # type: ignore[assignment] # it is only read

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:  # noqa: ANN401 - typer's own types
        """Read the words before a command's own."""
        with _in_our_words(self.commands):
            return super().parse_args(ctx, args)

    def invoke(self, ctx: Any) -> Any:  # noqa: ANN401 - the same
        """Run the command that was asked for."""
        with _in_our_words(self.commands):
            return super().invoke(ctx)


@contextmanager
def _in_our_words(commands: Mapping[str, Any]) -> Iterator[None]:
    """Turn what typer refuses into an InputError; its kinds of refusals are private to it, so their names decide.

    Raises
    ------
    InputError
        If words do not fit a command.
    """
    try:
        yield
    except TyperException as refusal:
        if type(refusal).__name__ == "NoArgsIsHelpError":  # its words are the help
            raise
        word = _WORDS.get(type(refusal).__name__)
        raise InputError((word(refusal, commands) if word else "") or _UNUSABLE) from None


def _no_such_option(refusal: Any, commands: Mapping[str, Any]) -> str:  # noqa: ANN401 - typer's own types
    command = refusal.ctx.command
    if command.name in commands:
        return unknown_option(refusal.option_name, command, commands.values())
    return f"{refusal.option_name}: comes before a command; give a command first: {', '.join(commands)}"


def _missing(refusal: Any, _: Mapping[str, Any]) -> str:  # noqa: ANN401 - the same
    wanted = refusal.param.help.rstrip(".")
    return f"{refusal.param.metavar}: missing; give {wanted[0].lower()}{wanted[1:]}"


def _no_number(refusal: Any, _: Mapping[str, Any]) -> str:  # noqa: ANN401 - the same
    """Return what is said of a number that is not spelt as one; nothing of other refusals."""
    faults = refusal.__cause__.errors() if hasattr(refusal.__cause__, "errors") else ()
    for fault in faults:
        kind, found = str(fault["type"]).partition("_")[0], str(fault["input"])
        if kind in {"int", "float"}:
            allowed = "a whole number" if kind == "int" else "a number"
            return f"{refusal.param.opts[-1]}: got {found!r}, must be {allowed}{_spelt(found, kind)}"
    return ""


def _spelt(found: str, kind: str) -> str:
    """Return how a number is spelt that was given with commas, blanks or an exponent; nothing where it is none."""
    try:
        number = float(found.replace(",", "." if kind == "float" else "").replace(" ", ""))
    except ValueError:
        return ""
    if kind == "float":
        return f"; write {number:g}" if math.isfinite(number) else ""
    return f"; write {number:.0f}" if math.isfinite(number) and number == round(number) else ""


def _value_of(refusal: Any, _: Mapping[str, Any]) -> str:  # noqa: ANN401 - the same
    if "not take" in refusal.message:
        return f"{refusal.option_name}: takes no value; leave out the = and what follows it"
    return f"{refusal.option_name}: needs a value after it"


def _other(refusal: Any, commands: Mapping[str, Any]) -> str:  # noqa: ANN401 - the same
    command = refusal.ctx.command
    if command.name in commands:
        given = re.search(r" \((.*)\)$", refusal.message)
        return f"{given[1]}: {command.name} takes no more words; an option begins with --" if given else ""
    given, names = re.search(r"command '(.*?)'\.", refusal.message), ", ".join(commands)
    if not given:
        return f"a command is missing; commands are {names}"
    near = near_names(given[1], commands)
    return f"{given[1]}: no such command; {f'did you mean {near[0]}?' if near else f'commands are {names}'}"


_WORDS: dict[str, Callable[[Any, Mapping[str, Any]], str]] = {
    "NoSuchOption": _no_such_option,
    "MissingParameter": _missing,
    "BadParameter": _no_number,
    "BadOptionUsage": _value_of,
    "UsageError": _other,
}


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
