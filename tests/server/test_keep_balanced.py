"""Keep balanced over the live channel: frames of a drag show the level that follows, the drop carries it."""

from __future__ import annotations

LEVEL = "shape.shore.bodies.pond.level"
KEEP = "/shape/bodies/pond/keep_balanced"
PEGS = "/shape/bodies/pond/outline/curve/pegs"


def shore(served, job_id, by):
    pegs = served.document(job_id)["job"]["shape"]["bodies"]["pond"]["outline"]["curve"]["pegs"]
    return [peg | {"north": peg["north"] + by} if at < 2 else peg for at, peg in enumerate(pegs)]


def test_the_level_of_a_drag_follows_and_its_drop_is_one_edit(served, job_id):
    with served.window(job_id) as window:
        window.edit(KEEP, True)
        balanced = served.document(job_id)["job"]["shape"]["bodies"]["pond"]["level"]
        pegs = shore(served, job_id, 0.6)
        drag = window.frame([{"op": "replace", "path": PEGS, "value": pegs}], lod=2)
        told = window.edit(PEGS, pegs, base=1)
        dropped = served.document(job_id)["job"]["shape"]["bodies"]["pond"]["level"]
        settled = window.frame()

    patch = next(each for each in told if isinstance(each, dict) and each["type"] == "patch")
    assert [op["path"] for op in patch["edits"][0]["ops"]] == [PEGS, "/shape/bodies/pond/level"]
    assert balanced != dropped
    assert abs(drag.head["figures"][LEVEL] - dropped) < 1e-3
    assert abs(settled.head["figures"]["earth.balance.balanced_level"] - dropped) < 2e-5


def test_an_edit_that_does_not_fit_is_refused_in_the_words_of_the_store(served, job_id):
    with served.window(job_id) as window:
        window.edit(KEEP, True)
        answer = window.edit(PEGS, [], base=1)[-1]

    assert answer["type"] == "nak" and answer["faults"]
