"""What the live channel tells of the lining: where liners end, pieces and seams, order, edge."""

import json

import numpy as np
import pytest
from shapely import Point, Polygon

from pondwright import api
from pondwright.examples import example_text
from pondwright.job.codec import loads
from pondwright.server.arrays import Wish
from pondwright.server.frames import frame
from pondwright.server.lining_arrays import UNKNOWN


def lined_job(**liner):
    """The dozen shots with a liner from rolls, or as somebody says."""
    tree = json.loads(example_text("dozen_shots"))
    (body,) = tree["shape"]["bodies"]
    rolls = {"one_piece": False, "stock": [{"width": 4.0, "length": 60.0}]}
    pond = tree["shape"]["bodies"][body]
    level = api.compute(loads(json.dumps(tree)), tier="drag").results.shape.shore.bodies[body].level
    pond["low_level"] = level - 0.2
    tree["lining"] = {"liners": {"main": {"bodies": [body], **rolls, **liner}}}
    return loads(json.dumps(tree))


@pytest.fixture(scope="module")
def rolls():
    """That job, settled."""
    return api.compute(lined_job(), tier="settle")


def arrays_of(run, *names):
    """Arrays of a frame, each with its head."""
    body, _told = frame(run, 0, Wish(0, 1, frozenset(names), (), True))
    length = int.from_bytes(body[4:8], "little")
    found = {}
    for head in json.loads(body[8 : 8 + length])["arrays"]:
        size = int(np.prod(head["shape"]))
        data = np.frombuffer(body, head["dtype"], size, 8 + length + head["offset"])
        found.setdefault(head["name"], []).append((head, data.reshape(head["shape"])))
    return found


def test_strips_of_rolls_come_with_their_seams_between_them(rolls):
    found = arrays_of(rolls, "liners")
    ((head, pieces),) = found["liner_pieces"]
    ((_, seams),) = found["liner_seams"]
    layout = rolls.results.lining.layout.liners["main"]

    assert head["liner"] == "main"
    assert len(pieces) > 1
    assert pieces[:, 8].max() >= layout.length - 1e-9
    assert pieces[:, 9] == pytest.approx(layout.width)
    strips = [Polygon(corners.reshape(4, 2)) for corners in pieces[:, :8]]
    for east0, north0, east1, north1 in seams:
        middle = [0.5 * (east0 + east1), 0.5 * (north0 + north1)]
        touched = [strip for strip in strips if strip.buffer(0.01).contains(Point(middle))]
        assert len(touched) >= 2


def test_the_line_where_a_liner_ends_goes_round_the_shore_at_its_margin(rolls):
    found = arrays_of(rolls, "liners")
    ((_, points),) = found["liner_ends_points"]
    ((head, starts),) = found["liner_ends_starts"]
    (body,) = rolls.results.shape.shore.bodies.values()
    ring = Polygon(points[starts[0] : starts[1]])
    shore = Polygon(body.rings[0])

    assert set(head["ids"]) == {"main"}
    assert ring.contains(shore)
    beyond = rolls.results.lining.area.liners["main"].beyond
    away = np.array([shore.exterior.distance(point) for point in map(Point, points[starts[0] : starts[1]])])
    assert away == pytest.approx(beyond, abs=0.05)


def test_an_order_names_its_pieces_joints_and_rolls(rolls):
    found = arrays_of(rolls, "liner_order")
    ((head, corners),) = found["liner_order"]
    order, told = rolls.results.lining.order.liners["main"], head["order"]

    assert head["ids"] == list(order.pieces)
    assert corners.reshape(-1, 4, 2)[0] == pytest.approx(next(iter(order.pieces.values())).corners)
    assert told["form"] == "rolls"
    assert len(told["joints"]) == len(order.joints) > 0
    cut = sorted(name for roll in told["rolls"] for name, _ in roll["cuts"])
    assert set(cut) >= {joint["first"] for joint in told["joints"]}
    assert all(step.endswith(".") for step in told["steps"])


def test_the_edge_stands_over_the_water_along_the_shore_unrolled(rolls):
    found = arrays_of(rolls, "liner_rim", "strip")
    ((head, rim),) = found["liner_rim"]
    (body,) = rolls.results.shape.shore.bodies.values()
    strip = next(table for one, table in found["strip"] if one["ring"] == "outer")

    assert head["rim"]["steps"]
    ((_, band),) = found["liner_band"]
    assert band[:, 2].max() > 0.1, "bare liner comes out where the water falls"
    assert rim[:, 3].min() > body.level
    assert rim[:, 4] == pytest.approx(body.level + 0.10, abs=1e-6)
    along = strip[:, 11]
    assert along.min() >= rim[:, 3].min() - 1e-3
    assert along.max() <= rim[:, 3].max() + 1e-3


def test_while_the_shore_is_in_the_hand_the_pieces_are_those_of_the_hand(rolls):
    moved = api.compute(lined_job(margin=1.0), tier="drag")
    found = arrays_of(moved, "liners", "liner_order", "liner_rim", "strip")
    ((head, pieces),) = found["liner_pieces"]

    assert head["ids"] == [], "nothing is ordered yet"
    assert len(pieces) == moved.results.lining.arcs.liners["main"].count
    assert "liner_order" not in found
    assert "liner_rim" not in found
    assert (found["strip"][0][1][:, 11] == UNKNOWN).all(), "nobody knows the edge yet"
