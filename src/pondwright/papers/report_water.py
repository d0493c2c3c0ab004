"""Part of the site report about water in the ground: readings, what holds the liners, and while building."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from pondwright.base.findings import Grade
from pondwright.base.kinds import FLOW, RATIO, TIME, VOLUME, Elevation
from pondwright.papers.material import Material
from pondwright.papers.pages import Cells, Pages

SEASONS = ("dry", "wet")
NOTHING = "nothing pushes"
DAY, DAYS_FROM = 86_400.0, 3 * 86_400.0


def groundwater(pages: Pages, material: Material) -> None:
    """What was read, how well the model meets it, uplift of each liner, and water while building.

    Parameters
    ----------
    pages : Pages
    material : Material
    """
    pages.heading("Groundwater")
    aquifer = material.result("groundwater.aquifer")
    if not material.job.groundwater.readings:
        pages.paragraph(
            "Nobody has read the groundwater yet: a standpipe, a seep or the water in a pit tells how hard "
            "it will push under a liner. Read it in the dry and in the wet season."
        )
    else:
        _readings(pages, material, aquifer)
    _uplift(pages, material)
    _building(pages, material)


def _readings(pages: Pages, material: Material, aquifer: Any) -> None:
    seasons = {} if aquifer is None else aquifer.seasons
    pages.table(
        (
            Cells("", 1.2),
            Cells("where", 3.2),
            Cells("dry, read", 1.5, number=True),
            Cells("model", 1.5, number=True),
            Cells("wet, read", 1.5, number=True),
            Cells("model", 1.5, number=True),
            Cells("model against reading", 2.4),
        ),
        [
            (
                name,
                row.name if row.kind in row.name.lower() else ", ".join(filter(None, (row.name, row.kind))),
                *(words for season in SEASONS for words in _read(name, row, season, seasons, material)),
                _met(name, row, aquifer, material),
            )
            for name, row in material.job.groundwater.readings.items()
        ],
    )
    for line in _flows(seasons, material):
        pages.paragraph(line)
    if aquifer is None or not aquifer.known:
        pages.paragraph("The readings do not tell enough for a model of the groundwater.")


def _read(name: str, row: Any, season: str, seasons: Any, material: Material) -> tuple[str, str]:
    """A reading in a season, and what the model gives there."""
    level = getattr(row, season)
    found = seasons[season].readings.get(name) if season in seasons else None
    return (
        "" if level is None else material.level(level),
        "" if found is None else material.level(found.modelled),
    )


def _met(name: str, row: Any, aquifer: Any, material: Material) -> str:
    """Whether the model meets a reading, by the check of it in each season."""
    told = []
    for season in SEASONS:
        path = f"groundwater.readings.{name}.{season}"
        for one in material.findings:
            if one.code == "groundwater.reading_met" and path in one.where.paths:
                told.append(f"{season}: {'met' if one.grade is Grade.GOOD else 'NOT MET'}")
    if told:
        return ", ".join(told)
    if aquifer is None or not aquifer.known:
        return "no model"
    return "held at it" if row.kind in ("pond", "ditch") else "not fitted to it"


def _flows(seasons: Any, material: Material) -> Iterator[str]:
    """Flow of each seep and spring, as measured and as the model has it."""
    for name, row in material.job.groundwater.readings.items():
        told = [
            f"{_flow(flow.measured, material)} measured in the {season} season, where the model has "
            f"{_flow(flow.likely, material)}, {_flow(flow.low, material)} to {_flow(flow.high, material)}"
            for season in SEASONS
            if season in seasons and (flow := seasons[season].flows.get(name)) is not None
        ]
        if told:
            yield f"{row.name or name}: {'; '.join(told)}."


def _uplift(pages: Pages, material: Material) -> None:
    """Each liner in the wet season with its drains working, and the marks below which nobody pumps."""
    uplift, ranges = material.result("groundwater.uplift"), material.result("groundwater.range")
    if uplift is None or not uplift.known or not uplift.bodies:
        if material.job.shape.bodies:
            pages.paragraph("How hard groundwater pushes under the liner is not known.")
        return
    cases = {} if ranges is None else {name: body.cases for name, body in ranges.bodies.items()}
    pages.table(
        (
            Cells("body of water", 2.2),
            Cells("groundwater over its water, in use", 1.9, number=True),
            Cells("weight against it", 1.6, number=True),
            Cells("in use", 1.3),
            Cells("do not pump below, wet", 2.3),
            Cells("the same, dry", 1.8),
            Cells("wet, no drain", 1.9),
        ),
        [_body(name, body, cases.get(name, {}), material) for name, body in uplift.bodies.items()],
    )
    pages.paragraph(
        "With the drains working, but for the last column. In use is the lowest water that is planned for; a "
        "stream's is none, because its pump stops. Weight against it: 1 just balances. In use and emptied "
        "are two questions: a pond that holds while full can lift its liner when it is pumped out."
    )


def _body(name: str, body: Any, cases: Any, material: Material) -> tuple[str, ...]:
    used = body.in_use
    level = material.result("shape.shore").bodies[name].level
    marks = [
        _mark(cases[key].mark_likely, level, material) if key in cases else "not known"
        for key in ("wet_working", "dry_working", "wet_none")
    ]
    if "wet_working" not in cases:
        marks[0] = _mark(body.mark, level, material)
    return (
        material.job.shape.bodies[name].name or name,
        "none" if used.excess <= 0.0 else material.told(used.excess),
        NOTHING if used.net is None else material.told(used.net, RATIO, 2),
        _holds(name, material),
        *marks,
    )


def _holds(name: str, material: Material) -> str:
    """Whether a liner holds in use, by the check of it."""
    for one in material.findings:
        if one.code == "groundwater.uplift_in_use" and f"shape.bodies.{name}" in one.where.paths:
            return {"good": "holds", "look": "LOOK"}.get(one.grade.value, "LIFTS")
    return "not checked"


def _mark(mark: Elevation | None, level: Elevation, material: Material) -> str:
    """Mark below which a body may not be pumped."""
    if mark is None:
        return "may be emptied"
    return "never pump" if mark >= level else material.level(mark)


def _building(pages: Pages, material: Material) -> None:
    """The old pond emptied, and the digs kept dry."""
    found = material.result("groundwater.pumping")
    if found is None:
        return
    if found.old_pond is not None:
        pages.paragraph(" ".join(_old_pond(found.old_pond, material)))
    if not (found.known and found.digs):
        return
    pages.table(
        (
            Cells(f"dig, {found.season} season", 2.4),
            Cells("floor", 1.4, number=True),
            Cells("groundwater over it", 1.6, number=True),
            Cells("hold it below", 1.5, number=True),
            Cells("water that comes: least, likely, most", 3.6, number=True),
            Cells("pump ahead", 1.5, number=True),
        ),
        [_dig(name, dig, material) for name, dig in found.digs.items()],
    )
    goes = material.job.groundwater.building.goes.strip().rstrip(".")
    pages.paragraph(
        f"Where the pumped water goes: {goes or 'NOT TOLD; ask before the first pump runs'}. Never empty a "
        "lined pond while groundwater stands above the mark; never stop a pump while the dig is open."
    )


def _old_pond(old: Any, material: Material) -> Iterator[str]:
    yield (
        f"The old pond holds {material.told(old.volume, VOLUME)} at {material.level(old.start)}; "
        f"{_flow(old.inflow, material)} runs in at the start, {_flow(old.inflow_empty, material)} once it is "
        "empty."
    )
    pumps = material.job.groundwater.building.pumps
    for name, down in old.pumps.items():
        called = pumps[name].name or name
        if down.time is None:
            yield f"{called} alone never empties it: it gets down to {material.level(down.reached)}."
        else:
            yield f"{called} alone empties it in {_long(down.time, material)}, nights and rests too."


def _dig(name: str, dig: Any, material: Material) -> tuple[str, ...]:
    above = dig.above_floor
    flows = [one for one in (dig.low, dig.likely, dig.high) if one is not None]
    return (
        material.job.shape.bodies[name].name or name,
        material.level(dig.floor),
        "not known" if above is None else "none" if above <= 0.0 else material.told(above),
        material.level(dig.kept),
        ", ".join(_flow(one, material) for one in flows),
        "" if dig.time is None else _long(dig.time, material),
    )


def _flow(flow: float | None, material: Material) -> str:
    """A flow with as many decimals as it takes to be told from none."""
    words = material.told(flow, FLOW)
    for digits in (2, 3, 4):
        if not flow or any(sign in "123456789" for sign in words):
            break
        words = material.told(flow, FLOW, digits)
    return words


def _long(time: float, material: Material) -> str:
    """A time in hours, or in days where those are many."""
    return material.told(time, TIME, 0) if time < DAYS_FROM else f"{time / DAY:.0f} days"
