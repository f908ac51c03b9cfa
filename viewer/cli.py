"""The front door: every command, in the order in which they are listed, and how each of them ends.

Results go to standard output, errors and progress to the error stream. Exit codes:
0 done, and for `check` every limit kept by the required share of boxes; 1 `check` found that it is not;
2 the input can't be used; 3 a file can't be written or a library can't be loaded; 130 interrupted; 143 terminated.
"""

from __future__ import annotations

import sys

import typer

from assembly.errors import ExportError, LapwrightError, LibraryError, SolidError, StoppedError, escaped
from assembly.model.outcomes import OUTCOMES
from viewer.commands import options
from viewer.commands.printing import INTERRUPTED, NOT_WRITTEN, TERMINATED
from viewer.front import learning, ordering, printed, shown, studies

UNUSABLE = 2
EXIT_CODES = {
    "0": "done; of check and section, good enough",
    "1": "check, advise or section: not good enough, however close",
    "2": "the input can't be used; nothing was written",
    "3": "a file can't be written, or a library can't be loaded",
    "130": "stopped by Ctrl-C; a study prints what is known so far, marked as partial",
    "143": "ended by SIGTERM, with nothing printed or left half-written",
}

OUTCOME_LIST = options.listed("Outcomes", {each.label: each.means for each in OUTCOMES.values()})
COMMANDS = (
    studies.check,
    studies.causes,
    studies.advise,
    studies.worst,
    studies.compare,
    shown.demo,
    shown.picture,
    shown.view,
    shown.page,
    shown.export,
    printed.sheets,
    studies.section,
    ordering.order,
    learning.readings,
    learning.learn,
    learning.outcome,
    shown.new,
)


class _Commands(options.Commands):
    on_demand = options.OnDemand(COMMANDS, {"check": OUTCOME_LIST})


app = typer.Typer(
    name="lapwright",
    cls=_Commands,
    help=(
        "Preview and fit-check a small lap-jointed timber box that a whole class makes by hand.\n\n"
        "A workshop teacher chooses the stock, fixes sizes and allowances, and sees how many boxes will be good: "
        "whether joints close and boxes come out square at the accuracy that those hands have. Pupils see what to mark "
        "out, step by step; the technician gets STEP, STL, GLB and 3MF files. A design is a TOML file in millimetres "
        "and degrees: walls, base, screwed lid and, if wanted, a stem, a bent acrylic plaque and drilled holes.\n\n"
        "Answers go to standard output, errors and progress to the error stream. What can hurt someone is said in the "
        "steps of the making; your own rules, risk assessment and supervision come first."
    ),
    epilog=options.listed("Exit codes", EXIT_CODES),
    add_completion=False,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)


@app.callback()
def _front() -> None:
    """Take a command: typer asks for a callback where no command is registered."""


def main() -> None:
    """Run the command line; every refusal is one message on the error stream and one exit code."""
    try:
        app(prog_name="lapwright")  # not the file that it was started from
    except (StoppedError, KeyboardInterrupt, SystemExit) as end:
        code = end.code if isinstance(end, SystemExit) else INTERRUPTED
        if code not in {INTERRUPTED, TERMINATED}:
            raise
        _end("stopped; nothing is left half-written", int(code))
    except LapwrightError as error:
        _end(str(error), NOT_WRITTEN if isinstance(error, (ExportError, LibraryError, SolidError)) else UNUSABLE)
    except OSError as error:
        _end(f"{error.filename or 'a file'}: can't be used ({error.strerror or error})", NOT_WRITTEN)


def _end(message: str, code: int) -> None:
    message = escaped(message, keep="\n")
    print(f"lapwright: {message}", file=sys.stderr)
    sys.exit(code)


if __name__ == "__main__":
    main()
