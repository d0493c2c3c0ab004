"""``pondwright hauls``: how far machines drive and where they bend, for a person and for a program."""

import json
import math

import numpy as np
import pytest

from pondwright.cli.main import main
from pondwright.examples import DOZEN_SHOTS, LARKMEADOW_SHAPED, example_text


@pytest.fixture
def file(tmp_path):
    def written(name):
        path = tmp_path / f"{name}.pond.json"
        path.write_text(example_text(name), encoding="utf-8")
        return str(path)

    return written


def test_hauls_are_printed_with_how_far_is_driven_and_where_the_way_bends(file, capsys):
    assert main(["hauls", file(LARKMEADOW_SHAPED)]) == 0

    hauls, bends = capsys.readouterr().out.split("where the largest haul of each bends")
    tip = next(line for line in hauls.splitlines() if "off site: Tip of the county" in line)
    driven, straight = (float(part.split()[0]) for part in tip.split("yd³")[1].split("ft")[:2])
    assert driven > straight > 0.0
    assert "off site: Tip of the county" in bends and ";" in bends
    assert "pile: Topsoil, north" in hauls and "topsoil_north" not in hauls


def test_a_haul_that_nothing_drives_is_told_by_the_name_of_its_pile(file, tmp_path, capsys):
    path = tmp_path / "fenced.pond.json"
    job = json.loads(example_text(LARKMEADOW_SHAPED))
    muck = job["earth"]["piles"]["muck"]["place"]
    spots = muck["curve"]["pegs"] if "curve" in muck else [muck]
    east, north = (sum(spot[axis] for spot in spots) / len(spots) for axis in ("east", "north"))
    corners = [(-12.0, -12.0), (12.0, -12.0), (12.0, 12.0), (-12.0, 12.0), (-12.0, -12.0)]
    place = {"at": "line", "points": [{"east": east + x, "north": north + y} for x, y in corners]}
    job["site"]["things"]["pen"] = {"kind": "fence", "name": "Pen", "status": "existing", "place": place}
    path.write_text(json.dumps(job), encoding="utf-8")

    main(["hauls", str(path)])

    told = capsys.readouterr().out
    assert (
        "No machine can drive from the dig to Muck, spread to dry" in told
        and "Pen" in told
        and "`" not in told
    )


def test_a_program_reads_every_haul_with_its_way(file, capsys):
    main(["hauls", file(LARKMEADOW_SHAPED), "--json"])

    told = json.loads(capsys.readouterr().out)
    bent = [haul for haul in told["hauls"] if len(haul["way"]) > 2]
    assert bent and {haul["to"] for haul in bent} >= {"off site tip", "pile muck"}
    for haul in told["hauls"]:
        steps = np.diff(np.array(haul["way"]), axis=0)
        assert np.hypot(*steps.T).sum() == pytest.approx(haul["distance"], abs=0.01)
        assert haul["distance"] >= math.dist(haul["way"][0], haul["way"][-1]) - 1e-9
    # West of the stream some ground is shut in between the waters and the oaks.
    stuck = [haul for haul in told["hauls"] if not haul["driven"]]
    assert {haul["to"] for haul in stuck} == {"pile topsoil_north"}
    assert sum(haul["volume"] for haul in stuck) < 0.01 * sum(haul["volume"] for haul in told["hauls"])
    assert any(check["code"] == "earth.haul_way" for check in told["checks"])


def test_soil_without_a_place_has_no_way(file, capsys):
    main(["hauls", file(DOZEN_SHOTS), "--json"])

    nowhere = [haul for haul in json.loads(capsys.readouterr().out)["hauls"] if haul["to"] == "nowhere"]
    assert nowhere and all(haul["way"] == [] and haul["distance"] == 0.0 for haul in nowhere)
