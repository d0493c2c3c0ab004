"""Stone of falls: each named step of a stream."""

from __future__ import annotations

from collections.abc import Mapping

from pondwright.base.kinds import Length
from pondwright.job.fields import value_of
from pondwright.job.shape import Body, CorridorOutline
from pondwright.job.stone import FallStone
from pondwright.rooms.stone.fall_stone import PACKED, backing_mass, fall_stones
from pondwright.rooms.stone.layers import bulk_density
from pondwright.rooms.stone.stage.classes import BACKING, Classes
from pondwright.rooms.stone.stage.takeoff_results import FallTotal, StoneLine


def drops_of(body: Body) -> tuple[Length, ...]:
    """Drops of the falls of a stream, from its upper end down; of any other body none.

    Parameters
    ----------
    body : Body

    Returns
    -------
    tuple of Length     [m]
    """
    if not isinstance(body.outline, CorridorOutline):
        return ()
    return tuple(step.drop for step in sorted(body.outline.steps, key=lambda step: step.distance))


def fall_lines(
    falls: Mapping[str, FallStone], bodies: Mapping[str, Body], classes: Classes
) -> tuple[dict[str, FallTotal], tuple[StoneLine, ...]]:
    """Stone of all falls whose step is there.

    Parameters
    ----------
    falls, bodies : mapping     Of the document.
    classes : Classes           The stone behind a fall is a class of its own.

    Returns
    -------
    dict of FallTotal, and the lines of all of them.
    """
    totals: dict[str, FallTotal] = {}
    lines: list[StoneLine] = []
    for name, row in falls.items():
        drops = drops_of(bodies[row.body])
        if row.step >= len(drops):
            continue
        own = tuple(_lines(name, row, drops[row.step], classes))
        lines += own
        count = {line.use: line.count for line in own}
        totals[name] = FallTotal(
            drop=drops[row.step],
            spill=count.get("spill", 0),
            face=count.get("face", 0),
            frame=count.get("frame", 0),
            wings=count.get("wing", 0),
            mass=sum(line.mass for line in own),
            backing=sum(line.mass for line in own if line.use == "backing"),
        )
    return totals, tuple(lines)


def _lines(name: str, row: FallStone, drop: Length, classes: Classes) -> list[StoneLine]:
    spill = None if row.spill is None else classes[row.spill]
    frame = None if row.frame is None else classes[row.frame]
    wing = value_of(row, "wing")
    found = fall_stones(
        row.width,
        drop,
        None if spill is None else spill.mean,
        None if frame is None else frame.mean,
        wing,
        None if frame is None else frame.height,
    )
    lines = []
    for use, stone, count in (
        ("spill", row.spill, found.spill),
        ("face", row.frame, found.face),
        ("frame", row.frame, found.frame),
        ("wing", row.frame, found.wings),
    ):
        if stone is not None and count:
            mass = count * classes[stone].mass
            loose = bulk_density(classes[stone].solid, classes[stone].loose)
            lines.append(
                StoneLine("fall", name, use, stone, row.body, count=count, mass=mass, volume=mass / loose)
            )
    key = classes.own("backing", BACKING)
    wide, thickness = row.width + 2.0 * wing, value_of(row, "backing")
    mass = backing_mass(wide, drop, thickness, classes[key].solid, PACKED)
    if mass > 0.0:
        lines.append(
            StoneLine("fall", name, "backing", key, row.body, mass=mass, volume=wide * drop * thickness,
                      thickness=thickness)
        )  # fmt: skip
    return lines
