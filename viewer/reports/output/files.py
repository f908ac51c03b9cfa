"""What commands that only write files print with `--json`."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from viewer.reports.output.record import Output


class FilesOutput(Output):
    """The files that a command wrote."""

    command: Literal["picture", "page", "sheets", "new", "readings"] = Field(
        description="the command that printed this"
    )
    files: list[str] = Field(description="the files written")
    remarks: list[str] = Field(description="what is to be known of them, a sentence each; none of most commands")


class ThinWallOutput(Output):
    """A wall of a part that is thin for the nozzle."""

    part: str = Field(description="the part")
    wall: str = Field(description="which of its walls")
    size: float = Field(description="how thick it is at the files' scale, mm")
    under_nozzle: bool = Field(description="whether it is under one width of the nozzle, so that it may not print")


class ExportOutput(Output):
    """The files that an export wrote, and what is thin in them."""

    command: Literal["export"] = Field(description="the command that printed this")
    files: list[str] = Field(description="the files written")
    removed: list[str] = Field(description="files of an earlier export in the same folders that this one has not")
    remarks: list[str] = Field(description="what is to be known of them, a sentence each")
    thin_walls: list[ThinWallOutput] = Field(
        description="walls under two widths of the nozzle; none where no nozzle is held against them"
    )
