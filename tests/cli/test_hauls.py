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
    tip = next(line for line in hauls.splitlines() if "off site tip" in line)
    driven, straight = (float(part.split()[0]) for part in tip.split("yd³")[1].split("ft")[:2])
    assert driven > straight > 0.0
    assert "off site tip" in bends and ";" in bends


def test_a_program_reads_every_haul_with_its_way(file, capsys):
    main(["hauls", file(LARKMEADOW_SHAPED), "--json"])

    told = json.loads(capsys.readouterr().out)
    bent = [haul for haul in told["hauls"] if len(haul["way"]) > 2]
    assert bent and {haul["to"] for haul in bent} >= {"off site tip", "pile muck"}
    for haul in told["hauls"]:
        steps = np.diff(np.array(haul["way"]), axis=0)
        assert np.hypot(*steps.T).sum() == pytest.approx(haul["distance"], abs=0.01)
        assert haul["distance"] >= math.dist(haul["way"][0], haul["way"][-1]) - 1e-9 and haul["driven"]
    assert any(check["code"] == "earth.haul_way" for check in told["checks"])


def test_soil_without_a_place_has_no_way(file, capsys):
    main(["hauls", file(DOZEN_SHOTS), "--json"])

    nowhere = [haul for haul in json.loads(capsys.readouterr().out)["hauls"] if haul["to"] == "nowhere"]
    assert nowhere and all(haul["way"] == [] and haul["distance"] == 0.0 for haul in nowhere)
