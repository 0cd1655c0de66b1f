"""The JSON schema of a spec file, for editors."""

from __future__ import annotations

from typing import Any

from scenes.spec.model import Spec
from scenes.spec.values import LENGTH_SCHEMA, SIZE_SCHEMA, Written

# The schema that editors read -------------------------------------------------------------------------------


def spec_schema() -> dict[str, Any]:
    """The JSON schema (draft 2020-12) of a spec file as it is written: lengths as numbers or text with a
    unit."""
    for part in Written.__subclasses__():
        # what stands as a default is written out by its own model, which before pydantic 2.14 must be built for that
        part.model_rebuild()
    schema: dict[str, Any] = _with_lengths_named(Spec.model_json_schema())
    schema["$defs"] |= {"Length": LENGTH_SCHEMA, "Size": SIZE_SCHEMA}
    named = {"type": "string", "minLength": 1, "description": "a file of profiles, relative to the spec"}
    profiles = schema["properties"]["profiles"]
    description = profiles.pop("description")
    schema["properties"]["profiles"] = {"description": description, "anyOf": [profiles, named]}
    for definition in (schema, *schema["$defs"].values()):
        definition.pop("title", None)
        for written in definition.get("properties", {}).values():
            written.pop("title", None)
    room, body = schema["$defs"]["Room"], schema["$defs"]["Array"]
    room["oneOf"] = [{"required": ["outline"]}, {"required": ["size"]}]
    body["not"] = {"required": ["height", "drop"]}
    schema["anyOf"] = [
        *({"required": [key], "properties": {key: {"minItems": 1}}} for key in ("seats", "standing")),
        {"required": ["layouts"], "properties": {"layouts": {"minProperties": 1}}},
    ]
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "A room's spec file, overtable format 1",
        **schema,
    }


def _with_lengths_named(schema: Any) -> Any:
    """The schema with its hundreds of lengths told once, by reference."""
    if isinstance(schema, list):
        return [_with_lengths_named(part) for part in schema]
    if not isinstance(schema, dict):
        return schema
    for name, length in (("Length", LENGTH_SCHEMA), ("Size", SIZE_SCHEMA)):
        if schema.get("anyOf") == length["anyOf"]:
            own = {key: value for key, value in schema.items() if value != length.get(key)}
            return {**own, "$ref": f"#/$defs/{name}"}
    return {key: _with_lengths_named(value) for key, value in schema.items()}
