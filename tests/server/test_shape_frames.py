"""What the live channel tells of the shape: streams, reach, views, overflow, and each shore unrolled."""

import json
import math

import numpy as np
import pytest

from pondwright import api
from pondwright.examples import example_text
from pondwright.job.codec import loads
from pondwright.server.arrays import Wish
from pondwright.server.frames import frame

STREAM = {
    "role": "stream",
    "outline": {
        "form": "corridor",
        "curve": {
            "pegs": [
                {"id": "p1", "east": 6.0, "north": 4.0},
                {"id": "p2", "east": 10.0, "north": 4.0},
                {"id": "p3", "east": 14.0, "north": 4.0},
            ]
        },
        "widths": [1.0, 1.0, 1.0],
        "steps": [{"distance": 4.0, "drop": 0.3}],
    },
    "rank": 2,
}


def middle(pegs):
    return np.mean([[peg["east"], peg["north"]] for peg in pegs], axis=0)


@pytest.fixture(scope="module")
def run():
    """The dozen shots with an island, a path round the pond, a stream beside it and a seat on its bank."""
    tree = json.loads(example_text("dozen_shots"))
    (pond,) = tree["shape"]["bodies"].values()
    pegs = pond["outline"]["curve"]["pegs"]
    here = middle(pegs)
    pond["islands"] = {
        "isle": {
            "pegs": [
                {"id": f"p{at}", "east": here[0] + 0.8 * math.cos(at), "north": here[1] + 0.8 * math.sin(at)}
                for at in range(1, 7)
            ]
        }
    }
    low = np.min([[peg["east"], peg["north"]] for peg in pegs], axis=0)
    stream = json.loads(json.dumps(STREAM))
    for at, peg in enumerate(stream["outline"]["curve"]["pegs"]):
        peg["east"], peg["north"] = float(low[0]) + 3.0 * at, float(low[1]) - 2.0
    tree["shape"]["bodies"]["stream"] = stream
    first, second = pegs[0], pegs[1]
    line = [{"east": one["east"], "north": one["north"]} for one in (first, second)]
    tree["shape"]["ways"] = {"path": {"kind": "path", "width": 1.2, "place": {"at": "line", "points": line}}}
    tree["shape"]["seats"] = {"bench": {"place": {"at": "point", **line[0]}}}
    return api.compute(loads(json.dumps(tree)))


def arrays_of(run, *names, lod=1):
    """Arrays of a frame, each with its head."""
    body, _told = frame(run, 0, Wish(0, lod, frozenset(names), (), True))
    length = int.from_bytes(body[4:8], "little")
    start = 8 + length
    found = []
    for head in json.loads(body[8 : 8 + length])["arrays"]:
        size = int(np.prod(head["shape"]))
        data = np.frombuffer(body, head["dtype"], size, start + head["offset"])
        found.append((head, data.reshape(head["shape"])))
    return found


def named(run, name, *wanted, lod=1):
    return next((head, data) for head, data in arrays_of(run, *wanted, lod=lod) if head["name"] == name)


def area(ring):
    east, north = ring.T
    return 0.5 * abs(float(np.dot(east, np.roll(north, -1)) - np.dot(np.roll(east, -1), north)))


def test_the_water_of_a_stream_is_told_reach_by_reach(run):
    points, starts = named(run, "streams_points", "streams")[1], named(run, "streams_starts", "streams")
    levels = named(run, "streams_levels", "streams")[1]
    rings = [points[start:end] for start, end in zip(starts[1], starts[1][1:], strict=False)]

    assert starts[0]["ids"] == ["stream", "stream"]
    assert levels[0] - levels[1] == pytest.approx(0.3)
    assert [area(ring) for ring in rings] == pytest.approx([4.0, 2.0], abs=1e-3)


def test_the_steps_that_a_way_reaches_have_the_length_that_the_figure_tells(run):
    starts, at_hand = named(run, "reach_starts", "reach"), named(run, "reach_at", "reach")[1]
    points = named(run, "reach_points", "reach")[1]
    first = starts[0]["ids"].index("pond/outer")
    ring = points[starts[1][first] : starts[1][first + 1]]
    mine = at_hand[starts[1][first] : starts[1][first + 1]]
    lengths = np.hypot(*(np.roll(ring, -1, axis=0) - ring).T)

    assert starts[0]["ids"] == ["pond/outer", "pond/isle", "stream/outer"]
    assert 0 < mine.sum() < len(mine)
    whole = run.results.shape.reach.bodies["pond"].length
    assert lengths.mean() * mine.sum() == pytest.approx(whole, rel=0.01)


def test_the_places_of_wheelchairs_are_those_of_the_answer_and_lie_on_the_shore(run):
    places, shore = named(run, "reach_wheels", "reach")[1], named(run, "reach_points", "reach")[1]
    reach = run.results.shape.reach

    assert len(places) == reach.wheelchair_places > 0
    away = np.hypot(*(places[:, None, :] - shore[None, :, :]).transpose(2, 0, 1)).min(axis=1)
    assert away.max() < 1e-3


def test_each_seat_has_its_share_and_its_bit_of_the_mask(run):
    head, table = named(run, "views", "views")
    seen_head, bits = named(run, "seen_0", "seen")
    seat = run.results.shape.views.seats["bench"]

    assert head["ids"] == seen_head["ids"] == ["bench"]
    assert table[0][3] == pytest.approx(seat.share) and 0.0 < seat.share <= 1.0
    assert ((bits & 1).astype(bool) == seat.mask).all() and seat.mask.any()
    assert named(run, "seen_0", "seen", lod=2)[1].shape == seat.mask[::2, ::2].shape


def test_the_overflow_begins_at_its_body_and_the_parts_are_those_of_the_finish(run):
    starts = named(run, "overflow_starts", "overflow")

    assert set(starts[0]["ids"]) <= {"pond", "stream"} and starts[0]["ids"]
    assert (named(run, "part", "part")[1] == run.results.shape.grading.part).all()


def test_shores_unrolled_are_those_of_ponds_islands_and_both_banks_of_a_stream(run):
    strips = {(head["body"], head["ring"]): table for head, table in arrays_of(run, "strip")}
    left, right = strips["stream", "left"], strips["stream", "right"]

    assert list(strips) == [("pond", "outer"), ("pond", "isle"), ("stream", "left"), ("stream", "right")]
    assert set(np.unique(strips["pond", "outer"][:, 8])) == {0.0, 1.0}
    for bank in (left, right):
        assert (np.diff(bank[:, 0]) > 0).all() and bank[:, 0].max() == pytest.approx(6.0, abs=0.3)
        lower = bank[:, 5] < bank[0, 5] - 1e-3
        assert bank[0, 5] - bank[lower, 5] == pytest.approx(0.3, abs=1e-5), (
            "the lower reach stands 0.3 m lower"
        )
        assert bank[lower, 0].min() == pytest.approx(4.0, abs=0.15) and lower[-1]
        assert bank[0, 1] < bank[-1, 1], "both run downstream"
    assert np.abs(left[:, 2].mean() - right[:, 2].mean()) == pytest.approx(1.0, abs=0.05)


def test_a_strip_tells_the_crest_that_is_built_and_what_opens_the_bank(run):
    head, table = named(run, "strip", "strip")
    rim, water, freeboard, crest, opening = table[:, [4, 5, 6, 13, 14]].T

    assert crest == pytest.approx(np.minimum(rim, water + freeboard), abs=1e-5)
    assert set(np.unique(opening)) <= {-1.0, *range(len(head["openings"]))}
    assert all(one["kind"] in ("mouth", "overflow") and one["name"] for one in head["openings"])
