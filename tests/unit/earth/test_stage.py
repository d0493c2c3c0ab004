"""The earth's stages on a small job."""

import numpy as np
import pytest

from pondwright.base.findings import Grade
from pondwright.geometry.volume import difference_volumes
from tests.unit.shape.ponds import Computed, job_values

LAYERS = [{"kind": "topsoil", "thickness": 0.2}, {"kind": "silt", "thickness": 0.8}, {"kind": "clay"}]


def computed(change=lambda values: None, layers=LAYERS, **settings):
    values = job_values(**settings)
    if layers:
        values["site"]["soils"] = {
            "pit": {"place": {"at": "point", "east": 15, "north": 15}, "layers": layers}
        }
    change(values)
    return Computed(values)


def lined(values, place=None, thickness=0.2):
    values["catalogue"] = {"gravel": {"kind": "gravel"}}
    values["build_up"] = {
        "bed": {
            "place": place or {"at": "whole", "body": "pond"},
            "layers": [{"item": "gravel", "thickness": thickness}],
        }
    }


def test_kinds_of_soil_add_up_to_what_is_dug():
    soil = computed()["earth.soil"]

    assert sum(each.dug + each.stripped for each in soil.by_kind.values()) == pytest.approx(soil.dug)
    assert list(soil.by_kind) == ["topsoil", "silt", "clay"]


def test_dug_soil_is_the_ground_above_the_subgrade():
    found = computed(lined)
    ground = found["site.ground"]

    above, _ = difference_volumes(ground.z, found["earth.subgrade"].z, ground.grid)

    soil = found["earth.soil"]
    assert sum(each.dug for each in soil.by_kind.values()) == pytest.approx(above, rel=1e-10)


def test_layers_over_the_bed_are_dug_for():
    plain, covered = computed(), computed(lined)

    area = plain["shape.shore"].area
    more = covered["earth.soil"].dug - plain["earth.soil"].dug
    assert more == pytest.approx(0.2 * area, rel=0.05)
    assert covered["earth.subgrade"].thickest == pytest.approx(0.2)


def test_layers_of_one_zone_lie_there_alone():
    zone = {"at": "part", "body": "pond", "zone": 6}

    found = computed(lambda values: lined(values, zone))

    covered = found["shape.grading"].z - found["earth.subgrade"].z > 0.1
    assert (found["shape.grading"].part[covered] == 16).all()
    assert covered.any()


def test_layers_along_a_stretch_are_told_to_be_left_out():
    stretch = {"at": "stretch", "body": "pond", "start": "p0", "end": "p4"}

    found = computed(lambda values: lined(values, stretch))

    assert found.finding("earth.covers").grade is Grade.LOOK
    assert found["earth.subgrade"].thickest == 0.0


def test_each_state_follows_from_the_bank_by_its_factor():
    silt = computed()["earth.soil"].by_kind["silt"]

    assert silt.loose == pytest.approx(silt.dug * silt.bulking)
    assert silt.compacted == pytest.approx(silt.dug * silt.compaction)
    assert silt.mass == pytest.approx(silt.dug * silt.bank_density)
    assert len(silt.sources) == 3


def test_a_factor_of_the_job_goes_before_the_table():
    measured = [{"kind": "silt", "bulking": 1.37}]

    silt = computed(layers=measured)["earth.soil"].by_kind["silt"]

    assert silt.bulking == 1.37
    assert str(silt.sources[0]).startswith("this job")


def test_the_surplus_is_what_fill_does_not_take():
    soil = computed()["earth.soil"]

    made = sum(each.compaction * each.dug for kind, each in soil.by_kind.items() if kind != "topsoil")
    left = made - soil.placed - soil.settlement_allowance
    assert soil.surplus_bank > 0.0
    assert left / soil.surplus_bank == pytest.approx(
        made / (soil.by_kind["silt"].dug + soil.by_kind["clay"].dug)
    )
    assert soil.settlement_allowance == pytest.approx(0.05 * soil.placed)
    assert soil.load_count >= soil.export_loose / 10.0


def test_missing_fill_is_told_below_zero():
    soil = computed(level=101.0)["earth.soil"]

    assert soil.surplus_bank < 0.0
    assert soil.export_loose < 0.0
    assert soil.load_count > 0


def test_the_table_repeats_the_soil_at_the_level_of_the_job():
    found = computed()
    table, soil = found["earth.levels"].bodies["pond"], found["earth.soil"]

    row = int(np.argmin(np.abs(table.level - 100.0)))
    assert len(table.level) == 9 + (table.balanced_row is not None)
    assert table.level[row] == pytest.approx(100.0)
    assert table.dug[row] == pytest.approx(soil.dug)
    assert table.placed[row] == pytest.approx(soil.placed)
    assert table.surplus[row] == pytest.approx(soil.surplus_bank)


def test_a_higher_level_digs_less_places_more_and_raises_more_rim():
    balance = computed()["earth.levels"].bodies["pond"]

    assert (balance.dug[1:] < balance.dug[:-1]).all()
    assert (balance.placed[1:] > balance.placed[:-1]).all()
    assert (balance.rim_to_raise[1:] >= balance.rim_to_raise[:-1]).all()


def test_the_balanced_level_balances():
    first = computed()["earth.balance"].balanced_level

    found = computed(level=first)

    assert found["earth.soil"].surplus_bank == pytest.approx(0.0, abs=0.01)
    assert found["earth.balance"].balanced_level == pytest.approx(first, abs=2e-5)
    assert found.finding("earth.balance").grade is Grade.GOOD


def test_soil_far_from_balance_offers_the_level_that_balances():
    found = computed(level=99.5)

    finding = found.finding("earth.balance")
    assert finding.grade is Grade.LOOK
    (op,) = finding.advice[0].ops
    assert (op.op, op.path) == ("add", "/shape/bodies/pond/level")
    assert op.value == found["earth.balance"].balanced_level


def test_a_body_to_be_kept_balanced_is_held_to_its_own_limit():
    def kept(values):
        values["shape"]["bodies"]["pond"]["keep_balanced"] = True

    found = computed(kept)

    assert found.finding("earth.keep_balanced").grade is Grade.LOOK
    level = found["earth.balance"].balanced_level
    assert computed(kept, level=level).finding("earth.keep_balanced").grade is Grade.GOOD


def test_without_soils_topsoil_over_silt_is_taken_and_told():
    found = computed(layers=None)

    assert list(found["earth.soil"].by_kind) == ["topsoil", "silt"]
    assert found.finding("earth.soil_depth").grade is Grade.LOOK


def test_digging_below_the_soil_that_is_known_is_told():
    thin = [{"kind": "topsoil", "thickness": 0.2}, {"kind": "silt", "thickness": 0.5}]

    found = computed(layers=thin).finding("earth.soil_depth")

    assert found.grade is Grade.LOOK
    assert found.value == pytest.approx(computed()["earth.soil"].greatest_dig - 0.7)


def test_digging_five_feet_deep_carries_the_cautions():
    assert computed().finding("earth.excavation").grade is Grade.LOOK
    assert computed(level=100.5).finding("earth.excavation").grade is Grade.GOOD


def test_slopes_are_held_against_the_weakest_soil():
    sand = computed(layers=[{"kind": "gravel"}])

    by_place = {finding.where.paths[0]: finding for finding in sand.findings["earth.side_slope"]}
    assert by_place["shape.slopes.cut"].grade is Grade.GOOD
    told = computed(lambda values: values["shape"].update(slopes={"cut": 2.0}))
    clay = {finding.where.paths[0]: finding for finding in told.findings["earth.side_slope"]}
    assert clay["shape.slopes.cut"].grade is Grade.LOOK
    # Where no slope is told, the soil asks for one that holds.
    silt = {finding.where.paths[0]: finding for finding in computed().findings["earth.side_slope"]}
    assert silt["shape.slopes.cut"].grade is Grade.GOOD


def test_a_bank_of_shelves_and_risers_is_held_by_its_slopes_alone():
    bank = {finding.where.paths[0]: finding for finding in computed().findings["earth.side_slope"]}

    assert bank["shape.bodies.pond.bank_type"].grade is Grade.GOOD
    assert bank["shape.bodies.pond.bank_type"].value == 3.0


def test_a_survey_carries_its_errors_into_the_volumes():
    survey = computed()["earth.survey"]

    assert 0.0 < survey.dug_sigma < 3.0
    assert survey.placed_sigma > 0.0


def test_every_check_names_its_source():
    found = computed(level=99.5)

    assert all(finding.source for group in found.findings.values() for finding in group)


def test_counted_loads_go_before_the_table():
    values = job_values()
    values["earth"] = {
        "counted": {
            "spring": {"kind": "silt", "bank": 100.0, "loads": 14, "box": 10.0},
            "fall": {"kind": "silt", "bank": 50.0, "loads": 8, "box": 10.0},
        }
    }

    silt = Computed(values, upto="earth.soil")["earth.soil"].by_kind["silt"]

    assert silt.bulking == pytest.approx(220.0 / 150.0)
    assert "counted" in str(silt.sources[0])
