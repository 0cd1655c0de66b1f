"""The heights command."""

from __future__ import annotations

import json


def test_heights_tell_every_band(rooms, run):
    code, out, _ = run("heights", rooms / "heron.yaml", "--json")
    told = json.loads(out)
    assert code == 0
    assert told["format"] == "overtable/heights/1"
    assert [band["name"] for band in told["arrays"][0]["bands"]] == ["outer", "main"]
    code, out, _ = run("heights", rooms / "heron.yaml")
    assert "24–69°" in out
