"""Whatever is dragged in whatever order: what is redone in part equals what is done anew, to the last bit."""

import json
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pondwright.flow.engine import Run, advance
from pondwright.flow.equality import same
from pondwright.flow.stages import STAGES, stages_for
from pondwright.job.codec import dumps, loads
from pondwright.job.document import Job
from pondwright.job.fields import Rows
from pondwright.job.log import Log
from tests.unit.shape.ponds import job_values, pegs

STAGES_OF_A_DRAG = (
    "shape.shore",
    "shape.grading",
    "shape.storage",
    "shape.views",
    "earth.subgrade",
    "earth.soil",
)
"""Those that give the same bits whatever they gave before; warm ones do so once the drag is over."""

WARM = tuple(stage.name for stage in STAGES if stage.warm)


def line(*points: tuple[float, float]) -> dict[str, Any]:
    return {"at": "line", "points": [{"east": east, "north": north} for east, north in points]}


def garden() -> Job:
    """A pond with an island, a pool, a stream between them, a mound, ways, seats and a fence; invented."""
    values = job_values(fall=0.02, radius=5.0, nodes=76)
    shape = values["shape"]
    shape["bodies"]["pond"]["islands"] = {"isle": {"pegs": pegs(1.2, prefix="i", count=6)}}
    shape["bodies"]["pool"] = {
        "outline": {"form": "ring", "curve": {"pegs": pegs(2.2, 6.0, 25.0, 8, "q")}},
        "level": 100.6,
        "rank": 1,
        "floor_fall": 0.02,
    }
    shape["bodies"]["brook"] = {
        "role": "stream",
        "rank": 2,
        "level": 100.5,
        "outline": {
            "form": "corridor",
            "curve": {"pegs": [{"id": f"s{k}", "east": 7.8 + k, "north": 23.6 - k} for k in range(5)]},
            "widths": [0.9] * 5,
            "steps": [{"distance": 1.5, "drop": 0.2}, {"distance": 3.5, "drop": 0.2}],
        },
    }
    shape["mounds"] = {
        "hill": {"place": {"at": "ring", "curve": {"pegs": pegs(2.0, 24.0, 7.0, 8, "m")}}, "height": 1.2}
    }
    shape["ways"] = {
        "walk": {"kind": "path", "place": line((3, 8), (12, 8), (24, 12)), "width": 1.2, "level": 100.1},
        "trail": {"kind": "path", "place": line((20, 20), (27, 26)), "width": 0.8},
        "deck": {"kind": "deck", "place": line((8, 15), (11, 15)), "width": 1.5, "level": 100.3},
        "screen": {"kind": "wall", "place": line((21, 12), (21, 17)), "width": 0.2, "top": 100.9},
    }
    shape["seats"] = {
        "bench": {"place": {"at": "point", "east": 4.0, "north": 9.0}},
        "deck": {"place": {"at": "point", "east": 9.0, "north": 15.0}},
        "far": {
            "place": {"at": "point", "east": 27.0, "north": 27.0},
            "looks_at": [line((15, 15), (16, 16))],
        },
    }
    values["site"]["things"] = {
        "fence": {"kind": "fence", "place": line((12, 26), (20, 26)), "status": "keep"}
    }
    return loads(json.dumps(values))


def with_row(job: Job, rows: str, name: str, **update: Any) -> Job:
    """The job with one row of its shape changed; all others stay the very same objects."""
    old = getattr(job.shape, rows)
    new = Rows({**old, name: old[name].model_copy(update=update)})
    return job.model_copy(update={"shape": job.shape.model_copy(update={rows: new})})


def peg(job: Job, body: str, number: int, east: float, north: float) -> Job:
    outline = job.shape.bodies[body].outline
    curve = list(outline.curve.pegs)
    one = curve[number % len(curve)]
    curve[number % len(curve)] = one.model_copy(update={"east": one.east + east, "north": one.north + north})
    curve = outline.curve.model_copy(update={"pegs": tuple(curve)})
    return with_row(job, "bodies", body, outline=outline.model_copy(update={"curve": curve}))


def level(job: Job, body: str, _: int, up: float, __: float) -> Job:
    return with_row(job, "bodies", body, level=job.shape.bodies[body].level + 0.3 * up)


def way(job: Job, _: str, number: int, east: float, north: float) -> Job:
    name = list(job.shape.ways)[number % len(job.shape.ways)]
    place = job.shape.ways[name].place
    ends = [point.model_copy(update={"east": point.east + east}) for point in place.points[:1]]
    moved = place.model_copy(update={"points": (*ends, *place.points[1:])})
    return with_row(job, "ways", name, place=moved)


def seat(job: Job, _: str, number: int, east: float, north: float) -> Job:
    name = list(job.shape.seats)[number % len(job.shape.seats)]
    place = job.shape.seats[name].place
    place = place.model_copy(update={"east": place.east + east, "north": place.north + north})
    return with_row(job, "seats", name, place=place)


def mound(job: Job, _: str, __: int, up: float, ___: float) -> Job:
    return with_row(job, "mounds", "hill", height=max(job.shape.mounds["hill"].height + up, 0.1))


def rank(job: Job, body: str, number: int, _: float, __: float) -> Job:
    return with_row(job, "bodies", body, rank=number % 4)


def gone(job: Job, _: str, number: int, __: float, ___: float) -> Job:
    """Without one way."""
    if len(job.shape.ways) < 2:
        return job
    ways = job.shape.ways.without(list(job.shape.ways)[number % len(job.shape.ways)])
    return job.model_copy(update={"shape": job.shape.model_copy(update={"ways": ways})})


EDITS: tuple[Callable[..., Job], ...] = (peg, peg, peg, level, way, seat, mound, rank, gone)
GARDEN = garden()

edits = st.lists(
    st.one_of(
        st.none(),  # undo
        st.tuples(
            st.sampled_from(EDITS),
            st.sampled_from(("pond", "pool", "brook")),
            st.integers(0, 30),
            st.sampled_from((0.0, 0.001, 0.05, 0.4, -0.05, -0.7)),
            st.sampled_from((0.0, 0.05, -0.4)),
        ),
    ),
    min_size=1,
    max_size=6,
)


@given(edits)
def test_a_chain_of_edits_gives_what_a_fresh_start_gives(chain: list[Any]) -> None:
    job, past = GARDEN, [GARDEN]
    run = advance(STAGES, None, job, Log(), "drag")
    for step in chain:
        if step is None:
            job = past.pop() if len(past) > 1 else job
        else:
            past.append(job)
            job = step[0](job, *step[1:])
        run = advance(STAGES, run, job, Log(), "drag")
        fresh = advance(STAGES, None, job, Log(), "drag")
        for stage in STAGES_OF_A_DRAG:
            mine, anew = run.stages[stage], fresh.stages[stage]
            assert mine.status == anew.status, stage
            if mine.status == "fresh":
                assert same(mine.result, anew.result), stage
                assert mine.findings == anew.findings, stage


@pytest.mark.parametrize("east", [0.001, 0.3])
def test_what_nobody_touched_is_the_very_same_object(east: float) -> None:
    before = advance(STAGES, None, GARDEN, Log(), "drag")
    now = advance(STAGES, before, peg(GARDEN, "pond", 12, east, 0.0), Log(), "drag")
    old, new = (run.stages["shape.storage"].result.bodies for run in (before, now))

    assert new["pool"].basins is old["pool"].basins and new["pond"].basins is not old["pond"].basins
    layers, layers_now = (run.stages["shape.grading"].result.layers for run in (before, now))
    for name in layers.own:
        assert (layers.own[name] is layers_now.own[name]) == (name != "pond")
    assert not np.array_equal(layers.laid.z, layers_now.laid.z)


def test_stages_of_the_same_bits_are_none_of_the_warm_ones() -> None:
    assert WARM == ("groundwater.heads", "lining.arcs")
    assert not set(WARM) & set(STAGES_OF_A_DRAG)


def watered(job: Job) -> Job:
    """The garden with standpipes round its pond and a slotted drain under it; invented."""
    values = json.loads(dumps(job))
    values["groundwater"] = {
        "readings": {
            name: {
                "kind": "standpipe",
                "place": {"at": "point", "east": east, "north": north},
                "wet": level,
                "dry": level - 0.5,
            }
            for name, east, north, level in (
                ("a", 3.0, 3.0, 99.7),
                ("b", 27.0, 4.0, 99.5),
                ("c", 14.0, 27.0, 100.0),
            )
        },
        "drains": {"relief": {"place": line((15, 24), (15, 2)), "into": "ditch", "fall": 0.01}},
        "outlets": {"ditch": {"place": {"at": "point", "east": 15.0, "north": 2.0}, "invert": 98.6}},
    }
    return loads(json.dumps(values))


WATERED = watered(GARDEN)
_BEHIND = {one.name for last in ("groundwater.uplift", "lining.arcs") for one in stages_for(last)}
DOWN_TO_WARM = tuple(stage for stage in STAGES if stage.name in _BEHIND)


@pytest.fixture(scope="module")
def cold() -> Run:
    """The watered garden as far as what comes before its warm stages."""
    before = tuple(stage for stage in DOWN_TO_WARM if stage.name not in (*WARM, "groundwater.uplift"))
    return advance(before, None, WATERED, Log(), "drag")


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    chain=st.lists(
        st.tuples(st.sampled_from((peg, peg, level)), st.integers(0, 30), st.sampled_from((0.05, 0.3, -0.2))),
        min_size=1,
        max_size=3,
    )
)
def test_once_the_drag_is_over_a_warm_stage_gives_what_a_fresh_start_gives(
    cold: Run, chain: list[Any]
) -> None:
    job, run = WATERED, advance(DOWN_TO_WARM, cold, WATERED, Log(), "drag")
    for edit, number, size in chain:
        job = edit(job, "pond", number, size, 0.5 * size)
        run = advance(DOWN_TO_WARM, run, job, Log(), "drag")
    assert run.stages["groundwater.heads"].near

    settled, fresh = (advance(DOWN_TO_WARM, start, job, Log(), "settle") for start in (run, cold))

    assert settled.stages["groundwater.heads"].result.known
    for stage in (*WARM, "groundwater.uplift"):
        mine, anew = settled.stages[stage], fresh.stages[stage]
        assert not mine.near
        assert same(mine.result, anew.result), stage
        assert mine.findings == anew.findings, stage
