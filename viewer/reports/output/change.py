"""A change in JSON, the same in every command's."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal, get_args

from pydantic import Field

from assembly.changes.change import Kind
from viewer.reports.output.record import Output

if TYPE_CHECKING:
    from collections.abc import Sequence

    from assembly.changes.change import Change
    from assembly.changes.file_rows import FileRow

_KINDS = ", ".join(get_args(Kind))


class FileRowOutput(Output):
    """A row of a file: it takes the place of the row of its key, or joins its table where there is none."""

    file: Literal["design", "workshop"] = Field(description="the file that it stands in")
    table: str = Field(description="the heading that it stands under, without brackets; empty at the top of the file")
    line: str = Field(description="key = value; empty where the table is left empty")
    alone: bool = Field(description="whether the table keeps no rows but those of this change")


class ChangeOutput(Output):
    """One change to a design or to how it is made."""

    kind: Kind = Field(description=f"what kind of change it is: {_KINDS}")
    what: str = Field(description="the operation or aid that it is about; empty where the kind says all")
    words: str = Field(description="the change in words")
    settings: list[str] = Field(description="what is typed after --set, one each; all of them give the figures shown")
    rows: list[FileRowOutput] = Field(
        description="what is written in files instead; of what would help and of advice only"
    )
    money: float | None = Field(description="what it costs, in the school's own currency; null where not known")
    minutes: float | None = Field(description="what it takes of a maker's time, minutes; null where not known")


def change_output(change: Change, rows: Sequence[FileRow] = ()) -> ChangeOutput:
    """Return a change: what it is, what is typed after `--set`, its rows in files where given, what it costs."""
    return ChangeOutput.model_validate(
        {
            **{name: getattr(change, name) for name in ("kind", "what", "words", "money", "minutes")},
            "settings": [setting.text for setting in change.settings],
            "rows": rows,
        }
    )
