"""Things stand as high as their rows tell, and hide what lies behind them; a light does not."""

from __future__ import annotations

import json

from hypothesis import given, settings
from hypothesis import strategies as st

from pondwright.job.codec import loads
from tests.unit.shape.ponds import Computed, job_values


def share(seat=None, **thing):
    """Share of the pond that a bench on its south side sees, with a thing between."""
    values = job_values(fall=0.0, level=99.9)
    place = seat or {"at": "point", "east": 15.0, "north": 4.0}
    values["shape"]["seats"] = {"bench": {"place": place}}
    if thing:
        between = {"at": "point", "east": 15.0, "north": 7.0}
        values["site"]["things"] = {"one": {"place": between, "size": 4.0} | thing}
    return Computed(values, upto="shape.views")["shape.views"].seats["bench"].share


def test_a_tree_hides_nothing_until_its_height_is_told():
    assert share(kind="tree") == share()
    assert share(kind="tree", height=3.0) < share() - 0.1


def test_the_told_height_goes_before_the_usual_one():
    assert share(kind="structure", height=0.0) == share()
    assert share(kind="structure", height=2.5) == share(kind="structure") < share()


@settings(max_examples=8, deadline=None)
@given(
    st.sampled_from(["tree", "house", "structure", "soil_pile", "stone_pile"]),
    st.floats(0.1, 3.0),
    st.floats(0.0, 3.0),
)
def test_a_thing_that_grows_never_shows_more(kind, height, more):
    assert share(kind=kind, height=height + more) <= share(kind=kind, height=height) + 1e-9 <= share() + 1e-9


def test_a_hedge_along_a_line_hides_as_a_fence_of_its_height_does():
    line = {"at": "line", "points": [{"east": 9.0, "north": 7.0}, {"east": 21.0, "north": 7.0}]}

    hidden = [share(kind=kind, place=line, height=1.6) for kind in ("tree", "fence")]

    assert hidden[0] == hidden[1] < share()


def test_one_who_sits_under_the_crown_looks_out_from_under_it():
    bench = {"at": "point", "east": 15.0, "north": 6.5}

    assert share(seat=bench, kind="tree", height=6.0) == share(seat=bench)
    assert share(seat=bench, kind="structure", height=6.0) < share(seat=bench)


def test_a_light_has_a_place_a_height_and_a_note_and_hides_nothing():
    assert share(kind="light", height=4.0) == share()

    values = job_values()
    values["site"]["things"] = {
        "lamp": {
            "kind": "light",
            "place": {"at": "point", "east": 3.0, "north": 4.0},
            "height": 0.6,
            "note": "warm",
        }
    }
    lamp = loads(json.dumps(values)).site.things["lamp"]
    assert (lamp.kind, lamp.height, lamp.note) == ("light", 0.6, "warm")
