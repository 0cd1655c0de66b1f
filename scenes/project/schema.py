"""The JSON schema of a project file, for editors."""

from __future__ import annotations

from typing import Any

from scenes.project.model import ProjectFile


def project_schema() -> dict[str, Any]:
    """The JSON schema (draft 2020-12) of a project file."""
    schema: dict[str, Any] = ProjectFile.model_json_schema()
    for definition in (schema, *schema["$defs"].values()):
        definition.pop("title", None)
        for written in definition.get("properties", {}).values():
            written.pop("title", None)
    entry = schema["$defs"]["RoomEntry"]
    entry["oneOf"] = [{"required": ["file"]}, {"required": ["use"]}]
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "A project file, overtable format 1",
        **schema,
    }
