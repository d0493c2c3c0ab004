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
    ("fill left over", "surplus", SOIL_VOLUME),
    ("loads", "loads", COUNT),
    ("liner", "liner", AREA),
    ("water", "volume", VOLUME),
    ("area", "area", AREA),
    ("lip", "lip", ELEVATION),
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
    yield from _warnings(table, shown)
    yield from _others(table, shown)
    yield f"  {_balance(table, shown)}"
    yield "  Liner: the true, sloped area that it covers, as the lining tells it, without laps and waste."
    yield f"{name}: the hole as it is drawn, filled to another level"
    yield _table(table, FILLED, level, shown)


def _balance(table: Any, shown: Shown) -> str:
    """Where the soil balances, and whether that can be recommended."""
    if table.balanced_level is None:
        return "No level within reach of these balances its soil."
    level = in_words(table.balanced_level, ELEVATION, shown)
    if table.said.refused:
        return f"Not recommended: {level}, where the soil balances. {table.said.refused}"
    warned = f" But there: {table.said.warned}" if table.said.warned else ""
    return f"The soil balances at {level}.{warned}"


def _warnings(table: Any, shown: Shown) -> Iterator[str]:
    """Each reason that speaks against levels, with the levels."""
    for reason in dict.fromkeys(filter(None, table.warnings)):
        levels = [
            level for level, warning in zip(table.level, table.warnings, strict=True) if warning == reason
        ]
        yield f"  At {', '.join(in_words(float(level), ELEVATION, shown) for level in levels)}: {reason}"


def _others(table: Any, shown: Shown) -> Iterator[str]:
    """What else fills trucks than the fill that is left over, with the levels."""
    told = [
        f"{in_words(float(volume), SOIL_VOLUME, shown)} at {in_words(float(level), ELEVATION, shown)}"
        for level, volume, loads in zip(table.level, table.others_leave, table.loads, strict=True)
        if volume > 0.0 and loads
    ]
    if told:
        yield f"  Loads count also topsoil and muck for which no pile has room: {', '.join(told)}."


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
    over = table.filled_runs_over if is_filled else table.runs_over
    if over[row]:
        yield "runs over"
    if not is_filled and table.warnings[row]:
        yield "not as it is drawn"
