"""`overtable schema`: the form of the spec file, for editors."""

from __future__ import annotations


def schema() -> int:
    """Print the JSON schema of the spec file, so that your editor completes and checks it."""
    import json

    from scenes.spec.schema import spec_schema

    print(json.dumps(spec_schema(), indent=2, ensure_ascii=False))
    return 0
