"""What commands that only write files print with `--json`."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from viewer.reports.output.record import Output


class FilesOutput(Output):
    """The files that a command wrote."""

    command: Literal["picture", "page", "export", "sheets", "new", "readings"] = Field(
        description="the command that printed this"
    )
    files: list[str] = Field(description="the files written")
    remarks: list[str] = Field(description="what is to be known of them, a sentence each; none of most commands")
