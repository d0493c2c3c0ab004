"""What ``pondwright groundwater`` prints: readings, heads, uplift by body and stage, drains, and building."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from pondwright.base.figures import figures_of
from pondwright.base.findings import Finding, Grade
from pondwright.base.kinds import ELEVATION, FLOW, LENGTH, RATIO, SLOPE, TIME, VOLUME, Kind
from pondwright.base.units import Shown
from pondwright.cli import output
from pondwright.flow.words import in_words

NONE = "–"

CASES = {"working": "drains working", "stopped": "pumps stopped", "none": "no drain"}
STAGES = {"full": "full", "half": "half full", "empty": "emptied", "service": "emptied, stone drained"}


def print_groundwater(
    results: Mapping[str, Any], findings: Sequence[Finding], shown: Shown, *, as_json: bool
) -> None:
    """Print the water in the ground of a job.

    Parameters
    ----------
    results : mapping
        Results of the groundwater's stages by name; those that are not there are left out.
    findings : sequence of Finding
        Checks of all of them.
    shown : Shown
        Units of the job.
    as_json : bool
    """
    if as_json:
        output.print_json({**_plain(results), "checks": findings})
        return
    told = [finding for finding in findings if finding.grade is not Grade.GOOD]
    parts = (
        ("groundwater.aquifer", _readings),
        ("groundwater.heads", _heads),
        ("groundwater.uplift", _uplift),
        ("groundwater.range", _cases),
        ("groundwater.profiles", _drains),
        ("groundwater.pumping", _building),
    )
    blocks = [
        "\n".join(lines)
        for name, block in parts
        if results.get(name) is not None and (lines := list(block(results[name], shown)))
    ]
    blocks += ["\n".join(line for finding in told for line in _told(finding))] if told else []
    output.answer(None, "\n\n".join(blocks), as_json=False)


def _readings(aquifer: Any, shown: Shown) -> Iterator[str]:
    if not aquifer.known:
        yield "Nobody has read the groundwater here yet, so nothing is said about it."
        return
    rows = [
        (
            name,
            season,
            *_words(shown, (each.read, ELEVATION), (each.modelled, ELEVATION), (each.residual, LENGTH)),
        )
        for season, fit in aquifer.seasons.items()
        for name, each in fit.readings.items()
    ]
    if rows:
        yield "readings, and the model there"
        yield _table(("reading", "season", "read", "model", "off by"), rows, 2)
    flows = [
        (
            name,
            season,
            *_words(shown, (each.measured, FLOW), (each.low, FLOW), (each.likely, FLOW), (each.high, FLOW)),
        )
        for season, fit in aquifer.seasons.items()
        for name, each in fit.flows.items()
    ]
    if flows:
        yield _table(("seep", "season", "measured", "low", "likely", "high"), flows, 2)


def _heads(heads: Any, shown: Shown) -> Iterator[str]:
    if not heads.known:
        return
    yield f"where the water goes, once it is built: {heads.season} season, drains working"
    rows = [
        ("soaks in", heads.recharge),
        ("comes in below ground", heads.out_of_borders),
        ("leaves below ground", heads.into_borders),
        ("comes out of the ground", heads.seepage),
        *((f"into drain {name}", drain.flow) for name, drain in heads.drains.items()),
    ]
    whys = ["", "", "", "", *(drain.why for drain in heads.drains.values())]
    yield output.columns(
        [(says, *_words(shown, (flow, FLOW)), why) for (says, flow), why in zip(rows, whys, strict=True)],
        indent="  ",
        right=frozenset({1}),
    )


def _uplift(uplift: Any, shown: Shown) -> Iterator[str]:
    for name, body in uplift.bodies.items():
        yield f"uplift of {name}, at its worst spot"
        rows = [
            (
                STAGES.get(stage, stage),
                *_words(
                    shown,
                    (spot.level, ELEVATION),
                    (spot.excess, LENGTH),
                    (spot.net, RATIO),
                    (spot.gross, RATIO),
                    (spot.stone, LENGTH),
                ),
            )
            for stage, spot in body.stages.items()
        ]
        yield _table(("pond", "water", "groundwater above it", "net", "gross", "stone that holds"), rows, 1)
        if body.mark is None:
            yield "  It may be emptied while the drains work."
        else:
            yield f"  Do not pump it below {in_words(body.mark, ELEVATION, shown)}."


def _cases(found: Any, shown: Shown) -> Iterator[str]:
    for name, body in found.bodies.items():
        yield f"{name} in every case"
        rows = [
            (f"{season}, {CASES.get(drains, drains)}", *_case(case, shown))
            for key, case in body.cases.items()
            for season, _, drains in (key.partition("_"),)
            # Without a sump nothing changes when the pumps stop.
            if drains != "stopped" or _case(case, shown) != _case(body.cases[f"{season}_working"], shown)
        ]
        head = ("case", "in use", "emptied", "mark, low", "likely", "high")
        yield _table(head, rows, 3)


def _case(case: Any, shown: Shown) -> tuple[str, ...]:
    marks = ((mark, ELEVATION) for mark in (case.mark_low, case.mark_likely, case.mark_high))
    holds = ("holds" if held else "LIFTS" for held in (case.holds_in_use, case.holds_emptied))
    return (*holds, *_words(shown, *marks))


def _drains(profiles: Any, shown: Shown) -> Iterator[str]:
    if not profiles.lines:
        return
    yield "drains"
    rows = [
        (
            name,
            *_words(
                shown,
                (line.length, LENGTH),
                (line.upper, ELEVATION),
                (line.lower, ELEVATION),
            ),
            f"{100.0 * line.fall:.2f} %",
            *_words(
                shown,
                (line.least_cover, LENGTH),
                (line.capacity, FLOW),
                (line.inflow, FLOW),
                (line.free_fall, LENGTH),
            ),
        )
        for name, line in profiles.lines.items()
    ]
    head = ("drain", "length", "upper", "lower", "fall", "cover", "carries", "gets", "above flood")
    yield _table(head, rows, 1)


def _building(pumping: Any, shown: Shown) -> Iterator[str]:
    if pumping.old_pond is not None:
        yield from _old_pond(pumping.old_pond, shown)
    if pumping.digs:
        yield from _digs(pumping, shown)
    if pumping.trenches:
        yield "trenches"
        rows = [
            (
                name,
                *_words(shown, (each.depth, LENGTH), (each.deep_length, LENGTH)),
                each.soil_type,
                *_words(shown, (each.slope, SLOPE), (each.top_width, LENGTH)),
                str(each.ladders),
            )
            for name, each in pumping.trenches.items()
        ]
        head = ("drain", "deepest", "4 ft or deeper", "type", "sides", "width at the top", "ladders")
        yield _table(head, rows, 1)


def _old_pond(old: Any, shown: Shown) -> Iterator[str]:
    start, floor = (in_words(level, ELEVATION, shown) for level in (old.start, old.floor))
    water, now, empty, most, pump = _words(
        shown,
        (old.volume, VOLUME),
        (old.inflow, FLOW),
        (old.inflow_empty, FLOW),
        (old.inflow_empty_high, FLOW),
        (old.largest_useful_pump, FLOW),
    )
    yield f"old pond: {water}, from {start} down to {floor}"
    yield f"  {now} run in now, {empty} once it is empty, {most} at the most"
    yield f"  no pump larger than {pump} is of use: its banks bear no faster fall"
    pumps = dict(old.pumps)
    if old.together is not None and len(pumps) > 1:
        pumps["all together"] = old.together
    if pumps:
        rows = [
            (
                name,
                _days(each.time),
                f"{_days(each.time_low)} to {_days(each.time_high)}",
                *_words(shown, (each.run_time, TIME), (each.pumped, VOLUME), (each.reached, ELEVATION)),
            )
            for name, each in pumps.items()
        ]
        yield _table(("pump", "days", "low to high", "runs", "lifts", "down to"), rows, 1)


def _digs(pumping: Any, shown: Shown) -> Iterator[str]:
    if not pumping.known:
        return
    yield f"water that comes to the dig, {pumping.season} season"
    rows = [
        (
            name,
            *_words(
                shown,
                (dig.floor, ELEVATION),
                (dig.head, ELEVATION),
                (dig.low, FLOW),
                (dig.likely, FLOW),
                (dig.high, FLOW),
            ),
            _days(dig.time),
        )
        for name, dig in pumping.digs.items()
    ]
    yield _table(("dig", "floor", "groundwater", "low", "likely", "high", "days ahead"), rows, 1)
    lowered = [
        (
            name,
            *_words(
                shown, (each.distance, LENGTH), (each.low, LENGTH), (each.likely, LENGTH), (each.high, LENGTH)
            ),
        )
        for name, each in pumping.beside.items()
    ]
    if lowered:
        yield _table(("lowered at", "away", "low", "likely", "high"), lowered, 1)


def _days(time: float | None) -> str:
    return "never" if time is None else f"{time / 86_400.0:.1f}"


def _words(shown: Shown, *values: tuple[float | None, Kind]) -> tuple[str, ...]:
    return tuple(
        NONE if value is None or not math.isfinite(value) else in_words(float(value), kind, shown)
        for value, kind in values
    )


def _table(head: Sequence[str], rows: Sequence[Sequence[str]], left: int) -> str:
    right = frozenset(range(left, len(head)))
    return output.columns([head, *rows], indent="  ", right=right)


def _told(finding: Finding) -> Iterator[str]:
    """A check; ways out of a stop too, those of a look are told by ``pondwright check --all``."""
    yield f"{output.graded(finding.grade.value)}  {finding.says}"
    if finding.grade is Grade.STOP:
        yield from (f"      → {advice.says}" for advice in finding.advice)


def _plain(results: Mapping[str, Any]) -> dict[str, Any]:
    """What a program wants: figures by name, without the cells of the plan."""
    plain: dict[str, Any] = {}
    for name, result in results.items():
        if result is not None:
            plain[name.removeprefix("groundwater.")] = figures_in(result)
    return plain


def figures_in(value: Any) -> Any:
    """Figures of a result with those of all it holds, and its words and answers of yes or no."""
    if isinstance(value, Mapping):
        inside = {str(name): figures_in(item) for name, item in value.items()}
        return {name: item for name, item in inside.items() if item not in (None, {})}
    if not hasattr(value, "__dataclass_fields__"):
        return None
    own = figures_of(value)
    found: dict[str, Any] = {}
    for name in value.__dataclass_fields__:
        held = getattr(value, name)
        if name in own or isinstance(held, str | bool):
            found[name] = held
        elif (inside := figures_in(held)) not in (None, {}):
            found[name] = inside
    return found
