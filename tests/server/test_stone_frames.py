"""What the live channel tells of the stone: classes, courses, what covers the bank, the yard."""

import json

import numpy as np
import pytest
from shapely import Point, Polygon

from pondwright import api
from pondwright.examples import example_text
from pondwright.job.codec import loads
from pondwright.server.arrays import Wish
from pondwright.server.frames import frame
from pondwright.server.stone_arrays import UNKNOWN

NAMES = ("stone_classes", "stone_runs", "stone_areas", "stone_yard", "stone_setting", "strip")
ALL_ROUND = {"at": "stretch", "body": "pond", "start": "p1", "end": "p4"}
EDGE = {"kind": "courses", "place": ALL_ROUND, "classes": [{"stone": "edge", "share": 1.0}]}
FLOOR = {"kind": "gravel", "place": {"at": "whole", "body": "pond"}, "thickness": 0.1}
SHELF = {"kind": "cobble", "place": {"at": "part", "body": "pond", "zone": 1}, "thickness": 0.1}
PIECES = {
    "fits": {"length": 0.6, "width": 0.4, "height": 0.3, "tag": "A1", "truck": "3", "stands": "yard"},
    "giant": {"length": 4.0, "width": 3.0, "height": 2.5, "tag": "A2", "truck": "3", "stands": "yard"},
}


@pytest.fixture(scope="module")
def run():
    """The dozen shots with stone on its bank, two stones at the yard, one set, and a machine."""
    tree = json.loads(example_text("dozen_shots"))
    peg = tree["shape"]["bodies"]["pond"]["outline"]["curve"]["pegs"][0]
    place = {"at": "point", "east": peg["east"], "north": peg["north"]}
    stand = {"east": peg["east"] - 3.0, "north": peg["north"]}
    tree["stone"] = {
        "classes": {"edge": {"low": 0.3, "high": 0.5}},
        "treatments": {"rim": EDGE, "floor": FLOOR, "shelf": SHELF},
        "pieces": {**PIECES, "set": {**PIECES["fits"], "tag": "A3", "place": place}},
        "lifters": {"digger": {"chart": [{"radius": 6.0, "capacity": 900.0}], "stands": [stand]}},
    }
    return api.compute(loads(json.dumps(tree)), tier="settle")


@pytest.fixture(scope="module")
def arrays(run):
    """Arrays of a frame by name, each with its head."""
    body, _told = frame(run, 0, Wish(0, 1, frozenset(NAMES), (), True))
    length = int.from_bytes(body[4:8], "little")
    found = {}
    for head in json.loads(body[8 : 8 + length])["arrays"]:
        size = int(np.prod(head["shape"]))
        data = np.frombuffer(body, head["dtype"], size, 8 + length + head["offset"])
        found.setdefault(head["name"], []).append((head, data.reshape(head["shape"])))
    return found


def test_courses_lie_along_the_shore_and_their_faces_look_at_the_water(run, arrays):
    mine = [(head, table) for head, table in arrays["stone_runs"] if head["row"] == "rim"]
    ring = Polygon(run.results.shape.shore.bodies["pond"].rings[0])

    assert len(mine) >= 1
    told = run.results.stone.takeoff.bodies["pond"].runs
    assert len(arrays["stone_runs"]) == len(told)
    for _, table in mine:
        away = [ring.exterior.distance(Point(place)) for place in table[:, :2]]
        assert max(away) < 1.5
        assert np.hypot(*table[:, 2:4].T) == pytest.approx(1.0, abs=1e-5)
        inward = [Point(place + 0.5 * face) for place, face in zip(table[:, :2], table[:, 2:4], strict=True)]
        assert np.mean([ring.contains(point) for point in inward]) > 0.9


def test_the_ground_of_a_whole_body_and_of_a_zone_comes_as_rings(run, arrays):
    ((head, starts),) = arrays["stone_areas_starts"]
    ((_, points),) = arrays["stone_areas_points"]
    shore = run.results.shape.shore.bodies["pond"]
    spans = zip(head["ids"], starts[:-1], starts[1:], strict=True)
    rings = [(row, points[start:end]) for row, start, end in spans]
    floors = [ring for row, ring in rings if row == "floor"]
    shelves = [Polygon(ring) for row, ring in rings if row == "shelf"]

    assert dict(zip(head["ids"], head["says"], strict=True)) == {"floor": "gravel", "shelf": "cobble"}
    assert Polygon(floors[0]).area == pytest.approx(shore.area, rel=1e-3)
    assert 0.0 < max(shelf.area for shelf in shelves) <= 1.05 * shore.area


def test_each_stone_of_the_yard_has_a_place_or_is_left_over_and_is_set_by_a_machine(run, arrays):
    ((head, table),) = arrays["stone_yard"]
    ((trucks, loads_),) = arrays["stone_trucks"]
    places = dict(zip(head["ids"], head["places"], strict=True))

    assert places["set"] == "own"
    assert places["giant"] == ""
    assert places["fits"] in arrays["stone_places"][0][0]["ids"]
    assert table[head["ids"].index("set"), :2] == pytest.approx(run.results.stone.yard.stones["set"].point)
    assert trucks["ids"] == ["3"]
    assert loads_[0, 0] == pytest.approx(table[:, 3].sum())

    ((head, table),) = arrays["stone_set"]
    assert (head["ids"], head["places"], head["verdicts"]) == (["set"], ["digger"], ["set"])
    assert table[0, 1] == pytest.approx(3.0, abs=0.5)
    ((_, reach),) = arrays["stone_reach"]
    assert reach[:, 0] == pytest.approx([6.0])


def test_the_strip_has_the_top_of_the_stone_where_there_is_a_course_and_nothing_elsewhere(run, arrays):
    ((_, strip),) = arrays["strip"]
    top, water = strip[:, 12], strip[:, 5]
    known = top > UNKNOWN + 1.0
    told = run.results.stone.takeoff.bodies["pond"].top

    assert known.any() == bool(np.isfinite(told.top).any())
    assert (np.abs(top[known] - water[known]) < 1.5).all()


def test_while_the_shore_is_in_the_hand_the_stone_of_before_is_not_told(run):
    tree = json.loads(example_text("dozen_shots"))
    dry = api.compute(loads(json.dumps(tree)), tier="drag")
    body, _told = frame(dry, 0, Wish(0, 1, frozenset(NAMES), (), True))
    length = int.from_bytes(body[4:8], "little")
    heads = {head["name"]: head for head in json.loads(body[8 : 8 + length])["arrays"]}

    assert not {"stone_runs", "stone_yard", "stone_set"} & set(heads)
