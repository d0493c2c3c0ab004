"""Sheets to one PDF at true size, by typst, with our own fonts and no date inside."""

from __future__ import annotations

import re
import tempfile
from importlib import resources
from pathlib import Path

from pondwright.papers.drawing import Sheet

_FITTED = re.compile(r' textLength="[\d.]+" lengthAdjust="spacingAndGlyphs"')
"""What fits another font into our widths; in a PDF the font is our own, with its own kerning."""


def pdf_of(sheets: tuple[Sheet, ...]) -> bytes:
    """Bind sheets into one PDF; the same sheets give the same bytes.

    Parameters
    ----------
    sheets : tuple of Sheet
        At least one.

    Returns
    -------
    bytes
    """
    import typst

    with (
        tempfile.TemporaryDirectory() as folder,
        resources.as_file(resources.files(__package__) / "fonts") as fonts,
    ):
        pages = ["#set document(date: none)"]
        for number, sheet in enumerate(sheets):
            Path(folder, f"{number}.svg").write_text(_FITTED.sub("", sheet.svg), "utf-8")
            # Only numbers enter the markup: a job's own words stay inside the SVG, escaped.
            pages.append(
                f"#page(width: {sheet.width_mm}mm, height: {sheet.height_mm}mm, margin: 0mm)"
                f'[#image("{number}.svg", width: {sheet.width_mm}mm)]'
            )
        source = Path(folder, "sheets.typ")
        source.write_text("\n".join(pages), "utf-8")
        return bytes(
            typst.compile(str(source), format="pdf", font_paths=[str(fonts)], ignore_system_fonts=True)
        )
