"""The dimensioned sheets: one DXF document, and the same drawing as SVG and PDF.

`sheets(dossier, paper="A4")` draws floor plan, reflected ceiling plan, sections and heights diagrams once
and hands them back as text and bytes; whoever asked saves them. `changes_sheet(old, new)` draws clouded plans of what
changed between two revisions in the same way.
"""

from __future__ import annotations

from viz.sheets.changes import NothingDiffers, changes_sheet
from viz.sheets.drawing import Sheet, Sheets, coordination_dxf, figure, sheets
from viz.sheets.lettering import FontMissing
from viz.sheets.paper import PAPERS, DoesNotFit, usual_paper

__all__ = [
    "PAPERS",
    "DoesNotFit",
    "FontMissing",
    "NothingDiffers",
    "Sheet",
    "Sheets",
    "changes_sheet",
    "coordination_dxf",
    "figure",
    "sheets",
    "usual_paper",
]
