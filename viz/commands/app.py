"""The commands by name. A command's module is imported when it is run, so `--help` loads none of them."""

from __future__ import annotations

import sys
from keyword import iskeyword

from cyclopts import App

COMMANDS = {
    "check": "Review rooms: who is covered, what is too near at the ceiling, and the verdict in plain words.",
    "heights": "Hanging heights, band by band, for every array where it is on plan.",
    "place": "Find where the arrays should hang, and prove that no allowed place is better.",
    "schema": "Print the JSON schema of the spec file, so that an editor completes and checks it.",
    "stills": "Draw pictures of the room: corner, plan, ceiling, sections, array, cameras, seats.",
    "page": "Write one HTML file in which a client turns the room: no installation, no network.",
    "live": "Serve the page on this machine only, following the spec file; what-ifs are answered exactly.",
    "view": "Turn the room in a native window; it follows the spec file.",
    "sheets": "Draw the dimensioned sheets, to scale: DXF, SVG and PDF of one drawing.",
    "report": "Write the design report as PDF: verdict, placement, talkers, clearances, schedule, sheets, sources, "
    "cautions.",
    "export": "Write the room as a model or its numbers as a table: the ending of FILE says which.",
    "new": "Write a first spec from eight short answers, and draw its plan.",
    "import": "Read rooms out of the architect's model: list them, or write their specs.",
    "update": "Read the architect's model again, and bring a spec up to date without touching your own lines.",
    "handover": "Make everything at once: spec, review, tables, pictures, sheets, report, page, model and an index.",
    "demo": "Copy a demo room into a folder, review it, draw it, and say what to try next.",
}
"""Each command with its line in `overtable --help`, the first of its docstring. Command NAME is the function of that
name in viz/commands/NAME.py; of a word that Python keeps for itself NAME_, in NAME_.py."""


EXAMPLES = {
    "new": (
        "overtable new -o harbour.yaml",
        'overtable new -o harbour.yaml --yes --size "7.2 x 4.8" --ceiling "suspended 2.7, grid 0.6"',
        "overtable new --list kinds",
    ),
    "import": (
        "overtable import arch.ifc services.ifc",
        "overtable import arch.ifc services.ifc --room 3.01 -o 3.01.yaml --profiles devices.yaml",
        "overtable import arch.ifc --all -o rooms",
        "overtable import plan.dxf",
        "overtable import plan.dxf --at=120.5,64 --ceiling 2.7m -o room.yaml",
    ),
    "update": (
        "overtable update 3.01.yaml",
        "overtable update 3.01.yaml --model new/arch.ifc --model new/services.ifc",
    ),
}
"""What closes a command's own help."""


def _version() -> str:
    from importlib.metadata import version

    return version("overtable")


def app_for(asked: str | None) -> App:
    """The command line. Only the command asked for is imported; of the others the line is enough."""
    app = App(
        name="overtable",
        help="Where over the table a ceiling-hung microphone array goes: placed, proven, drawn and explained.",
        version=_version,
        version_flags=["--version"],
    )
    for name, line in COMMANDS.items():
        # a line given here would stand in for the whole docstring in the command's own help
        module = f"{name}_" if iskeyword(name) else name
        # two spaces at an end: a line break, in the Markdown that help is written in
        closing = "  \n".join(["Examples:", *EXAMPLES.get(name, ())])
        app.command(
            f"viz.commands.{module}:{module}",
            name=name,
            help=None if name == asked else line,
            help_epilogue=closing if name in EXAMPLES else None,
        )
    return app


def run(tokens: list[str]) -> int:
    """The exit status of a command. What can be expected to go wrong is told, nothing of it raised."""
    try:
        app = app_for(tokens[0] if tokens else None)
        status = app(tokens, result_action="return_value", exit_on_error=False, print_error=False)
        if sys.stdout is not None:
            sys.stdout.flush()
    except Exception as error:
        from viz.commands.errors import told

        return told(error, as_json="--json" in tokens)
    return status if isinstance(status, int) else 0
