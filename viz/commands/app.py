"""The commands by name. A command's module is imported when it is run, so `--help` loads none of them."""

from __future__ import annotations

import sys
from keyword import iskeyword
from typing import Any

from cyclopts import App, Parameter

from viz.commands.examples import EXAMPLES

COMMANDS = {
    "start": "Open the rooms of a folder in your browser: what overtable alone does.",
    "check": "Review rooms: who is covered, what is too close at the ceiling, and the verdict.",
    "heights": "Show which hanging heights work, for each band, at each array's present position.",
    "place": "Find the best position, height and band for the arrays, and prove it.",
    "schema": "Print the JSON schema of the spec file, so that your editor completes and checks it.",
    "stills": "Draw pictures of the room: corner, plan, ceiling, sections, array, cameras, seats.",
    "page": "Write one HTML file with the room in 3D for your client. It works offline.",
    "live": "Open the page in your browser and update it on every save.",
    "view": "Open a 3D window that updates on every save.",
    "sheets": "Draw the dimensioned sheets to scale, as DXF, SVG and PDF, and a hang card for each array.",
    "report": "Write the design report as PDF, from the verdict to the sources and cautions.",
    "as-built": "Judge the room as it hangs, from what was measured, and say what to correct first.",
    "compare": "Compare two rooms, or two placements of one: figures, what differs, and both in 3D.",
    "export": "Export the room as a model or a table. The ending of FILE decides which.",
    "new": "Write a first spec from eight short answers, and draw its plan.",
    "import": "List the rooms of the architect's model or drawing, or write their specs.",
    "update": "Update a spec from a new issue of the architect's model. Your own lines stay.",
    "undo": "Take back what overtable last wrote into a spec. Once more, and it is written again.",
    "handover": "Make all documents of one room or several, in one folder with an index.",
    "demo": "Start here: copy a demo room, review it, draw it, and see what to try next.",
}
"""Each command with its line in `overtable --help`, the first of its docstring. Command NAME is the function of that
name in viz/commands/NAME.py (- is _ there); of a word that Python keeps for itself NAME_, in NAME_.py."""


def _default(value: Any) -> str | None:
    """A default as help shows it; None for what needs no mention: a flag, an empty list, nothing."""
    return None if value is None or isinstance(value, bool | tuple) else str(value)


def _version() -> str:
    from importlib.metadata import version

    return version("overtable")


def app_for(asked: str | None) -> App:
    """The command line. Only the command asked for is imported; of the others the line is enough."""
    app = App(
        name="overtable",
        help="Place ceiling-hung microphone arrays over meeting tables: with proof, drawings and a client page.",
        version=_version,
        version_flags=["--version"],
        default_parameter=Parameter(show_default=_default),
    )
    app.command(
        "viz.commands.completion:completion",
        name="--completion",
        help=None
        if asked == "--completion"
        else "Print completion for your shell: commands, options and choices.",
        help_epilogue="Examples:  \novertable --completion bash > overtable.bash",
    )
    for name, line in COMMANDS.items():
        # a line given here would stand in for the whole docstring in the command's own help
        module = f"{name}_" if iskeyword(name) else name.replace("-", "_")
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
        # alone it opens the page of the folder one is in
        tokens = tokens or ["start"]
        app = app_for(tokens[0])
        status = app(tokens, result_action="return_value", exit_on_error=False, print_error=False)
        if sys.stdout is not None:
            sys.stdout.flush()
    except Exception as error:
        from viz.commands.errors import told

        return told(error, as_json="--json" in tokens)
    return status if isinstance(status, int) else 0
