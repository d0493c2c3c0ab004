"""References: what a row names must be there (a line its shots, a berm its body).

A check of one map is repeated only when that map, or a map that it reads, is another object
than before; and where only the map itself changed, only for its changed rows.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import compress
from operator import attrgetter, is_not
from typing import Any

from pondwright.base.errors import Fault
from pondwright.job.build_up import BuildUp
from pondwright.job.circulation import Cell, Link, Mode, Node
from pondwright.job.document import Job
from pondwright.job.earth import OffSite
from pondwright.job.groundwater import Drain
from pondwright.job.lining import Guard, Liner, LinerEdge, Penetration
from pondwright.job.places import PartPlace, StretchPlace, WholePlace
from pondwright.job.rules import Rule
from pondwright.job.shape import Berm, Body, Seat, Way, unknown_pegs
from pondwright.job.site import (
    Bound,
    ByBearing,
    ByGrid,
    ByOffset,
    ByTapes,
    Cloud,
    Shot,
    Soil,
    SurveyLine,
    Thing,
)
from pondwright.job.stone import FallStone, Piece, StoneClass, Treatment
from pondwright.job.stone import Pile as StonePile


@dataclass(frozen=True, slots=True)
class Reference:
    """Rows of one map that name rows of others."""

    source: str
    reads: tuple[str, ...]
    faults: Callable[[Any, Job], Iterator[Fault]]


def reference_faults(job: Job, before: Job | None = None) -> Iterator[Fault]:
    """Faults of rows that name what is not there.

    Parameters
    ----------
    job : Job      The job to check.
    before : Job   A job known to be sound, of which this one is an edit.

    Returns
    -------
    Faults with dotted paths from the root.
    """
    for reference in REFERENCES:
        rows = _at(job, reference.source)
        sound = _sound_rows(reference, job, before)
        if rows is sound:
            continue
        changed = map(is_not, rows.values(), map(sound.get, rows))
        for name in compress(rows, changed):
            yield from within(f"{reference.source}.{name}", reference.faults(rows[name], job))


def within(path: str, faults: Iterable[Fault]) -> Iterator[Fault]:
    """Same faults with their paths put behind a longer one."""
    for fault in faults:
        yield Fault(".".join(filter(None, (path, fault.path))), fault.rule, fault.found)


def _sound_rows(reference: Reference, job: Job, before: Job | None) -> Mapping[str, Any]:
    if before is None or any(_at(job, path) is not _at(before, path) for path in reference.reads):
        return {}
    return _at(before, reference.source)


def _at(job: Job, path: str) -> Mapping[str, Any]:
    return attrgetter(path)(job)


def _missing(path: str, name: str | None, rows: Mapping[str, Any], what: str) -> Iterator[Fault]:
    if name is not None and name not in rows:
        yield Fault(path, f"must be {what}", f"`{name}`")


def _place(place: Any, job: Job, path: str = "place") -> Iterator[Fault]:
    if not isinstance(place, StretchPlace | PartPlace | WholePlace):
        return
    bodies = job.shape.bodies
    yield from _missing(f"{path}.body", place.body, bodies, "a body of `shape.bodies`")
    if isinstance(place, StretchPlace) and place.body in bodies:
        yield from within(path, unknown_pegs(bodies[place.body], place))


def _shot(shot: Shot, job: Job) -> Iterator[Fault]:
    for path, mark in _marks_of(shot.place):
        yield from _missing(f"place.{path}", mark, job.site.marks, "a mark of `site.marks`")
    yield from _surveyed(shot, job)


def _marks_of(place: Any) -> Iterator[tuple[str, str]]:
    if isinstance(place, ByOffset | ByGrid):
        yield from ((f"base.{index}", mark) for index, mark in enumerate(place.base))
    elif isinstance(place, ByBearing):
        yield "from_mark", place.from_mark
    elif isinstance(place, ByTapes):
        yield from ((f"tapes.{index}.mark", tape.mark) for index, tape in enumerate(place.tapes))


def _surveyed(row: Shot | Cloud, job: Job) -> Iterator[Fault]:
    yield from _missing("survey", row.survey, job.site.surveys, "a survey of `site.surveys`")


def _line(line: SurveyLine, job: Job) -> Iterator[Fault]:
    for index, shot in enumerate(line.shots):
        yield from _missing(f"shots.{index}", shot, job.site.shots, "a shot of `site.shots`")


def _placed(row: Soil | Thing | Bound | Rule | LinerEdge | Guard, job: Job) -> Iterator[Fault]:
    yield from _place(row.place, job)


def _body(body: Body, job: Job) -> Iterator[Fault]:
    what = "a bank type of `shape.bank_types`"
    yield from _missing("bank_type", body.bank_type, job.shape.bank_types, what)
    for name, stretch in body.stretches.items():
        path = f"stretches.{name}.bank_type"
        yield from _missing(path, stretch.bank_type, job.shape.bank_types, what)


def _berm(berm: Berm, job: Job) -> Iterator[Fault]:
    yield from _missing("body", berm.body, job.shape.bodies, "a body of `shape.bodies`")


def _way(way: Way, job: Job) -> Iterator[Fault]:
    yield from _place(way.place, job)
    yield from _missing("construction", way.construction, job.build_up, "a row of `build_up`")


def _seat(seat: Seat, job: Job) -> Iterator[Fault]:
    yield from _place(seat.place, job)
    for index, place in enumerate(seat.looks_at):
        yield from _place(place, job, f"looks_at.{index}")


def _off_site(place: OffSite, job: Job) -> Iterator[Fault]:
    yield from _missing("truck", place.truck, job.earth.trucks, "a truck of `earth.trucks`")


def _drain(drain: Drain, job: Job) -> Iterator[Fault]:
    water = job.groundwater
    ends = {**water.outlets, **water.sumps, **water.drains}
    yield from _missing("into", drain.into, ends, "an outlet, a sump or a drain of `groundwater`")
    yield from _missing("gravel", drain.gravel, water.gravels, "a gravel of `groundwater.gravels`")
    yield from _missing("fabric", drain.fabric, water.fabrics, "a fabric of `groundwater.fabrics`")
    passed: list[Drain] = []
    while drain.into is not None and drain.into in water.drains:
        passed.append(drain)
        drain = water.drains[drain.into]
        if any(drain is one for one in passed):
            yield Fault("into", "must lead to an outlet or a sump", "a ring of drains")
            return


_ITEM = "an item of `catalogue`"
_CLASS = "a class of `stone.classes`"


def _liner(liner: Liner, job: Job) -> Iterator[Fault]:
    for index, body in enumerate(liner.bodies):
        yield from _missing(f"bodies.{index}", body, job.shape.bodies, "a body of `shape.bodies`")
    for name in ("membrane", "cushion_below", "cushion_above"):
        yield from _missing(name, getattr(liner, name), job.catalogue, _ITEM)


def _penetration(hole: Penetration, job: Job) -> Iterator[Fault]:
    yield from _missing("boot", hole.boot, job.catalogue, _ITEM)


def _stone_class(stone: StoneClass, job: Job) -> Iterator[Fault]:
    yield from _missing("item", stone.item, job.catalogue, _ITEM)


def _treatment(treatment: Treatment, job: Job) -> Iterator[Fault]:
    yield from _place(treatment.place, job)
    for index, share in enumerate(treatment.classes):
        yield from _missing(f"classes.{index}.stone", share.stone, job.stone.classes, _CLASS)


def _piece(piece: Piece, job: Job) -> Iterator[Fault]:
    yield from _missing("fall", piece.fall, job.stone.falls, "a fall of `stone.falls`")


def _stone_pile(pile: StonePile, job: Job) -> Iterator[Fault]:
    yield from _missing("stone", pile.stone, job.stone.classes, _CLASS)


def _fall_stone(fall: FallStone, job: Job) -> Iterator[Fault]:
    yield from _missing("body", fall.body, job.shape.bodies, "a body of `shape.bodies`")
    for name in ("spill", "frame"):
        yield from _missing(name, getattr(fall, name), job.stone.classes, _CLASS)


def _build_up(build_up: BuildUp, job: Job) -> Iterator[Fault]:
    yield from _place(build_up.place, job)
    for index, layer in enumerate(build_up.layers):
        yield from _missing(f"layers.{index}.item", layer.item, job.catalogue, "an item of `catalogue`")


def _node(node: Node, job: Job) -> Iterator[Fault]:
    yield from _place(node.place, job)
    yield from _missing("body", node.body, job.shape.bodies, "a body of `shape.bodies`")


def _link(link: Link, job: Job) -> Iterator[Fault]:
    nodes = job.circulation.nodes
    yield from _missing("start", link.start, nodes, "a node of `circulation.nodes`")
    yield from _missing("end", link.end, nodes, "a node of `circulation.nodes`")
    yield from _missing("item", link.item, job.catalogue, "an item of `catalogue`")
    for fitting in link.fittings:
        yield from _missing(f"fittings.{fitting}", fitting, job.catalogue, "an item of `catalogue`")


def _cell(cell: Cell, job: Job) -> Iterator[Fault]:
    yield from _missing("body", cell.body, job.shape.bodies, "a body of `shape.bodies`")
    nodes = job.circulation.nodes
    yield from _missing("manifold", cell.manifold, nodes, "a node of `circulation.nodes`")


def _mode(mode: Mode, job: Job) -> Iterator[Fault]:
    for link in mode.links:
        yield from _missing(f"links.{link}", link, job.circulation.links, "a link of `circulation.links`")


_BODIES = ("shape.bodies",)
REFERENCES = (
    Reference("site.shots", ("site.marks", "site.surveys"), _shot),
    Reference("site.clouds", ("site.surveys",), _surveyed),
    Reference("site.lines", ("site.shots",), _line),
    Reference("site.soils", _BODIES, _placed),
    Reference("site.things", _BODIES, _placed),
    Reference("site.bounds", _BODIES, _placed),
    Reference("shape.bodies", ("shape.bank_types",), _body),
    Reference("shape.berms", _BODIES, _berm),
    Reference("shape.ways", (*_BODIES, "build_up"), _way),
    Reference("shape.seats", _BODIES, _seat),
    Reference("earth.off_site", ("earth.trucks",), _off_site),
    Reference(
        "groundwater.drains",
        (
            "groundwater.outlets",
            "groundwater.sumps",
            "groundwater.drains",
            "groundwater.gravels",
            "groundwater.fabrics",
        ),
        _drain,
    ),
    Reference("lining.liners", (*_BODIES, "catalogue"), _liner),
    Reference("lining.edges", _BODIES, _placed),
    Reference("lining.guards", _BODIES, _placed),
    Reference("lining.penetrations", ("catalogue",), _penetration),
    Reference("stone.classes", ("catalogue",), _stone_class),
    Reference("stone.treatments", (*_BODIES, "stone.classes"), _treatment),
    Reference("stone.pieces", ("stone.falls",), _piece),
    Reference("stone.piles", ("stone.classes",), _stone_pile),
    Reference("stone.falls", (*_BODIES, "stone.classes"), _fall_stone),
    Reference("build_up", (*_BODIES, "catalogue"), _build_up),
    Reference("circulation.nodes", _BODIES, _node),
    Reference("circulation.links", ("circulation.nodes", "catalogue"), _link),
    Reference("circulation.cells", (*_BODIES, "circulation.nodes"), _cell),
    Reference("circulation.modes", ("circulation.links",), _mode),
    Reference("rules", _BODIES, _placed),
)
