"""How wide our own font runs, read from the font itself: characters and their advances."""

from __future__ import annotations

import struct
from functools import cache
from importlib import resources

REGULAR, BOLD = "SourceSans3-Regular.ttf", "SourceSans3-SemiBold.ttf"
_FORMAT_4 = 4


def text_width(words: str, size_mm: float, *, bold: bool = False) -> float:
    """Width of a line of text in mm, without kerning: a little more than it will take.

    Parameters
    ----------
    words : str
    size_mm : float
        Type size. [mm]
    bold : bool
        In the semi-bold of our font.

    Returns
    -------
    float
        [mm]
    """
    advances, other = _advances(BOLD if bold else REGULAR)
    return size_mm * sum(advances.get(sign, other) for sign in words)


@cache
def _advances(name: str) -> tuple[dict[str, float], float]:
    """Advance of each character of a font as a share of its size, and that of one it does not have."""
    data = resources.files(__package__).joinpath("fonts", name).read_bytes()
    tables = {
        data[at : at + 4]: struct.unpack_from(">I", data, at + 8)[0]
        for at in range(12, 12 + 16 * struct.unpack_from(">H", data, 4)[0], 16)
    }
    units = struct.unpack_from(">H", data, tables[b"head"] + 18)[0]
    count = struct.unpack_from(">H", data, tables[b"hhea"] + 34)[0]
    widths = struct.unpack_from(f">{'Hh' * count}", data, tables[b"hmtx"])[::2]
    glyphs = _glyphs(data, tables[b"cmap"])
    return {sign: widths[min(glyph, count - 1)] / units for sign, glyph in glyphs.items()}, widths[0] / units


def _glyphs(data: bytes, cmap: int) -> dict[str, int]:
    """Glyph of each character, from the table of segments that every such font has."""
    starts = (
        cmap + struct.unpack_from(">I", data, cmap + 8 + 8 * number)[0]
        for number in range(struct.unpack_from(">H", data, cmap + 2)[0])
    )
    at = next(start for start in starts if struct.unpack_from(">H", data, start)[0] == _FORMAT_4)
    half = struct.unpack_from(">H", data, at + 6)[0] // 2
    ends, begins, deltas, offsets = (
        struct.unpack_from(f">{half}H", data, at + 14 + skip)
        for skip in (0, 2 * half + 2, 4 * half + 2, 6 * half + 2)
    )
    found: dict[str, int] = {}
    for segment, (end, begin, delta, offset) in enumerate(zip(ends, begins, deltas, offsets, strict=True)):
        for code in range(begin, min(end, 0xFFFE) + 1):
            where = at + 16 + 6 * half + 2 * segment + offset + 2 * (code - begin)
            glyph = code if offset == 0 else struct.unpack_from(">H", data, where)[0]
            if glyph or offset == 0:
                found[chr(code)] = (glyph + delta) & 0xFFFF
    return found
