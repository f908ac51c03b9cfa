"""What the records of all commands' JSON are made of: an estimate, a range, an object with a key for each outcome."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field

from assembly.model.outcomes import OUTCOMES
from assembly.study.intervals import Interval

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping

    from pydantic import GetJsonSchemaHandler
    from pydantic.json_schema import JsonSchemaValue
    from pydantic_core import CoreSchema

    from assembly.model.outcomes import Outcome


class Output(BaseModel):
    """A record of what is printed: every key is always there, described, and no other is; figures are finite."""

    model_config = ConfigDict(frozen=True, extra="forbid", from_attributes=True, allow_inf_nan=False)


def _known(end: float | None) -> float | None:
    return end if end is not None and math.isfinite(end) else None


End = Annotated[float | None, BeforeValidator(_known)]
_KINDS = "; ".join(f"{each}: {each.meaning}" for each in Interval)


class EstimateOutput(Output):
    """A figure and how sure it is, in the figure's own unit."""

    value: float = Field(description="the figure itself")
    low: End = Field(description="low end of its 95 % interval; null where nothing is known")
    high: End = Field(description="high end of its 95 % interval; null where nothing is known")
    interval: Interval = Field(description=f"how the interval was found. {_KINDS}")


BEYOND = "share of the first 10,000 boxes with errors larger than the predictions hold for"

Range = Annotated[tuple[float, float], Field(description="the least and the most")]


class Keyed:
    """Marks a dict as an object with exactly these keys, each described in words; some may be absent."""

    def __init__(self, words: Mapping[str, str], absent: Collection[str] = ()) -> None:
        """Take every key with its words, and the keys that may be absent."""
        self._words, self._absent = words, absent

    def __get_pydantic_json_schema__(self, core: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        """Return the schema of an object with these keys."""
        each: dict[str, Any] = handler(core)["additionalProperties"]
        return {
            "type": "object",
            "additionalProperties": False,
            "properties": {key: {**each, "description": words} for key, words in self._words.items()},
            "required": [key for key in self._words if key not in self._absent],
        }


def by_outcome(outcomes: Mapping[str, Outcome] = OUTCOMES) -> Keyed:
    """Return the mark of an object that has a key for each outcome, but those of what a design leaves out."""
    units = {"mm": "mm", "deg": "degrees", "1": "between 0 and 1"}
    words = {name: f"{each.label}: {each.means}; {units[each.unit]}" for name, each in outcomes.items()}
    left_out = {name: f"; absent without [{each.section}]" for name, each in outcomes.items() if each.section}
    return Keyed({name: said + left_out.get(name, "") for name, said in words.items()}, absent=left_out)
