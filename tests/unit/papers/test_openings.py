"""Openings of a shore: mouths and overflows are told apart from a bank that is low by mistake."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from pondwright.job.shape import Way
from pondwright.papers.openings import FLANK, Opening, openings_along
from pondwright.papers.shore_edges import edges_of
from pondwright.rooms.shape.unrolled import UnrolledShore
from tests.unit.papers.test_design_sheets import SHAPED, material

WATER, FREEBOARD, CREST = 10.0, 0.3, 10.3
STATION = np.arange(0.0, 20.0, 0.1)
NOTHING = {
    "site.ground": SimpleNamespace(grid=None),
    "shape.grading": SimpleNamespace(mouths=()),
}


def along(rim: NDArray[np.float64], level: float | None, kind: str = "bed") -> tuple[Opening | None, ...]:
    """Openings of a straight shore with a bed 1.2 m wide across its bank at station 10."""
    place = {"at": "line", "points": ({"east": 10.0, "north": -1.0}, {"east": 10.0, "north": 3.0})}
    way = Way.model_validate({"kind": kind, "name": "Spill", "place": place, "width": 1.2, "level": level})
    job: Any = SimpleNamespace(shape=SimpleNamespace(ways={"spill": way}, bodies={}))
    points = np.column_stack([STATION, np.zeros(len(STATION))])
    edge = UnrolledShore(STATION, points, points + np.array([0.0, 1.5]), np.full(len(STATION), 9.0), rim)
    return openings_along(job, NOTHING, "pond", edge, np.full(len(STATION), WATER), FREEBOARD)


def notched(level: float, flank: float = 3.0) -> NDArray[np.float64]:
    """A rim at the crest, cut down to a level over 1.2 m, with flanks level for one upright."""
    return np.minimum(CREST, level + np.maximum(np.abs(STATION - 10.0) - 0.6, 0.0) / flank)


def told(openings: tuple[Opening | None, ...]) -> NDArray[np.bool_]:
    return np.array([one is not None for one in openings])


def test_a_bed_between_water_and_crest_is_an_overflow_with_its_flanks():
    rim = notched(10.15)

    found = along(rim, 10.15)

    assert set(found) == {None, Opening("overflow", "Spill")}
    assert (told(found) >= (rim < CREST - 1e-9)).all(), "no sliver of its flanks is left as a low place"
    assert STATION[told(found)].min() == pytest.approx(10.0 - 0.6 - 0.45, abs=0.11)


@pytest.mark.parametrize(("level", "kind"), [(9.9, "bed"), (10.3, "bed"), (None, "bed"), (10.15, "path")])
def test_what_lets_the_water_out_or_holds_it_is_no_overflow(level, kind):
    assert not told(along(notched(10.15), level, kind)).any()


def test_a_low_bank_beside_an_overflow_stays_a_low_place():
    rim = notched(10.15)
    rim[STATION > 10.6] = 10.2

    there = told(along(rim, 10.15))

    assert not there[STATION > 10.6 + FLANK + 0.1].any() and there[np.abs(STATION - 10.0) < 0.5].all()


def test_mouths_are_named_on_both_waters_of_the_example():
    found = material(SHAPED)
    names = {
        name: {one for edge in edges_of(found, name) for one in edge.openings if one}
        for name in found.job.shape.bodies
    }

    overflow = Opening("overflow", "Stone overflow through the bank")
    assert names["pond"] == {Opening("mouth", "The stream"), overflow}
    assert names["wetland"] == {Opening("mouth", "The stream")}
    assert names["stream"] == {Opening("mouth", "The pond"), Opening("mouth", "Planted wetland")}
    assert names["intake"] == set()
    (pond,) = edges_of(found, "pond")
    low = pond.rim < pond.water + pond.freeboard - 0.002
    assert low.any() and all(pond.openings[at] for at in np.flatnonzero(low))


def test_where_a_cut_face_rises_the_crest_on_paper_is_what_the_freeboard_asks():
    (pond,) = edges_of(material(SHAPED), "pond")
    faces = pond.rim - pond.crest > 0.15

    assert faces.sum() > 100
    assert pond.crest[faces] == pytest.approx(pond.water[faces] + pond.freeboard)
