"""`overtable schema`: the form of the spec file and of a project file, for editors."""

from __future__ import annotations

from typing import Annotated

from cyclopts import Parameter


def schema(
    *,
    project: Annotated[
        bool, Parameter(negative="", help="That of a project file, which lists rooms.")
    ] = False,
) -> int:
    """Print the JSON schema of the spec file, so that your editor completes and checks it."""
    import json

    from scenes.project.schema import project_schema
    from scenes.spec.schema import spec_schema

    print(json.dumps(project_schema() if project else spec_schema(), indent=2, ensure_ascii=False))
    return 0
