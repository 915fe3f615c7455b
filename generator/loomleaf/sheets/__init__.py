"""Plans onto paper: views, then HTML, then PDF."""

from .registry import RenderedSheet, SheetKind, render_sheet, sheet_html, sheet_kinds

__all__ = ["RenderedSheet", "SheetKind", "render_sheet", "sheet_html", "sheet_kinds"]
