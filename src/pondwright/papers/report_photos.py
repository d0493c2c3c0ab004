"""Photos of the site report: before and after beside each other, then the others, each with its words."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from pondwright.job.document import Job
from pondwright.job.log import Log, PhotoEntry
from pondwright.papers.drawing import Drawing
from pondwright.papers.margin import MUTED, wrapped
from pondwright.papers.material import Material
from pondwright.papers.pages import SMALL_MM, Pages

PICTURE_MM = 58.0
CAPTION_LINES = 3
GAP_MM = 6.0
LARGEST = 6_000_000  # bytes of a photo that is printed; a report of twenty must still be sent by mail
POINTS = ("north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west")
KINDS = {b"\x89PNG\r\n\x1a\n": "png", b"\xff\xd8\xff": "jpeg"}
HEAD = 12  # bytes that tell the kind of a photo


@dataclass(frozen=True, slots=True)
class Shown:
    """A photo as it is printed: its mark, its words, and its hash."""

    mark: str
    words: str
    file: str


def photos(pages: Pages, material: Material) -> None:
    """Print the photos, pairs from one spot first; of one that is not at hand, its frame and its words."""
    numbered = material.numbered_photos()
    pairs = list(_pairs(numbered))
    paired = {photo.id for pair in pairs for _number, photo in pair}
    singles = [
        *(shown for number, photo in numbered if photo.id not in paired for shown in _shown(number, photo)),
        *_of_rows(material.job),
    ]
    pages.heading("Photos", PICTURE_MM + 20.0 if pairs or singles else 8.0)
    if not pairs and not singles:
        pages.paragraph("No photo was taken.")
        return
    for before, after in pairs:
        rows = (_shown(*before, "before"), _shown(*after, "after"))
        _row(pages, material, [row[0] for row in rows if row])
    for start in range(0, len(singles), 2):
        _row(pages, material, singles[start : start + 2])


def photo_hashes(job: Job, log: Log) -> set[str]:
    """Hashes of all photos that the report prints, if somebody has them.

    Parameters
    ----------
    job : Job
    log : Log

    Returns
    -------
    set of str
    """
    of_log = (name for entry in log.entries if isinstance(entry, PhotoEntry) for name in entry.files)
    return {*of_log, *(shown.file for shown in _of_rows(job))}


def compass_words(bearing: float) -> str:
    """A bearing [rad] as one of eight words."""
    return POINTS[round(bearing / (math.pi / 4)) % 8]


def _pairs(
    numbered: Sequence[tuple[int, PhotoEntry]],
) -> Iterator[tuple[tuple[int, PhotoEntry], tuple[int, PhotoEntry]]]:
    by_id = {photo.id: (number, photo) for number, photo in numbered}
    for number, photo in numbered:
        if photo.repeats in by_id:
            yield by_id[photo.repeats], (number, photo)


def _shown(number: int, photo: PhotoEntry, which: str = "") -> list[Shown]:
    looks = "" if photo.bearing is None else f"looks {compass_words(photo.bearing)}"
    words = [
        which,
        photo.time.strftime("%Y-%m-%d %H:%M"),
        looks,
        photo.of.rpartition(".")[2].replace("_", " "),
        photo.stage,
        photo.by,
    ]
    told = ", ".join(filter(None, words)) + (f". {photo.note}" if photo.note else "")
    return [Shown(f"P{number}", told, name) for name in photo.files or ("",)]


def _of_rows(job: Job) -> Iterator[Shown]:
    """Photos that hang on a row of the site: a mark, a thing, an answer of the walk."""
    site = job.site
    for rows in (site.marks, site.probes, site.water_marks, site.bounds, site.things, site.walk):
        for name, row in rows.items():
            for file in row.files:
                yield Shown("", row.name or name.replace("_", " "), file)


def _row(pages: Pages, material: Material, shown: Sequence[Shown]) -> None:
    """Two photos beside each other."""
    box = pages.box(PICTURE_MM + CAPTION_LINES * SMALL_MM * 1.4 + 5.0)
    width = (box.width_mm - GAP_MM) / 2
    for place, photo in enumerate(shown):
        left = box.left_mm + place * (width + GAP_MM)
        _picture(box.drawing, left, box.top_mm + 3.0, width, material.files.get(photo.file), photo.file)
        down = box.top_mm + 3.0 + PICTURE_MM
        for line in wrapped(f"{photo.mark} {photo.words}".strip(), width, SMALL_MM)[:CAPTION_LINES]:
            down += SMALL_MM * 1.4
            box.drawing.text(left, down, line, SMALL_MM)


def _picture(drawing: Drawing, left: float, top: float, width: float, data: bytes | None, file: str) -> None:
    kind = next((kind for begin, kind in KINDS.items() if data and data[:HEAD].startswith(begin)), None)
    if data is not None and kind is not None and len(data) <= LARGEST:
        drawing.picture(left, top, width, PICTURE_MM, data, kind)
        return
    corners = [(0.0, 0.0), (width, 0.0), (width, PICTURE_MM), (0.0, PICTURE_MM)]
    drawing.line(np.array([(left + x, top + y) for x, y in corners]), "thin", closed=True)
    why = "photo not at hand" if data is None else "photo too large to print, or no PNG or JPEG"
    drawing.text(left + width / 2, top + PICTURE_MM / 2, why, SMALL_MM, anchor="middle", ink=MUTED)
    if file:
        drawing.text(
            left + width / 2, top + PICTURE_MM / 2 + 4, file[:12], SMALL_MM, anchor="middle", ink=MUTED
        )
