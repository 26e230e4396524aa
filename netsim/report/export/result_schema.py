"""JSON Schema of the result, for programs that read it.

Kept beside this module as ``result.schema.json``; ``python -m netsim.report.export.result_schema`` rewrites it.
"""

import json
from pathlib import Path
from typing import Any

from pydantic import TypeAdapter
from pydantic.json_schema import GenerateJsonSchema

from netsim.verdict.result import PART_NAMES, SCHEMA_VERSION, Verdict

SCHEMA_PATH = Path(__file__).with_name("result.schema.json")


def build_schema() -> dict[str, Any]:
    """Generate the schema from the dataclasses of the result.

    Returns
    -------
    dict
        JSON Schema, draft 2020-12. Every key is required, save ``operating_points``, which only a file
        with such points has; more may come with later versions of netsim, so none is forbidden.
    """
    schema = TypeAdapter(Verdict).json_schema(mode="serialization")
    definitions = schema["$defs"]
    for table in (schema, *definitions.values()):
        table["description"] = " ".join(table["description"].split())
    schema["properties"]["schema_version"]["const"] = SCHEMA_VERSION
    schema["properties"]["counts"]["required"] = ["over", "close", "not_rated", "pass", "unsure"]
    definitions["Point"]["properties"]["parts"]["required"] = list(PART_NAMES)
    title = {"$schema": GenerateJsonSchema.schema_dialect, "title": "Result of netsim"}
    return {**title, **{key: value for key, value in schema.items() if key != "title"}}


def render_schema() -> str:
    """Give the schema as the text of its file."""
    return json.dumps(build_schema(), indent=2) + "\n"


if __name__ == "__main__":
    SCHEMA_PATH.write_text(render_schema(), encoding="utf-8")
