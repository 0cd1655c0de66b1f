"""The dimensioned sheets: one DXF document, and the same drawing as SVG and PDF.

`sheets(dossier, paper="A4")` draws floor plan, reflected ceiling plan, sections and heights diagrams once
and hands them back as text and bytes; whoever asked saves them.
"""

from __future__ import annotations

from viz.sheets.drawing import Sheet, Sheets, changes_sheet, figure, sheets
from viz.sheets.lettering import FontMissing
from viz.sheets.paper import PAPERS, DoesNotFit

__all__ = ["PAPERS", "DoesNotFit", "FontMissing", "Sheet", "Sheets", "changes_sheet", "figure", "sheets"]
