"""What ``pondwright level`` prints: what each water level of a body costs and holds, in two readings."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from pondwright.base.errors import DomainError
from pondwright.base.kinds import AREA, COUNT, ELEVATION, LENGTH, SOIL_VOLUME, VOLUME, Kind
from pondwright.base.units import Shown
from pondwright.cli import output
from pondwright.flow.words import in_words

Column = tuple[str, str, Kind]

MOVED: tuple[Column, ...] = (
    ("level", "level", ELEVATION),
    ("rim to raise", "rim_to_raise", LENGTH),
    ("by up to", "highest_raise", LENGTH),
    ("dug", "dug", SOIL_VOLUME),
    ("placed", "placed", SOIL_VOLUME),
    ("left over", "surplus", SOIL_VOLUME),
    ("loads", "loads", COUNT),
    ("liner", "liner", AREA),
    ("water", "volume", VOLUME),
    ("area", "area", AREA),
)
FILLED: tuple[Column, ...] = (
    ("level", "level", ELEVATION),
    ("water", "filled_volume", VOLUME),
    ("area", "filled_area", AREA),
    ("wet bed", "filled_bed", AREA),
)


def print_level(levels: Any, bodies: Any, body: str, shown: Shown, *, as_json: bool) -> None:
    """Print the level question of one body, or of all.

    Parameters
    ----------
    levels : LevelsResult
    bodies : mapping
        Shores of the bodies by id, for their levels.
    body : str
        Id of a body; empty for all.
    shown : Shown
        Units of the job.
    as_json : bool

    Raises
    ------
    DomainError
        If there is no such body.
    """
    if body and body not in levels.bodies:
        known = ", ".join(f"`{name}`" for name in levels.bodies) or "none"
        raise DomainError(f"`body` must be a body of water of the job ({known}), got `{body}`")
    chosen = {name: table for name, table in levels.bodies.items() if body in ("", name)}
    if as_json:
        output.print_json(chosen)
        return
    if not chosen:
        output.answer(None, "There is no water in this job.", as_json=False)
        return
    blocks = ["\n".join(_body(name, table, bodies[name].level, shown)) for name, table in chosen.items()]
    output.answer(None, "\n\n".join(blocks), as_json=False)


def _body(name: str, table: Any, level: float, shown: Shown) -> Iterator[str]:
    yield f"{name}: the shore stays on the plan, the bed moves with the level"
    yield _table(table, MOVED, level, shown)
    if table.balanced_level is None:
        yield "  No level within reach of these balances its soil."
    yield "  Liner: the true, sloped area up to the crest, without overlaps and anchor trench."
    yield f"{name}: the hole as it is drawn, filled to another level"
    yield _table(table, FILLED, level, shown)


def _table(table: Any, wanted: tuple[Column, ...], level: float, shown: Shown) -> str:
    rows = [(*(head for head, _name, _kind in wanted), "")]
    for row in range(len(table.level)):
        cells = tuple(in_words(float(getattr(table, name)[row]), kind, shown) for _head, name, kind in wanted)
        rows.append((*cells, "; ".join(_notes(table, row, level, wanted is FILLED))))
    return output.columns(rows, indent="  ", right=frozenset(range(len(wanted))))


def _notes(table: Any, row: int, level: float, is_filled: bool) -> Iterator[str]:
    if abs(float(table.level[row]) - level) < 1e-9:
        yield "the level of the job"
    if row == table.balanced_row:
        yield "soil balances"
    if is_filled and table.runs_over[row]:
        yield "runs over"
