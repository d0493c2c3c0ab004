"""The live channel as windows meet it: edits, catch-up, drags, frames, and what they are refused."""

import json
import socket as plain_socket
import threading

import numpy as np
import pytest
from websockets.exceptions import ConnectionClosed, InvalidStatus
from websockets.sync.client import connect

from pondwright import api
from pondwright.examples import DOZEN_SHOTS, example_text
from pondwright.job.codec import loads
from pondwright.job.log import Log
from pondwright.server import live as channel
from pondwright.server.frames import AT_REST, NAMES

LEVEL = "/shape/bodies/pond/level"
CLIENT = "/brief/client"


def drag(value):
    return [{"op": "replace", "path": LEVEL, "value": value}]


def apart(one, other):
    """Greatest difference of two fields."""
    assert one.shape == other.shape
    return np.abs(one - other).max()


def patches(told):
    return [one for one in told if isinstance(one, dict) and one["type"] == "patch"]


def test_a_new_window_gets_the_document(served, job_id):
    with served.window(job_id) as window:
        assert window.greeting["type"] == "doc" and window.greeting["rev"] == 0
        assert window.greeting["job"] == served.document(job_id)["job"]


def test_a_window_that_returns_gets_the_edits_that_it_missed(served, job_id):
    with served.window(job_id) as ada:
        ada.edit(LEVEL, 99.0)
        ada.edit(CLIENT, "C", base=1)

        with served.window(job_id, "bea", rev=1) as bea:
            assert bea.greeting["type"] == "patch" and bea.greeting["rev"] == 2
            assert [edit["ops"][0]["path"] for edit in bea.greeting["edits"]] == [CLIENT]


@pytest.mark.parametrize("rev", [-1, 99, True, "0", 0.5, 10**30])
def test_a_window_that_knows_a_revision_that_is_not_there_gets_the_document(served, job_id, rev):
    with served.window(job_id, rev=rev) as window:
        assert window.greeting["type"] == "doc"


def test_an_edit_is_acknowledged_after_its_patch_and_kept(served, job_id):
    with served.window(job_id) as window:
        patch, answer = window.edit(LEVEL, 99.0, label="raise")

        assert answer == {"type": "ack", "id": "ada-1", "rev": 1}
        assert patch["type"] == "patch" and patch["rev"] == 1 and patch["edits"][0]["id"] == "ada-1"
    assert served.document(job_id)["job"]["shape"]["bodies"]["pond"]["level"] == 99.0
    assert served.get(f"/jobs/{job_id}/history").json()[0]["label"] == "raise"


def test_an_edit_sent_twice_is_acknowledged_twice_and_kept_once(served, job_id):
    with served.window(job_id) as window:
        first, again = (window.edit(LEVEL, 99.0, id_="same-1")[-1] for _ in range(2))

        assert first == again == {"type": "ack", "id": "same-1", "rev": 1}
    assert len(served.get(f"/jobs/{job_id}/history").json()) == 1


def test_an_edit_of_what_another_window_changed_comes_back_with_the_reason(served, job_id):
    with served.window(job_id) as ada, served.window(job_id, "bea") as bea:
        ada.edit(LEVEL, 99.0, label="raise")

        refusal = bea.edit(LEVEL, 98.0)[-1]

        assert refusal["type"] == "nak" and refusal["rev"] == 1
        assert refusal["why"] == "`raise` by ada changed the same thing"
        assert [edit["id"] for edit in refusal["edits"]] == ["ada-1"]


def test_an_edit_that_breaks_a_rule_comes_back_with_its_faults(served, job_id):
    with served.window(job_id) as window:
        refusal = window.edit(LEVEL, "high")[-1]

        assert refusal["type"] == "nak" and "shape.bodies.pond.level" in refusal["faults"][0]["path"]
        assert window.edit(LEVEL, 99.0)[-1]["type"] == "ack"


@pytest.mark.parametrize(
    "edit",
    [
        {},
        {"id": 7, "base": 0, "ops": [], "label": ""},
        {"id": "x", "base": -1, "ops": [{"op": "replace", "path": "/name", "value": "n"}], "label": ""},
        {"id": "x", "base": 0, "ops": [{"op": "copy", "path": "/name", "value": "n"}], "label": ""},
        {"id": "x", "base": 0, "ops": "all", "label": None},
    ],
)
def test_what_is_no_edit_is_refused_and_the_talk_goes_on(served, job_id, edit):
    with served.window(job_id) as window:
        window.say(type="edit", **edit)

        assert window.hear()["type"] == "nak"
        window.say(type="ping")
        assert window.hear() == {"type": "pong"}


def test_an_edit_that_is_too_long_is_refused_and_the_talk_goes_on(served, job_id):
    with served.window(job_id) as window:
        refusal = window.edit(CLIENT, "x" * 2_100_000)[-1]

        assert refusal["type"] == "nak" and "at most 2 million characters" in refusal["why"]
        assert window.edit(CLIENT, "C")[-1]["type"] == "ack"


def test_all_windows_come_to_the_same_document(served, job_id):
    count = 12
    others = {}

    def work(name, path, values):
        with served.window(job_id, name) as window:
            told = [one for step, value in enumerate(values) for one in window.edit(path, value, base=step)]
            known = window.greeting["rev"]
            seen = [edit for patch in patches(told) for edit in patch["edits"]]
            while known + len(seen) < 2 * count:
                seen += window.hear()["edits"]
            others[name] = (known, seen)

    workers = [
        threading.Thread(target=work, args=("ada", LEVEL, [99.0 + 0.01 * step for step in range(count)])),
        threading.Thread(target=work, args=("bea", CLIENT, [f"C{step}" for step in range(count)])),
    ]
    for worker in workers:
        worker.start()
    for worker in workers:
        worker.join()

    kept = [edit["id"] for edit in served.get(f"/jobs/{job_id}/history").json()]
    assert len(kept) == 2 * count
    for known, seen in others.values():
        assert [edit["rev"] for edit in seen] == list(range(known + 1, 2 * count + 1))
        assert [edit["id"] for edit in seen] == kept[known:]


def test_a_restore_beside_the_channel_reaches_every_window(served, job_id):
    with served.window(job_id) as window:
        window.edit(LEVEL, 99.0)

        served.post(f"/jobs/{job_id}/restore", json={"rev": 0})

        patch = window.hear()
        assert patch["type"] == "patch" and patch["rev"] == 2 and patch["edits"][0]["label"] == "back to 0"


def test_a_drag_shows_its_frame_and_leaves_the_job_untouched(served, job_id):
    with served.window(job_id) as window:
        before = window.frame()

        moving = window.frame(drag(99.0), lod=2)

        assert moving.head["state"] == "moving" and moving.head["lod"] == 2 and moving.head["rev"] == 0
        assert moving.head["figures"] != before.head["figures"]
        assert window.frame().head["figures"] == before.head["figures"]
    assert served.document(job_id) == {"rev": 0, "job": window.greeting["job"]}
    assert served.get(f"/jobs/{job_id}/history").json() == []


def test_figures_of_a_drag_are_those_of_the_edit(served, job_id):
    with served.window(job_id) as window:
        for value in (99.0, 99.1, 99.05):
            moving = window.frame(drag(value), lod=2)
        window.edit(LEVEL, 99.05)
        exact = window.frame()

        assert exact.head["rev"] == 1 and exact.head["state"] == "exact"
        stages = tuple(name for name, status in moving.head["stages"].items() if status == "fresh")
        assert "shape.storage" in stages and "earth.soil" in stages
        followed, settled = (
            {path: value for path, value in one.head["figures"].items() if path.startswith(stages)}
            for one in (moving, exact)
        )
        assert followed == settled


def test_of_many_wishes_the_newest_wins(served, job_id):
    with served.window(job_id) as window:
        window.frame()
        for step in range(30):
            newest = window.wish(drag(99.0 + 0.01 * step), lod=2)

        frames = [one.head["seq"] for one in window.hear_until(lambda told: told.head["seq"] == newest)]

        assert frames[-1] == newest and frames == sorted(set(frames)) and len(frames) < 30


def test_a_preview_that_has_no_answer_is_told_and_the_next_is_drawn(served, job_id):
    with served.window(job_id) as window:
        for ops in (drag("high"), [{"op": "remove", "path": "/shape/bodies/sea"}], "all", [], [7]):
            seq = window.wish(ops, lod=2)
            told = window.hear()
            assert told["type"] == "cannot" and told["seq"] == seq and told["why"]

        assert window.frame(drag(99.0), lod=2).head["seq"] == window.seq


@pytest.mark.parametrize(
    "wish",
    [
        {"seq": -1},
        {"seq": "1"},
        {"seq": True},
        {"seq": 1, "lod": 3},
        {"seq": 1, "lod": True},
        {"seq": 1, "want": "all"},
        {"seq": 1, "want": [1]},
        {"seq": 1, "section": {"points": [[0, 0]] * 201}},
        {"seq": 1, "section": {"points": [[0, "east"]]}},
        {"seq": 1, "section": {"points": [[0, 1e300]]}},
        {"seq": 1, "section": [[0, 0]]},
    ],
)
def test_a_wish_without_the_form_of_one_is_told_and_the_talk_goes_on(served, job_id, wish):
    with served.window(job_id) as window:
        window.say(type="live", **wish)

        assert window.hear()["type"] == "cannot"
        window.say(type="ping")
        assert window.hear() == {"type": "pong"}


def test_a_wish_at_rest_is_answered_at_once_and_then_exactly(served):
    job_id = served.example("larkmeadow")
    with served.window(job_id) as window:
        seq = window.wish()

        frames = window.hear_until(lambda told: told.head["state"] == "exact")

        assert {one.head["seq"] for one in frames} == {seq}
        # What follows the hand, what settles, and what is worked out behind the scenes.
        assert [one.head["state"] for one in frames] in (["moving", "moving", "exact"], ["exact"])


def test_the_frame_of_lod_1_is_the_run_within_rounding(served):
    job = loads(example_text("larkmeadow"))
    run = api.compute(job)
    ground, grading = run.results.site.ground, run.results.shape.grading
    with served.window(served.example("larkmeadow")) as window:
        frame = window.frame(want=sorted(NAMES))

    assert set(frame.arrays) >= {"dz", "depth", "z", "ground", "known", "sigma", "slope", "strip", "storage"}
    assert apart(frame.heights("z"), grading.z) < 0.0051
    assert apart(frame.heights("ground"), ground.z) < 0.0051
    assert apart(frame.heights("dz"), run.results.earth.subgrade.z - ground.z) < 0.0051
    assert (frame.arrays["known"][0][0] == ground.known).all()
    assert apart(frame.heights("sigma"), np.minimum(run.results.site.uncertainty.sigma, 32.767)) < 0.00051
    grid = ground.grid
    assert frame.head["grid"] == {
        "origin_east": grid.origin_east, "origin_north": grid.origin_north, "spacing": grid.spacing,
        "columns": grid.columns, "rows": grid.rows,
    }  # fmt: skip
    body = next(iter(run.results.shape.shore.bodies.values()))
    wet = np.where(body.distance > 0, np.maximum(body.level - grading.z, 0.0), 0.0)
    assert (frame.heights("depth") >= wet - 0.0051).all()
    held = next(iter(run.results.shape.storage.bodies.values()))
    assert (frame.arrays["storage"][0][0] == np.column_stack([held.levels, held.volumes, held.areas])).all()
    assert frame.head["figures"] == {one.path: one.value for one in api.figures(run)}
    found = api.checks(run)
    assert [check["code"] for check in frame.head["checks"]] == [
        finding.code for finding in (*found.stop, *found.look, *found.good)
    ]


def test_the_frame_of_lod_2_holds_every_second_node(served, job_id):
    with served.window(job_id) as window:
        fine, coarse = window.frame(want=["z"]), window.frame(want=["z"], lod=2)

    assert apart(coarse.heights("z"), fine.heights("z")[::2, ::2]) < 0.0101
    assert coarse.head["grid"]["spacing"] == 2 * fine.head["grid"]["spacing"]


def test_a_drag_leaves_out_what_it_cannot_move(served, job_id):
    with served.window(job_id) as window:
        moving = window.frame(drag(99.0), lod=2, want=sorted(NAMES))

    assert not {name.removesuffix("_points") for name in moving.arrays} & AT_REST
    assert "z" in moving.arrays


def test_the_shore_unrolled_goes_once_round(served, job_id):
    run = api.compute(loads(example_text(DOZEN_SHOTS)))
    body = run.results.shape.shore.bodies["pond"]
    with served.window(job_id) as window:
        ((table, head),) = window.frame(want=["strip"]).arrays["strip"]

    assert head["body"] == "pond" and head["crest"] > 0
    assert (np.diff(table[:, 0]) > 0).all() and 0.97 * body.length < table[-1, 0] < body.length
    assert table[:, 5] == pytest.approx(body.level, abs=1e-4)
    assert table[:, 7] == pytest.approx(table[:, 4] - table[:, 5], abs=1e-4)


def test_a_section_goes_through_ground_finish_subgrade_and_water(served, job_id):
    run = api.compute(loads(example_text(DOZEN_SHOTS)))
    body = run.results.shape.shore.bodies["pond"]
    (west, south), (east, north) = body.rings[0].min(axis=0), body.rings[0].max(axis=0)
    middle = (south + north) / 2
    with served.window(job_id) as window:
        section = {"points": [[west - 1e6, middle], [east, middle]]}
        ((table, head),) = window.frame(section=section).arrays["section"]

    assert table.shape[1] == 8 and (np.diff(table[:, 0]) > 0).all()
    wet = table[:, 4] != head["dry"]
    assert wet.any() and (table[wet, 4] > table[wet, 2]).all() and (table[:, 3] <= table[:, 2] + 1e-4).all()


def test_an_empty_job_has_frames_too(served):
    job_id = served.post("/jobs", json={"name": "Mill Lane 4"}).json()["id"]
    with served.window(job_id) as window:
        frame = window.frame(want=sorted(NAMES), section={"points": [[0, 0], [1, 1]]})

    assert frame.head["grid"] is None and frame.arrays == {}
    assert frame.head["checks"][0]["code"] == "site.ground.blocked"


def test_a_job_with_ground_and_a_broken_shore_shows_its_ground(served, job_id):
    curve = [{"op": "replace", "path": "/shape/bodies/pond/outline", "value": {
        "form": "ring",
        "curve": {"pegs": [{"id": f"p{n}", "east": 1000.0 + n, "north": float(n % 2)} for n in range(3)]},
    }}]  # fmt: skip
    with served.window(job_id) as window:
        moving = window.frame(curve, lod=2, want=sorted(NAMES))
        assert "z" not in moving.arrays and moving.head["stages"]["shape.shore"] == "blocked"
        window.edit(curve[0]["path"], curve[0]["value"])

        frame = window.frame(want=sorted(NAMES), section={"points": [[0, 0], [10, 10]]})

    assert set(frame.arrays) >= {"ground", "known", "sigma"} and "z" not in frame.arrays


def test_a_fault_of_ours_is_told_and_the_next_wish_is_answered(served, job_id, monkeypatch, capsys):
    with served.window(job_id) as window:
        window.frame()
        with monkeypatch.context() as broken:
            broken.setattr(channel, "frame", lambda *_rest: 1 / 0)
            window.wish(drag(99.0), lod=2)
            told = window.hear()

        assert told["type"] == "cannot" and "fault of pondwright" in told["why"]
        assert window.frame(drag(99.0), lod=2).head["seq"] == window.seq
    assert "ZeroDivisionError" in capsys.readouterr().err


def test_a_window_that_has_fallen_asleep_holds_up_no_other(served, job_id):
    """It shook hands, said hello and then took nothing any more, so that its buffers are full."""
    with plain_socket.create_connection(("127.0.0.1", served.port)) as asleep:
        asleep.setsockopt(plain_socket.SOL_SOCKET, plain_socket.SO_RCVBUF, 4096)
        asleep.sendall(
            f"GET /api/jobs/{job_id}/live HTTP/1.1\r\nHost: 127.0.0.1:{served.port}\r\n"
            "Upgrade: websocket\r\nConnection: Upgrade\r\nSec-WebSocket-Version: 13\r\n"
            "Sec-WebSocket-Key: MDEyMzQ1Njc4OWFiY2RlZg==\r\n\r\n".encode()
        )
        assert b"101" in asleep.recv(64)
        hello = json.dumps({"type": "hello", "proto": 1, "rev": 0}).encode()
        asleep.sendall(bytes([0x81, 0x80 | len(hello), 0, 0, 0, 0]) + hello)
        with served.window(job_id) as ada:
            for step in range(12):
                texts = {f"t{number}": str(step % 10) * 20_000 for number in range(60)}
                assert ada.edit("/brief/texts", texts, base=step)[-1]["type"] == "ack"
        live = served.app.state.workshop._open[job_id]
        assert any(client.unsent.qsize() > 0 for client in live.clients)


def test_a_window_that_goes_in_the_middle_of_an_edit_leaves_it_kept_or_not_at_all(served, job_id):
    with served.window(job_id, "bea") as bea:
        for number in range(8):
            ada = served.window(job_id, f"ada{number}")
            ops = [{"op": "replace", "path": CLIENT, "value": str(number)}]
            ada.say(type="edit", id=f"ada{number}-1", base=ada.rev, label="", ops=ops)
            ada.vanish()
        answer = bea.edit(LEVEL, 99.0)

        kept = [edit["id"] for edit in served.get(f"/jobs/{job_id}/history").json()]
        assert [edit["id"] for patch in patches(answer) for edit in patch["edits"]] == kept


def last_words(window):
    """What the server says before it closes, and the code with which it does."""
    told = []
    try:
        while True:
            told.append(window.hear())
    except ConnectionClosed as closed:
        return told, closed.rcvd.code if closed.rcvd else None


@pytest.mark.parametrize(
    "hello",
    ["", "[]", "7", "null", "{", '{"type": "edit"}', '{"type": "hello", "proto": 2}', "NaN", "[" * 100_000],
)
def test_a_talk_that_begins_without_hello_ends_with_one_sentence(served, job_id, hello):
    with served.window(job_id, greet=False) as window:
        window.socket.send(hello)

        told, code = last_words(window)

    assert code == 1008 and len(told) == 1 and told[0]["type"] == "bye" and "\n" not in told[0]["why"]


@pytest.mark.parametrize("message", [b"\0\1", '{"type": "shout"}', '{"type": "edit", "label": "\\ud800"}'])
def test_a_message_that_cannot_be_read_ends_the_talk_with_one_sentence(served, job_id, message):
    with served.window(job_id) as window:
        window.socket.send(message)

        told, code = last_words(window)

    assert code == 1008 and told[-1]["type"] == "bye"


def test_a_talk_about_an_unknown_job_ends_with_one_sentence(served):
    with served.window("0" * 16, greet=False) as window:
        told, code = last_words(window)

    assert code == 1008 and told == [{"type": "bye", "why": f"there is no job '{'0' * 16}' here"}]


def test_a_message_without_end_closes_the_channel(served, job_id):
    with served.window(job_id) as window, pytest.raises(ConnectionClosed) as closed:
        window.socket.send("x" * 9_000_000)
        window.hear()

    assert closed.value.rcvd is None or closed.value.rcvd.code == 1009


@pytest.mark.parametrize("origin", ["http://evil.example", "null", "https://127.0.0.1:{port}"])
def test_a_page_of_another_site_gets_no_channel(served, job_id, origin):
    with pytest.raises(InvalidStatus) as refusal:
        connect(
            f"ws://127.0.0.1:{served.port}/api/jobs/{job_id}/live",
            origin=origin.format(port=served.port),
            proxy=None,
        )
    assert refusal.value.response.status_code == 403


def test_our_own_page_gets_a_channel_without_compression(served, job_id):
    with connect(
        f"ws://127.0.0.1:{served.port}/api/jobs/{job_id}/live", origin=served.address, proxy=None
    ) as opened:
        opened.send(json.dumps({"type": "hello", "proto": 1, "rev": None}))
        assert json.loads(opened.recv())["type"] == "doc"
        assert opened.protocol.extensions == []


def test_a_job_that_nobody_looks_at_is_let_go(served):
    jobs = [served.example() for _ in range(5)]
    for job_id in jobs:
        served.get(f"/jobs/{job_id}/results")

    workshop = served.app.state.workshop
    assert len([one for one in workshop._open.values() if one.users == 0]) <= channel.MOST_IDLE


def test_for_a_window_that_has_gone_nothing_long_is_computed_to_its_end():
    live = channel.LiveJob("a", 3, api.new_job("Mill Lane"), Log())
    client = channel.Client(None, live)
    assert channel._is_overtaken(client, 3), "it has not greeted yet"
    live.clients.add(client)
    assert not channel._is_overtaken(client, 3)
    live.clients.discard(client)
    assert channel._is_overtaken(client, 3)


def test_a_copy_of_an_open_job_goes_on_from_what_was_computed_for_it(served, job_id):
    first = served.get(f"/jobs/{job_id}/results").json()
    workshop = served.app.state.workshop
    known = {name: state.result for name, state in workshop._open[job_id].run.stages.items()}

    copy = served.example()
    assert served.get(f"/jobs/{copy}/results").json()["figures"] == first["figures"]
    run = workshop._open[copy].run
    assert all(state.result is known[name] for name, state in run.stages.items())


def test_an_edit_that_is_taken_back_and_made_again_is_shown_without_computing(served):
    job_id = served.example()
    workshop, runs = served.app.state.workshop, []
    with served.window(job_id) as window:
        level = window.greeting["job"]["shape"]["bodies"]["pond"]["level"]
        for base, value in enumerate([99.0, level, 99.0]):
            window.frame()
            runs.append(workshop._open[job_id].run)
            assert window.edit(LEVEL, value, base=base)[-1]["type"] == "ack"
        window.frame()
        runs.append(workshop._open[job_id].run)

    first, other, back, again = (dict(run.stages) for run in runs)
    assert first["shape.storage"] is not other["shape.storage"]
    assert all(back[name] is state for name, state in first.items())
    assert all(again[name] is state for name, state in other.items())


def test_an_edit_of_a_copy_computes_only_what_it_touches(served):
    source, copy = served.example(), served.example()
    served.get(f"/jobs/{source}/results")
    workshop = served.app.state.workshop
    known = dict(workshop._open[source].run.stages)

    with served.window(copy) as window:
        window.edit(LEVEL, 98.765)
        window.frame()
        run = workshop._open[copy].run
    assert run.stages["shape.storage"] is not known["shape.storage"]
    assert all(run.stages[name] is known[name] for name in ("site.ground", "site.visit", "site.uncertainty"))
