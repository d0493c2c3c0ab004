"""What the live channel tells of the soil: levels, hauls, piles, factors, and shores on offer."""

import json

import numpy as np
import pytest

from pondwright import api
from pondwright.job.codec import dumps, loads
from tests.server.test_survey_frames import arrays_of, job_of

HEAP = {"place": {"at": "point", "east": 150.0, "north": 118.0}}


def with_piles(**piles):
    tree = json.loads(dumps(job_of("larkmeadow")))
    tree["earth"] = {**tree.get("earth", {}), "piles": piles}
    return loads(json.dumps(tree))


def test_the_levels_of_each_body_have_the_balanced_one_as_a_row_of_its_own():
    job = job_of("larkmeadow")
    tables = arrays_of(job, "levels")
    bodies = api.compute(job).results.earth.levels.bodies

    assert [head["body"] for head, _ in tables] == list(bodies)
    for head, table in tables:
        level = table[:, head["columns"].index("level")]
        assert (np.diff(level) > 0.0).all() and len(level) >= 9
        assert level[head["balanced"]] == bodies[head["body"]].balanced_level


def test_hauls_have_two_ends_and_carry_all_that_is_dug():
    job = with_piles(heap=HEAP)
    (head, table), (_, bends), (_, starts) = arrays_of(job, "hauls")
    run = api.compute(job)
    to_heap = [name == "pile heap" for name in head["ids"]]

    assert len(table) == len(head["ids"]) == len(head["streams"])
    assert set(head["streams"]) <= {"topsoil", "muck", "soil"}
    assert table[to_heap, 2:4] == pytest.approx(np.tile([150.0, 118.0], (sum(to_heap), 1)))
    volume = run.results.earth.haul.plan.volume_to("pile heap")
    assert table[to_heap, 4].sum() == pytest.approx(volume, rel=1e-5) and volume > 0.0
    assert starts[-1] == len(bends) and len(starts) == len(table) + 1
    for row, first, end in zip(table, starts[:-1], starts[1:], strict=True):
        way = np.vstack([row[:2], bends[first:end], row[2:4]])
        if row[5] > 0.0:  # what has no place to go has no way
            assert np.hypot(*np.diff(way, axis=0).T).sum() == pytest.approx(row[5], rel=1e-4)


def test_hauls_to_a_gate_bend_along_the_way_in_that_leads_to_it():
    (head, table), (_, bends), (_, starts) = arrays_of(job_of("larkmeadow_shaped"), "hauls")
    to_tip = np.array([name == "off site tip" for name in head["ids"]])

    assert to_tip.any() and starts[-1] == len(bends) > 0
    for at in np.flatnonzero(to_tip):
        way = np.vstack([table[at, :2], bends[starts[at] : starts[at + 1]], table[at, 2:4]])
        assert np.hypot(*np.diff(way, axis=0).T).sum() == pytest.approx(table[at, 5], rel=1e-4)
        assert table[at, 5] > np.hypot(*(way[-1] - way[0]))


def test_each_pile_tells_its_foot_and_no_pile_tells_none():
    (_, points), (head, starts) = arrays_of(with_piles(heap=HEAP), "piles")
    (_, none), (empty, _) = arrays_of(with_piles(), "piles")

    assert head["ids"] == ["heap"] and starts.tolist() == [0, len(points)]
    assert points.mean(axis=0) == pytest.approx([150.0, 118.0], abs=1e-3)
    assert len(none) == 0 and empty["ids"] == []


def test_each_kind_of_soil_tells_its_factors_and_who_says_so():
    job = job_of("larkmeadow")
    ((head, table),) = arrays_of(job, "soils")
    kinds = api.compute(job).results.earth.soil.by_kind

    assert head["ids"] == list(kinds) and all(head["says"])
    assert table[:, 0].tolist() == [each.bulking for each in kinds.values()]


def test_shores_on_offer_keep_the_pegs_of_the_shore_or_say_why_not():
    job = job_of("larkmeadow")
    pegs = [peg.id for peg in job.shape.bodies["pond"].outline.curve.pegs]

    offered = arrays_of(job, "bends")

    assert len(offered) >= 3
    for head, table in offered:
        says, refused = head["says"]
        assert says and head["variant"]
        assert (
            (head["ids"] == [] and len(table) == 0)
            if refused
            else (head["ids"] == pegs and len(table) == len(pegs))
        )
