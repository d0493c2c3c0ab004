"""What the live channel tells of the groundwater: heads, uplift by stage, flow, drains, routes, ways out."""

import json

import numpy as np
import pytest

from pondwright import api
from pondwright.base.findings import Op
from pondwright.examples import example_text
from pondwright.job.codec import loads
from pondwright.job.edits import Edit
from pondwright.server.arrays import Wish
from pondwright.server.frames import frame
from pondwright.server.water_arrays import UNKNOWN

STAGES = ("full", "half", "empty", "service")


def wet_job(above=0.25):
    """The dozen shots on ground whose water stands above the pond, with a drain that runs out low."""
    tree = json.loads(example_text("dozen_shots"))
    (pond,) = tree["shape"]["bodies"].values()
    pegs = np.array([[peg["east"], peg["north"]] for peg in pond["outline"]["curve"]["pegs"]])
    (west, south), (east, north) = pegs.min(axis=0), pegs.max(axis=0)
    level = api.compute(loads(json.dumps(tree)), tier="drag").results.shape.shore.bodies["pond"].level
    places = [(west - 1.0, south - 1.0), (east + 1.0, south - 1.0), (west - 1.0, north + 1.0)]
    tree["groundwater"] = {
        "readings": {
            f"sp{at}": {
                "kind": "standpipe",
                "place": {"at": "point", "east": place[0], "north": place[1]},
                "wet": level + above,
                "dry": level - 0.3,
            }
            for at, place in enumerate(places, start=1)
        },
        "outlets": {"low": {"place": {"at": "point", "east": west, "north": south}, "invert": level - 1.6}},
        "drains": {
            "relief": {
                "place": {
                    "at": "line",
                    "points": [
                        {"east": float(east), "north": float(south)},
                        {"east": float(west), "north": float(south)},
                    ],
                },
                "into": "low",
            }
        },
    }
    return tree


@pytest.fixture(scope="module")
def run():
    """That job, with all that rests."""
    return api.compute(loads(json.dumps(wet_job())))


@pytest.fixture(scope="module")
def dry():
    """The dozen shots as they are: nobody has read the groundwater."""
    return api.compute(loads(example_text("dozen_shots")), tier="settle")


def arrays_of(run, *names, section=()):
    """Arrays of a frame, each with its head."""
    body, _told = frame(run, 0, Wish(0, 1, frozenset(names), section, True))
    length = int.from_bytes(body[4:8], "little")
    found = []
    for head in json.loads(body[8 : 8 + length])["arrays"]:
        size = int(np.prod(head["shape"]))
        data = np.frombuffer(body, head["dtype"], size, 8 + length + head["offset"])
        found.append((head, data.reshape(head["shape"])))
    return found


def named(run, name, *wanted, section=()):
    return next(
        (head, data) for head, data in arrays_of(run, *wanted, section=section) if head["name"] == name
    )


@pytest.mark.parametrize("stage", STAGES)
def test_the_uplift_of_a_stage_tells_where_the_liner_holds_has_little_in_hand_and_lifts(run, stage):
    result = run.results.groundwater.uplift
    head, data = named(run, f"uplift_{stage}", f"uplift_{stage}")
    grid, push = head["grid"], data * head["scale"]
    wanted = 1.3 if stage == "full" else 1.2
    rows = np.rint((grid["origin_north"] - result.grid.origin_north) / grid["spacing"]).astype(int)
    columns = np.rint((grid["origin_east"] - result.grid.origin_east) / grid["spacing"]).astype(int)
    net = result.maps[stage].net[rows : rows + grid["rows"], columns : columns + grid["columns"]]
    lined = ~np.isnan(net)

    assert lined.sum() == np.count_nonzero(~np.isnan(result.maps[stage].net))
    # Pushes travel in steps of a thousandth.
    clear = lined & (np.abs(net - 1.0) > 1e-2) & (np.abs(net - wanted) > 1e-2)
    assert ((push > 2.0) == (net < 1.0))[clear].all()
    assert ((push > 1.0) == (net < wanted))[clear].all()
    assert np.isfinite(push).all() and (push >= 0.0).all()


def test_the_shores_of_the_liners_come_with_the_uplift_of_the_same_run(run):
    head, points = named(run, "lined_points", "uplift_full")
    starts_head, starts = named(run, "lined_starts", "uplift_full")
    ring = run.results.shape.shore.bodies["pond"].rings[0]

    assert starts_head["ids"] == ["pond"] and starts.tolist() == [0, len(ring)]
    assert points == pytest.approx(ring, abs=1e-3) and head["shape"] == [len(ring), 2]


def test_lines_of_equal_groundwater_lie_at_their_level(run):
    heads = run.results.groundwater.heads
    _, points = named(run, "heads_points", "heads")
    _, starts = named(run, "heads_starts", "heads")
    _, levels = named(run, "heads_levels", "heads")
    ends = [*starts[1:], len(points)] if len(starts) == len(levels) else starts[1:]

    for level, first, last in zip(levels, starts, ends, strict=False):
        row = np.rint((points[first:last, 1] - heads.grid.origin_north) / heads.grid.spacing).astype(int)
        column = np.rint((points[first:last, 0] - heads.grid.origin_east) / heads.grid.spacing).astype(int)
        slope = np.abs(np.gradient(heads.head)).max()
        assert np.abs(heads.head[row, column] - level).max() <= 2.0 * slope


def test_a_drain_comes_with_its_profile_and_where_it_runs_out(run):
    line = run.results.groundwater.profiles.lines["relief"]
    everything, _ = named(run, "all_drains", "drains")
    head, table = named(run, "drains", "drains")

    assert everything["ids"] == ["relief"]
    assert head["drain"] == "relief" and head["ends"] == "low" and head["flood"] is None
    assert head["bends"] == pytest.approx([0.0, line.length]) and head["falls"] == pytest.approx([line.fall])
    assert table[:, 3] == pytest.approx(line.invert) and table.shape[1] == len(head["columns"])
    assert (table[:, 8] > UNKNOWN).all()


def test_routes_and_ways_out_come_with_edits_that_the_job_takes(run):
    found = [head for head, _ in arrays_of(run, "routes", "offers") if head["name"] in ("routes", "offers")]
    edits = [ops for head in found for ops in (head["edits"] if head["name"] == "offers" else [head["ops"]])]
    told = next(head for head, _ in arrays_of(run, "offers") if head["name"] == "all_offers")

    assert told["ids"] == list(run.results.groundwater.offers.bodies)
    assert any(edits)
    for ops in edits:
        edit = Edit("one", 0, tuple(Op(op["op"], op["path"], op.get("value")) for op in ops))
        assert api.edit(run.job, edit) != run.job or not ops


def test_a_section_and_a_strip_have_the_groundwater_of_the_wet_season(run):
    pond = run.results.shape.shore.bodies["pond"].rings[0]
    line = tuple((float(east), float(north)) for east, north in (pond[0], pond[len(pond) // 2]))
    _, section = named(run, "section", section=line)
    _, strip = named(run, "strip", "strip")
    low, high = run.results.groundwater.heads.head.min(), run.results.groundwater.heads.head.max()

    for below in (section[:, 7], strip[:, 9]):
        assert (below >= low - 1e-3).all() and (below <= high + 1e-3).all()
    subgrade = run.results.earth.subgrade.z
    assert (strip[:, 10] >= subgrade.min() - 1e-3).all() and (strip[:, 10] <= subgrade.max() + 1e-3).all()


def test_where_nobody_has_read_the_groundwater_nothing_is_told_of_it(dry):
    pond = dry.results.shape.shore.bodies["pond"].rings[0]
    line = tuple((float(east), float(north)) for east, north in (pond[0], pond[len(pond) // 2]))
    found = {head["name"]: data for head, data in arrays_of(dry, "heads", "flow", "drains", "uplift_full")}
    _, section = named(dry, "section", section=line)

    assert "uplift_full" not in found and len(found["lined_points"]) == 0
    assert len(found["heads_levels"]) == 0 and len(found["flow"]) == 0 and len(found["all_drains"]) == 0
    assert (section[:, 7] == UNKNOWN).all()
