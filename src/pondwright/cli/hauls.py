"""What ``pondwright hauls`` prints: what goes where, how far a machine drives, and where its way bends."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import numpy as np

from pondwright.base.findings import Finding
from pondwright.base.kinds import LENGTH, SOIL_VOLUME, TIME
from pondwright.cli import output
from pondwright.cli.tables import print_room, table, words
from pondwright.flow.names import in_names, with_names
from pondwright.job.document import Job

MOST_BENDS = 6
"""Bends of a way that are printed; all stand in the JSON."""

DIG = "dig"

PLACES = {"pile": "earth.piles", "off site": "earth.off_site"}
"""Map of the document by what the name of a haul's end begins with; its id follows."""

Group = tuple[str, str, str]


def print_hauls(haul: Any, findings: Sequence[Finding], job: Job, *, as_json: bool) -> None:
    """Print the hauls of a job, those of one soil from one place to another together.

    Parameters
    ----------
    haul : HaulResult
    findings : sequence of Finding
    job : Job
        Tells units, and the names of piles and gates.
    as_json : bool
        Then every single haul is printed with all places of its way.
    """
    hauls, findings = haul.plan.hauls, list(with_names(findings, job))
    if as_json:
        output.print_json({"hauls": [_plain(each) for each in hauls], "checks": findings})
        return
    groups: dict[Group, list[Any]] = defaultdict(list)
    for each in hauls:
        groups[each.stream, each.source or DIG, each.end.name].append(each)
    blocks = [_hauls(groups, job), _bends(groups, job)]
    print_room("earth", {}, blocks, findings, as_json=False)


def _called(end: str, job: Job) -> str:
    """An end of a haul by the name of its pile or gate."""
    kind, _, own = end.rpartition(" ")
    return f"{kind}: {in_names(f'`{PLACES[kind]}.{own}`', job)}" if kind in PLACES else end


def _hauls(groups: Mapping[Group, Sequence[Any]], job: Job) -> Iterator[str]:
    if not groups:
        yield "No soil is moved yet."
        return
    yield "hauls, in the bank; how far a machine drives, one way"
    rows = []
    for (stream, source, end), some in groups.items():
        called = (stream, _called(source, job), _called(end, job))
        volumes, driven = (np.array([getattr(each, of) for each in some]) for of in ("volume", "distance"))
        going = bool(some[0].way)
        straight = np.array([np.hypot(*np.subtract(each.way[-1], each.way[0])) for each in some if going])
        means = [float(np.average(far, weights=volumes)) if going else None for far in (driven, straight)]
        farthest = float(driven.max()) if going else None
        time = sum(each.time for each in some) if going else None
        ways = (*((each, LENGTH) for each in (*means, farthest)), (time, TIME))
        rows.append((*called, *words(job.shown_units, (float(volumes.sum()), SOIL_VOLUME), *ways)))
    yield table(("soil", "from", "to", "volume", "on average", "straight", "farthest", "carrying"), rows, 3)


def _bends(groups: Mapping[Group, Sequence[Any]], job: Job) -> Iterator[str]:
    rows = []
    for (stream, _source, end), some in groups.items():
        largest = max(some, key=lambda each: each.volume)
        bends = largest.way[1:-1]
        if bends:
            places = [
                ", ".join(words(job.shown_units, *((each, LENGTH) for each in place))) for place in bends
            ]
            more = f"; {len(places) - MOST_BENDS} more" if len(places) > MOST_BENDS else ""
            rows.append((stream, _called(end, job), "; ".join(places[:MOST_BENDS]) + more))
    if rows:
        yield "where the largest haul of each bends, east and north"
        yield table(("soil", "to", "at"), rows, 3)


def _plain(haul: Any) -> dict[str, Any]:
    """One haul as a program wants it."""
    return {
        "soil": haul.stream,
        "from": haul.source or DIG,
        "to": haul.end.name,
        "volume": haul.volume,
        "distance": haul.distance,
        "time": haul.time,
        "driven": haul.driven,
        "way": haul.way,
    }
