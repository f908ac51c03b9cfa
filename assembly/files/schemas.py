"""JSON Schemas of the files that a school writes, from the records that read them; editors check with them.

`python -m assembly.files.schemas` writes them afresh beside the shipped files; a test tells when that was forgotten.
"""

from __future__ import annotations

import json
from typing import Any

from assembly.files.shipped import configs_folder
from assembly.model.costs import Costs
from assembly.model.design import Design
from assembly.model.on_sale import Stock
from assembly.model.pens import Pens
from assembly.model.workshop import Record, Workshop, quantities

DIALECT = "https://json-schema.org/draft/2020-12/schema"
MODELS: dict[str, type[Record]] = {
    "design": Design,
    "workshop": Workshop,
    "stock": Stock,
    "costs": Costs,
    "pens": Pens,
}


def schema(kind: str) -> dict[str, Any]:
    """Return the JSON Schema of a kind of file, one of `MODELS`."""
    found = MODELS[kind].model_json_schema()
    if kind == "workshop":  # an aid's rows are open to the record, closed to the rules
        found["$defs"]["Aid"]["properties"]["replaces"]["propertyNames"] = {"enum": list(quantities())}
    records, laid_over = (found, *found.get("$defs", {}).values()), kind in {"stock", "pens"}
    for record in records if laid_over else ():  # what a file of one's own leaves out is as in the one that ships
        record.pop("required", None)
    for record in records:
        for prop in record.get("properties", {}).values():
            if "unit" in prop:  # editors show what a key is and pass over words that they do not know
                prop["description"] += f", {prop['unit']}"
    return {"$schema": DIALECT, **found}


def schema_text(kind: str) -> str:
    """Return the JSON Schema of a kind of file as it is committed."""
    return json.dumps(schema(kind), indent=2, ensure_ascii=False) + "\n"


def write_schemas() -> None:
    """Write every schema beside the shipped files."""
    for kind in MODELS:
        (configs_folder() / f"{kind}.schema.json").write_text(schema_text(kind), encoding="utf-8")


if __name__ == "__main__":
    write_schemas()
