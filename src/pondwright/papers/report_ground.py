"""Parts of the site report about the ground: level notes, old hole, soils and water, where to shoot next."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
import shapely

from pondwright.base.kinds import AREA, BULK_MASS, COUNT, SOIL_VOLUME, VOLUME
from pondwright.job.site import Book, Mark, Probe
from pondwright.papers.existing_plan import MARKS, draw_existing, extent_of, ground_rows
from pondwright.papers.margin import SCALE_BAR_MM
from pondwright.papers.material import NOT_TOLD, Material
from pondwright.papers.pages import Box, Cells, Pages
from pondwright.papers.window import fitted

MAP_MM, LEAST_MAP_MM = 128.0, 92.0
MAP_WORDS_MM = 24.0  # heading above the map and words below it
STORAGE_ROWS = 10
TWO_HOURS = 7200.0
SEASONS = ("dry", "usual", "wet", "flood")


def existing_map(pages: Pages, material: Material) -> None:
    """The ground as found, at a true scale, over the width of the page."""
    extent = extent_of(material)
    if extent is None:
        pages.heading("The ground as found")
        pages.paragraph("Nothing has a place yet: no shot, no mark, no shore.")
        return
    room = pages.left_over_mm - MAP_WORDS_MM
    height = min(room, MAP_MM) if room >= LEAST_MAP_MM else MAP_MM
    pages.heading("The ground as found", height)
    pages.gap(2.0)
    box: Box = pages.box(height)
    window = fitted(
        extent,
        box.left_mm,
        box.top_mm,
        box.width_mm,
        box.height_mm,
        material.job.shown_units,
        SCALE_BAR_MM,
    )
    draw_existing(box.drawing, window, material)
    box.drawing.line(shapely.get_coordinates(window.box().exterior), "thin", closed=True)
    pages.gap(1.5)
    pages.paragraph(
        "Broken lines: the ground, every index line with its height. Dotted: edge of the survey. Thick line: "
        f"the shoreline that is wished for. {MARKS} L1, L2 are lines not to cross; letters stand on "
        "buried services; P1, P2 are photos."
        + (
            " Groundwater: a pipe with a cap is a standpipe, a drop under a bank a seep, rings a spring; a "
            "square with a dot is an outlet. Blue lines are drains, broken where they are slotted; arrows "
            "point downhill."
            if material.job.groundwater.readings or material.job.groundwater.drains
            else ""
        )
    )


def levels(pages: Pages, material: Material) -> None:
    """Benchmarks, and each level book with its misclosure and its arithmetic."""
    site, found = material.job.site, material.result("site.levels")
    pages.heading("Level notes")
    if site.marks:
        pages.table(
            (
                Cells("mark", 2),
                Cells("what it is", 5),
                Cells("height", 1.8, number=True),
                Cells("good to about ±", 2.0, number=True),
            ),
            [(name, mark.name, *_height(name, mark, found, material)) for name, mark in site.marks.items()],
        )
    else:
        pages.paragraph("No benchmark is written down. Two are wanted, both out of the way of the dig.")
    if not site.books:
        pages.paragraph("No level notes: heights of the shots are as they were typed or measured.")
        return
    if found is None:
        pages.paragraph("The level notes could not be worked out; the check list says why.")
        return
    pages.table(
        (
            Cells("book", 3.4),
            Cells("day", 1.7),
            Cells("set-ups", 1, number=True),
            Cells("misclosure", 1.5, number=True),
            Cells("allowed", 1.4, number=True),
            Cells("class", 2.4),
            Cells("arithmetic", 2.2),
        ),
        [_book(name, book, found, material) for name, book in site.books.items()],
    )
    pages.paragraph(
        f"The books tell {material.told(found.point_count, COUNT)} heights; the least sure is good to "
        f"{material.fine(found.sigma_worst)}. A misclosure is warned of and shared out; it blocks nothing."
    )


def ground(pages: Pages, material: Material) -> None:
    """Numbers of the ground."""
    pages.heading("Ground")
    rows = list(ground_rows(material))
    if rows:
        pages.facts(rows)
    else:
        pages.paragraph("No ground yet: shoot at least three points with place and height.")


def old_hole(pages: Pages, material: Material) -> None:
    """The old hole: floor, rim, what it holds at each level, and how high water stood in it."""
    hole = material.result("site.old_hole")
    pages.heading("The old hole")
    if hole is None:
        pages.paragraph("Not worked out: there is no ground yet.")
        return
    if hole.hole is None:
        pages.paragraph("The ground as shot has no hollow that holds water.")
    else:
        pages.facts(
            [
                ("floor", material.level(hole.floor)),
                ("runs over at its low rim", material.level(hole.lip)),
                ("depth to the rim", material.told(hole.depth)),
                ("holds to the rim", material.told(hole.volume, VOLUME)),
                ("water surface at the rim", material.told(hole.area, AREA)),
                ("part that no shot tells", f"{100 * (hole.guessed_share or 0.0):.0f} %"),
            ]
        )
        every = np.linspace(0, len(hole.levels) - 1, min(len(hole.levels), STORAGE_ROWS)).round().astype(int)
        rows = zip(hole.levels[every], hole.volumes[every], hole.areas[every], strict=True)
        pages.table(
            (
                Cells("water at", 1, number=True),
                Cells("depth", 1, number=True),
                Cells("holds", 1, number=True),
                Cells("surface", 1, number=True),
            ),
            [
                (
                    material.level(level),
                    material.told(level - hole.floor),
                    material.told(volume, VOLUME),
                    material.told(area, AREA),
                )
                for level, volume, area in rows
            ],
        )
    _water_marks(pages, material, hole)


def soils_and_water(pages: Pages, material: Material) -> None:
    """Pits and bores with their layers and the water in them, and the muck."""
    site, layers = material.job.site, material.result("site.layers")
    pages.heading("Soils, muck, and water in the ground")
    told = [(name, probe) for name, probe in site.probes.items() if probe.how != "rod"]
    rods = [probe for probe in site.probes.values() if probe.how == "rod"]
    if told:
        pages.table(
            (
                Cells("", 1.3),
                Cells("what", 2.8),
                Cells("layers, from the top down", 3.8),
                Cells("water at", 1.4, number=True),
                Cells("down", 1.1, number=True),
                Cells("how it rose", 3.4),
            ),
            [_probe(name, probe, layers, material) for name, probe in told],
        )
    else:
        pages.paragraph("No pit and no bore: nobody has looked how high the water stands in the ground.")
    muck = layers.muck if layers is not None else None
    if muck is not None and muck.volume is not None:
        pages.paragraph(
            f"Muck: {material.told(muck.volume, SOIL_VOLUME)} on {material.told(muck.area, AREA)}, "
            f"{material.told(muck.mean)} on average and {material.told(muck.deepest)} at most, by "
            f"{material.told(muck.spot_count, COUNT)} soundings; good to about ± "
            f"{material.told(muck.sigma, SOIL_VOLUME)}, two times in three. Wet it weighs about "
            f"{material.told(muck.mass, BULK_MASS)}."
        )
    else:
        pages.paragraph(
            "Muck: "
            + ("probed, but the soundings enclose no ground." if rods else "nobody has probed for it.")
        )


def next_shot(pages: Pages, material: Material) -> None:
    """The shot that narrows the volume most."""
    found = material.result("earth.next_shot")
    pages.heading("Where to shoot next")
    lines = list(_next_lines(found, material)) if found is not None else []
    for line in lines or ["Not worked out: it needs ground, a shore and what is dug."]:
        pages.paragraph(line)


def _book(name: str, book: Book, found: Any, material: Material) -> tuple[str, ...]:
    worked = found.books.get(name)
    if worked is None:
        return book.name or name, str(book.date or NOT_TOLD), str(len(book.set_ups)), "", "", "", ""
    slips = len(worked.arithmetic.slips)
    return (
        book.name or name,
        str(book.date or NOT_TOLD),
        material.told(worked.set_up_count, COUNT),
        "" if worked.misclosure is None else material.fine(worked.misclosure),
        "" if worked.allowed is None else material.fine(worked.allowed),
        _closing(worked.misclosure, worked.allowed),
        "sums agree" if slips == 0 else f"{slips} SLIPS",
    )


def _closing(misclosure: float | None, allowed: float | None) -> str:
    if misclosure is None or allowed is None:
        return "CLOSES NOWHERE"
    if abs(misclosure) <= allowed:
        return "closes"
    return "LOOK: up to twice" if abs(misclosure) <= 2.0 * allowed else "SHOOT IT AGAIN"


def _height(name: str, mark: Mark, found: Any, material: Material) -> tuple[str, str]:
    """Height of a mark, and how sure it is: typed, from the books, or only a known point."""
    if mark.elevation is not None:
        return material.level(mark.elevation), material.fine(mark.sigma) if mark.sigma else "taken as exact"
    levelled = found.heights.get(name) if found is not None else None
    return ("", "place only") if levelled is None else (material.level(levelled), "by the books")


def _time(seconds: float) -> str:
    """A time since a pit was opened, in the minutes or hours by which it was read."""
    return f"{seconds / 60.0:.0f} min" if seconds < TWO_HOURS else f"{seconds / 3600.0:.0f} h"


def _water_marks(pages: Pages, material: Material, hole: Any) -> None:
    marks = material.job.site.water_marks
    if not marks:
        pages.paragraph("Nobody has told yet how high the water stood in dry and wet seasons.")
        return
    ordered = sorted(marks.items(), key=lambda row: (SEASONS.index(row[1].season), row[1].elevation))
    rows = []
    for name, mark in ordered:
        on = hole.marks.get(name)
        rows.append(
            (
                mark.season,
                mark.name or name,
                mark.how,
                material.level(mark.elevation),
                "" if on is None else material.told(on.below_lip),
                "" if on is None else material.told(on.volume, VOLUME),
            )
        )
    pages.table(
        (
            Cells("season", 1.1),
            Cells("water mark", 4),
            Cells("known", 1.3),
            Cells("stood at", 1.6, number=True),
            Cells("below the rim", 1.5, number=True),
            Cells("holds then", 1.8, number=True),
        ),
        rows,
    )


def _probe(name: str, probe: Probe, layers: Any, material: Material) -> tuple[str, ...]:
    found = layers.probes.get(name) if layers is not None else None
    water = found.water if found is not None else None
    below = "" if probe.water_depth is None else material.told(probe.water_depth)
    rises = ", ".join(f"{_time(rise.time)}: {material.told(rise.depth)}" for rise in probe.rises)
    return (
        name,
        ", ".join(filter(None, (probe.name or probe.how, str(probe.date or "")))),
        ", ".join(f"{layer.kind} {material.told(layer.thickness)}" for layer in probe.layers) or NOT_TOLD,
        "none read" if water is None else material.level(water),
        below,
        f"{rises} down" if rises else "",
    )


def _next_lines(found: Any, material: Material) -> Iterator[str]:
    for finding in material.findings:
        if finding.code.startswith(("earth.next_shot", "site.next_shot")):
            yield " ".join((finding.says, *(advice.says for advice in finding.advice)))
