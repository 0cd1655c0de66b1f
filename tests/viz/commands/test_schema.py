"""The schema command: what it prints accepts the demo rooms."""

from __future__ import annotations

import json
from importlib.resources import files
from pathlib import Path

ROOMS = Path(str(files("scenes.rooms")))


def test_schema_accepts_the_demo_rooms(run):
    import jsonschema
    import yaml

    schema = json.loads(run("schema")[1])
    for room in ("heron", "wharf", "loft", "weir", "ferry"):
        text = (ROOMS / f"{room}.yaml").read_text()
        jsonschema.validate(json.loads(json.dumps(yaml.safe_load(text), default=str)), schema)
