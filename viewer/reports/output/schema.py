"""The schema of everything that `--json` prints, from the records: `python -m viewer.reports.output.schema` writes it.

It ships as `configs/output.schema.json`; a test tells when that was forgotten, and holds the commands' real output to
it. An answer is one of the records under `oneOf`; its key `command` says which command printed it.
"""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from pydantic.json_schema import GenerateJsonSchema, models_json_schema

from assembly.files.schemas import DIALECT
from assembly.files.shipped import configs_folder
from viewer.reports.output.advice import AdviceOutput
from viewer.reports.output.check import CheckOutput
from viewer.reports.output.files import ExportOutput, FilesOutput
from viewer.reports.output.learning import LearnOutput, OutcomeVerdictOutput
from viewer.reports.output.order import OrderOutput
from viewer.reports.output.section import PairsOutput, SectionOutput
from viewer.reports.output.studies import CausesOutput, CompareOutput, WorstOutput

if TYPE_CHECKING:
    from viewer.reports.output.record import Output

FILE = "output.schema.json"


ANSWERS: tuple[type[Output], ...] = (
    CheckOutput,
    CausesOutput,
    AdviceOutput,
    WorstOutput,
    CompareOutput,
    SectionOutput,
    PairsOutput,
    LearnOutput,
    OutcomeVerdictOutput,
    OrderOutput,
    FilesOutput,
    ExportOutput,
)


class _Untitled(GenerateJsonSchema):
    """Leaves out the titles of keys, which only repeat them."""

    def field_title_should_be_set(self, schema: Any) -> bool:  # noqa: ANN401, ARG002 - as the library has it
        """Return that no key has a title."""
        return False


def output_schema() -> dict[str, Any]:
    """Return the JSON Schema of every answer."""
    refs, found = models_json_schema(
        [(answer, "serialization") for answer in ANSWERS], schema_generator=_Untitled, title="lapwright --json"
    )
    answers = [refs[answer, "serialization"] for answer in ANSWERS]
    return {"$schema": DIALECT, "title": found["title"], "oneOf": answers, "$defs": found["$defs"]}


def schema_text() -> str:
    """Return the JSON Schema as it is committed."""
    return json.dumps(output_schema(), indent=2, ensure_ascii=False) + "\n"


def write_schema() -> None:
    """Write the schema beside the shipped designs."""
    (configs_folder() / FILE).write_text(schema_text(), encoding="utf-8")


if __name__ == "__main__":
    write_schema()
