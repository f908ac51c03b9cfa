"""How lines of cutting files look, as a school sets it for its own machine: colour and width by what a line is for."""

from __future__ import annotations

import re
from typing import Annotated

from pydantic import AfterValidator, Field
from pydantic_core import PydanticCustomError

from assembly.model.workshop import MM, Record

NO_COLOUR = "no_colour"  # the type of the fault of a text that is none
_COLOUR = re.compile(r"#[0-9a-fA-F]{6}")


def _colour(text: str) -> str:
    if not _COLOUR.fullmatch(text):
        raise PydanticCustomError(NO_COLOUR, "no colour")
    return text


Colour = Annotated[str, AfterValidator(_colour), Field(json_schema_extra={"pattern": f"^{_COLOUR.pattern}$"})]


class Pen(Record):
    """How the lines of one layer look."""

    colour: Colour = Field(description='colour as # and two hex digits each of red, green and blue, such as "#a8552f"')
    width: float = Field(ge=0.001, le=2, description="width of the line", json_schema_extra=MM)

    number: int | None = Field(
        default=None,
        ge=1,
        le=255,
        description="DXF's colour number of the layer, for programs that go by numbers",
    )

    @property
    def rgb(self) -> tuple[int, int, int]:
        """Red, green and blue, 0 to 255."""
        number = int(self.colour[1:], 16)
        return number >> 16, number >> 8 & 255, number & 255


class Pens(Record):
    """The pens of every layer."""

    cut: Pen = Field(description="what is cut right through: holes, then outlines")
    engrave: Pen = Field(description="what is engraved: wording and scales")
    bend: Pen = Field(description="the line to bend along, marked lightly or not at all")
    reference: Pen = Field(description="what is for people alone, and never run")

    def of(self, layer: str) -> Pen:
        """Return the pen of a layer, by its name in capitals."""
        found: Pen = getattr(self, layer.lower())
        return found
