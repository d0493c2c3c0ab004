"""Water beside the stone: solids under the level, voids hold water, never above gross."""

import numpy as np
import pytest

from pondwright.base.findings import Grade
from tests.unit.stone.shelved import POND, net_storage, part, stone_class, treatment, values

BARE = treatment("bare", POND)


def test_a_pond_without_stone_holds_what_it_holds():
    found = net_storage(values(treatments={"edge": BARE}))["stone.net_storage"].bodies["pond"]

    assert found.volume == found.gross
    np.testing.assert_array_equal(found.volumes, found.gross_volumes)


def test_stone_under_water_takes_its_solid_away_and_what_stands_out_of_it_nothing():
    edge = treatment("courses", POND, ("edge", 1.0), courses=2)
    job = net_storage(values(classes={"edge": stone_class(0.5, 0.5)}, treatments={"edge": edge}))
    found, runs = job["stone.net_storage"].bodies["pond"], job["stone.takeoff"].bodies["pond"].runs

    solids = [sum(run.counts) * 0.85 * 0.125 for run in runs]

    assert found.displaced == pytest.approx(solids[0] * 0.3 / 0.5 + solids[1])
    assert found.volume == pytest.approx(found.gross - found.displaced)
    assert (found.volumes <= found.gross_volumes).all()
    assert (np.diff(found.volumes) >= 0.0).all()


def test_a_layer_above_the_finish_takes_its_solids_away_and_one_below_it_nothing():
    cover = treatment("gravel", part(5), ("round", 1.0), thickness=0.3, porosity=0.4)
    told = {"classes": {"round": stone_class(0.02, 0.04)}, "treatments": {"edge": BARE, "floor": cover}}
    above, below = values(**told), values(**told)
    below["build_up"] = {"all": {"place": POND, "layers": [{"item": "gravel_a", "thickness": 0.3}]}}

    above, below = (net_storage(job)["stone.net_storage"].bodies["pond"] for job in (above, below))

    zone = net_storage(values(**told))["stone.takeoff"].bodies["pond"].zones["5"]
    assert above.displaced == pytest.approx(0.3 * 0.6 * zone.area)
    assert below.displaced == 0.0 and below.volume == below.gross
    assert below.voids > 0.4 * 0.3 * zone.area


def test_a_pond_that_is_filled_with_stone_is_told_and_holds_no_less_than_nothing():
    cover = treatment("cobble", POND, ("round", 1.0), thickness=4.0)
    job = values(classes={"round": stone_class(0.1, 0.2)}, treatments={"edge": BARE, "all": cover})

    found = net_storage(job)

    assert found.finding("stone.displaced").grade is Grade.LOOK
    assert found["stone.net_storage"].bodies["pond"].volume >= 0.0
