"""Hanging heights on the terminal, band by band."""

from __future__ import annotations

from rich.console import Console
from rich.markup import escape
from rich.text import Text

from scenes import words
from scenes.findings.heights import ArrayHeights
from viz.terminal.console import long_text, plain_table, short_text, unit_suffix
from viz.words import heights
from viz.words.locale import Locale


def print_heights(out: Console, rows: tuple[ArrayHeights, ...], units: str) -> None:
    """Hanging heights per band for people."""
    locale = Locale(units)
    for row in rows:
        if not row.heads:
            out.print(
                f"[bold]{escape(row.id)}[/bold] at {words.length(row.at_m[0], units)}, "
                f"{words.length(row.at_m[1], units)} serves nobody: another array serves every talker better."
            )
            continue
        today = (
            "" if row.today_m is None else f", today {words.length(row.today_m, units)} in {row.today_band}"
        )
        out.print(
            f"[bold]{escape(row.id)}[/bold] at {words.length(row.at_m[0], units)}, "
            f"{words.length(row.at_m[1], units)} for {words.counted(row.talkers, 'talker')}{escape(today)}"
        )
        unit = unit_suffix(units)
        columns = ("band", f"covered from{unit}", f"to{unit}", f"best{unit}", f"margin{unit}", "off")
        table = plain_table(*columns, right=(1, 2, 3, 4, 5))
        for band in row.bands:
            covered = band.covered_interval_m
            table.add_row(
                f"{escape(band.name)} {band.low_deg:g}–{band.high_deg:g}°",
                *(("–", "–") if covered is None else (long_text(end, units) for end in covered)),
                "–" if band.best_m is None else long_text(band.best_m, units),
                "–" if band.best_margin_m is None else short_text(band.best_margin_m, units),
                "–" if band.mean_off_centre_deg is None else words.signed_deg(band.mean_off_centre_deg),
            )
        out.print(table)
        for band in row.bands:
            out.print(Text(heights.sentence(row, band, locale)))
