"""JSON Schema of the amplifier file, for editors: what the user writes, so strings with units.

Kept beside this module as ``amplifier.schema.json``; ``python -m netsim.description.schema`` rewrites it.
"""

import json
from pathlib import Path
from typing import Any

from pydantic.json_schema import GenerateJsonSchema

from netsim.description.formatting import format_quantity
from netsim.description.models.amplifier import Description

DIALECT = GenerateJsonSchema.schema_dialect
SCHEMA_PATH = Path(__file__).with_name("amplifier.schema.json")


_DIAMETERS = ("mean_diameter", "outside_diameter", "inside_diameter")


def build_schema() -> dict[str, Any]:
    """Generate the schema from the models.

    Returns
    -------
    dict
        JSON Schema, draft 2020-12. It states types, units and single keys' ranges of plain numbers;
        ranges of quantities are in the descriptions, and only the reader checks them.
    """
    schema = Description.model_json_schema()
    definitions = schema["$defs"]
    for table in (schema, *definitions.values()):
        table["properties"] = {key: _property(key, value) for key, value in table["properties"].items()}
        table["description"] = table["description"].partition(".")[0]
    definitions["Stage"]["oneOf"] = [{"required": ["minimum_plate_voltage"]}, {"required": ["plate_load"]}]
    definitions["Band"]["dependentRequired"] = {"tune": ["load"], "load": ["tune"]}
    definitions["Band"]["oneOf"] = [{"required": ["coil"]}, {"required": ["coil_turns"]}]
    definitions["WindingSection"]["oneOf"] = [
        {**_section("solenoid", "conductor_diameter"), "oneOf": [{"required": [key]} for key in _DIAMETERS]},
        _section("toroid", "inductance_per_turn_squared", "unloaded_q"),
    ]
    schema["if"] = {"properties": {"network": {"properties": {"topology": {"const": "pi-L"}}}}}
    output = [{"required": ["output_coil"]}, {"required": ["output_coil_turns"]}]
    schema["then"] = _in_network_and_bands(output[0], {"oneOf": output})
    schema["else"] = _in_network_and_bands({"not": output[0]}, {"not": {"anyOf": output}})
    return {
        "$schema": DIALECT,
        "title": "Amplifier file",
        **{k: v for k, v in schema.items() if k != "title"},
    }


def _section(kind: str, *keys: str) -> dict[str, Any]:
    return {"properties": {"kind": {"const": kind}}, "required": list(keys)}


def _in_network_and_bands(network: dict[str, Any], band: dict[str, Any]) -> dict[str, Any]:
    return {"properties": {"network": network, "bands": {"items": band}}}


def _property(key: str, value: dict[str, Any]) -> dict[str, Any]:
    """Drop what TOML cannot say (null), and word defaults and ranges as the user would."""
    value = dict(value)
    arms = [arm for arm in value.pop("anyOf", []) if arm != {"type": "null"}]
    if len(arms) == 1:
        value.update(arms[0])
    elif arms:
        value["anyOf"] = arms
    default = value.pop("default", None)
    unit, span = value.pop("unit", None), value.pop("range", None)
    item_unit = value.get("items", {}).get("unit")
    _strip(value)
    if span is not None:
        value["description"] += f" ({span})"
    if default is not None and unit is not None:
        value["default"] = format_quantity(default, unit, trim=True).replace("Ω", "ohm")
    elif default and item_unit is not None:
        value["default"] = [format_quantity(item, item_unit, trim=True) for item in default]
    elif default not in (None, [], {}) and "$ref" not in value:
        value["default"] = default
    value["title"] = key.replace("_", " ")
    return value


def _strip(value: dict[str, Any]) -> None:
    """Take the notes for this module out of what stands inside a property."""
    items = [value["items"]] if "items" in value else []
    for item in [*items, *value.get("prefixItems", []), *value.get("anyOf", [])]:
        item.pop("unit", None)
        item.pop("range", None)
        _strip(item)


def render_schema() -> str:
    """Give the schema as the text of its file."""
    return json.dumps(build_schema(), indent=2, ensure_ascii=False) + "\n"


if __name__ == "__main__":
    SCHEMA_PATH.write_text(render_schema(), encoding="utf-8")
