"""What closes the help of each command: examples that run on a demo room."""

from __future__ import annotations

EXAMPLES = {
    "check": (
        "overtable check heron.yaml",
        "overtable check heron.yaml weir.yaml --all",
        "overtable check heron.yaml --ceiling",
        "overtable check heron.yaml heron-b.yaml --changes",
    ),
    "heights": ("overtable heights heron.yaml", "overtable heights heron.yaml --picture heights.svg"),
    "place": (
        "overtable place heron.yaml",
        "overtable place heron.yaml --snap tile --write",
        "overtable place weir.yaml --arrays fewest",
        "overtable place heron.yaml --aim near --ladder 2 --picture ladder.svg",
    ),
    "start": ("overtable start", "overtable start rooms --no-browser"),
    "schema": ("overtable schema > overtable.schema.json",),
    "stills": (
        "overtable stills heron.yaml -o pictures",
        "overtable stills heron.yaml -o pictures --view plan --view seat:T1-3",
        "overtable stills heron.yaml -o pictures --view map:seated --view map:standing",
    ),
    "page": ("overtable page heron.yaml -o heron.html",),
    "live": ("overtable live heron.yaml", "overtable live heron.yaml --port 8080 --no-browser"),
    "view": ("overtable view heron.yaml",),
    "sheets": (
        "overtable sheets heron.yaml -o sheets",
        "overtable sheets heron.yaml -o sheets --paper A4",
        "overtable sheets heron-b.yaml -o changes --since heron.yaml",
    ),
    "report": (
        "overtable report heron.yaml -o heron.pdf",
        "overtable report heron.yaml -o heron.pdf --paper Letter --date 2026-11-25",
    ),
    "as-built": (
        "overtable as-built heron.yaml measured.yaml",
        "overtable as-built heron.yaml measured.csv -o as-built",
    ),
    "compare": (
        "overtable compare heron.yaml heron-b.yaml -o compare.html",
        "overtable compare heron.yaml heron-b.yaml -o compare.pdf",
    ),
    "export": (
        "overtable export heron.yaml heron.glb",
        "overtable export heron.yaml talkers.csv",
        "overtable export heron.yaml heron.ifc",
    ),
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
    "undo": ("overtable undo heron.yaml",),
    "handover": (
        "overtable handover heron.yaml -o handover",
        "overtable handover heron.yaml weir.yaml -o project --zip",
    ),
    "demo": ("overtable demo", "overtable demo weir --room weir"),
}
"""What closes a command's own help. Files are those of the demo rooms, where a command reads a spec."""
