"""The stage of soil, muck and ground water: probes on the ground, pairs of shots, odd inputs."""

import numpy as np
import pytest

from pondwright import api
from pondwright.base.findings import Grade, Op
from pondwright.flow.engine import Status
from pondwright.job.edits import Edit
from pondwright.rooms.site.soils import soil_column
from tests.unit.site.hollow_jobs import MIDDLE, at, flat_shots, hollow_shots, job, shot, stages

WHOLE = {"place": {"at": "whole"}, "layers": [{"kind": "topsoil", "thickness": 0.2}, {"kind": "silt"}]}


def rod(east, north, *layers, **facts):
    told = [{"kind": kind, "thickness": thickness} for kind, thickness in layers]
    return {"place": at(east, north), "layers": told, **facts}


def grades(found, code):
    return [finding.grade for finding in found.get(code, [])]


def floor_rods(thickness, count=8, radius=3.0):
    turns = np.linspace(0.0, 2.0 * np.pi, count, endpoint=False)
    return {
        f"p{number}": rod(
            MIDDLE + radius * float(np.cos(turn)), MIDDLE + radius * float(np.sin(turn)), ("muck", thickness)
        )
        for number, turn in enumerate(turns)
    }


def edge_rods():
    turns = np.linspace(0.0, 2.0 * np.pi, 16, endpoint=False)
    return {
        f"e{number}": rod(
            MIDDLE + 4.2 * float(np.cos(turn)), MIDDLE + 4.2 * float(np.sin(turn)), ("silt", 0.1)
        )
        for number, turn in enumerate(turns)
    }


def test_muck_ends_where_rods_find_none():
    _, layers, found = stages(job(probes={**floor_rods(0.4), **edge_rods()}))
    inner, outer = 2.83 * 9.0, 3.06 * 4.2**2  # an octagon of muck in a ring of sixteen rods

    assert 0.4 * inner < layers.muck.volume < 0.4 * outer
    assert layers.muck.carried_share == pytest.approx(0.0, abs=1e-9)
    assert grades(found, "site.muck_carried") == [Grade.GOOD]
    assert layers.muck.mass == pytest.approx(1250.0 * layers.muck.volume)
    assert layers.muck.firm_floor == pytest.approx(97.6, abs=0.01)


def test_without_such_rods_muck_is_carried_to_the_water_line_and_told():
    marks = {"m": {"elevation": 98.8, "season": "usual"}}
    _, layers, found = stages(job(probes=floor_rods(0.4), water_marks=marks))
    hole, _, _ = stages(job(water_marks=marks))

    assert layers.muck.volume == pytest.approx(0.4 * hole.marks["m"].area, rel=0.02)
    assert grades(found, "site.muck_carried") == [Grade.LOOK]


def test_one_rod_tells_all_the_muck_with_a_large_error():
    _, layers, found = stages(job(probes={"one": rod(MIDDLE, MIDDLE, ("muck", 0.4))}))

    assert layers.muck.volume == pytest.approx(0.4 * layers.muck.area)
    assert grades(found, "site.muck_sigma") == [Grade.LOOK]


def test_rods_in_a_line_tell_muck():
    line = {f"p{n}": rod(MIDDLE - 2.0 + n, MIDDLE, ("muck", 0.3)) for n in range(5)}
    _, layers, _ = stages(job(probes=line))

    assert layers.muck.volume == pytest.approx(0.3 * layers.muck.area)


def test_no_probe_is_no_muck():
    _, layers, found = stages(job())

    assert layers.muck.volume is None and not layers.muck.thickness.any()
    assert "site.muck_sigma" not in found


def test_on_flat_ground_muck_lies_between_the_probes():
    square = {f"p{n}": rod(10.0 + 8.0 * (n % 2), 10.0 + 8.0 * (n // 2), ("muck", 0.5)) for n in range(4)}
    _, layers, _ = stages(job(flat_shots(), probes=square))

    assert layers.muck.volume == pytest.approx(32.0, rel=1e-6)


def test_pits_in_a_meadow_tell_of_no_muck():
    pits = {
        f"p{n}": rod(10.0 + 8.0 * (n % 2), 10.0 + 8.0 * (n // 2), ("silt", 1.5), how="pit") for n in range(4)
    }
    _, layers, _ = stages(job(flat_shots(), probes=pits))

    assert layers.muck.volume is None and layers.muck.spot_count == 0


def test_a_pit_outside_the_hole_is_no_end_of_its_muck():
    probes = floor_rods(0.4)
    _, alone, _ = stages(job(probes=probes))
    _, with_pit, _ = stages(
        job(probes={**probes, "pit": rod(MIDDLE + 15.0, MIDDLE, ("silt", 1.5), how="pit")})
    )

    assert with_pit.muck.volume == alone.muck.volume


def test_shots_on_muck_and_firm_ground_tell_it_as_rods_do():
    pairs = {}
    for name, probe in floor_rods(0.4).items():
        place = probe["place"]["east"], probe["place"]["north"]
        pairs[f"m_{name}"] = shot(*place, 98.02, "muck")
        pairs[f"f_{name}"] = shot(place[0] + 0.1, place[1], 97.62, "firm")
    _, layers, found = stages(job({**hollow_shots(), **pairs}))
    _, by_rods, _ = stages(job(probes=floor_rods(0.4)))

    assert layers.muck.spot_count == 8
    assert layers.muck.volume == pytest.approx(by_rods.muck.volume, rel=0.01)
    assert grades(found, "site.muck_pair") == [Grade.GOOD]


def test_a_shot_without_its_other_side_is_told():
    _, layers, found = stages(job({**hollow_shots(), "m1": shot(MIDDLE, MIDDLE, 98.3, "muck")}))

    assert layers.muck.spot_count == 0
    (lone,) = found["site.muck_pair"]
    assert lone.grade is Grade.LOOK and "`m1`" in lone.says


def test_a_firm_floor_above_the_muck_is_left_out_and_told():
    wrong = {"m1": shot(MIDDLE, MIDDLE, 98.1, "muck"), "f1": shot(MIDDLE, MIDDLE, 98.5, "firm")}
    _, layers, found = stages(job({**hollow_shots(), **wrong}))

    assert layers.muck.spot_count == 0
    assert "`f1`" in found["site.muck_pair"][0].says


def test_muck_shots_without_a_height_wait():
    waiting = {"m1": {**shot(MIDDLE, MIDDLE, 0.0, "muck"), "elevation": None}}
    _, layers, _ = stages(job({**hollow_shots(), **waiting}))

    assert layers.muck.spot_count == 0


def test_a_soil_with_muck_gives_its_own_density():
    soil = {"place": {"at": "whole"}, "layers": [{"kind": "muck", "bank_density": 1100.0}]}
    _, layers, _ = stages(job(probes=floor_rods(0.4), soils={"s": soil}))

    assert layers.muck.density == 1100.0


def test_depths_in_a_probe_become_elevations():
    pit = rod(MIDDLE + 15.0, MIDDLE, ("topsoil", 0.2), ("silt", 1.8), how="pit", water_depth=1.5)
    pit["rises"] = [{"time": 3600.0, "depth": 1.6}, {"time": 600.0, "depth": 1.9}]
    _, layers, _ = stages(job(probes={"pit": pit}))
    told = layers.probes["pit"]

    assert told.water == pytest.approx(told.ground - 1.5)
    assert told.bottom == pytest.approx(told.ground - 2.0)
    assert [rise.time for rise in told.rises] == [600.0, 3600.0]
    assert told.rises[0].elevation == pytest.approx(told.ground - 1.9)
    assert told.at_rest and layers.highest_water_probe == "pit"


def test_water_that_still_rises_counts_as_high_as_it_was_read():
    pit = rod(MIDDLE + 15.0, MIDDLE, ("silt", 2.0), how="pit", rises=[{"time": 600.0, "depth": 1.9}])
    _, layers, _ = stages(job(probes={"pit": pit}))
    told = layers.probes["pit"]

    assert told.water == pytest.approx(told.ground - 1.9) and not told.at_rest


@pytest.mark.parametrize(("depth", "grade"), [(0.4, Grade.LOOK), (2.5, Grade.GOOD)])
def test_water_in_a_pit_above_the_floor_of_the_hole_is_told(depth, grade):
    pit = rod(MIDDLE + 15.0, MIDDLE, ("silt", 3.0), how="pit", water_depth=depth)
    _, _, found = stages(job(probes={"pit": pit}))

    assert grades(found, "site.water_in_pit") == [grade]


def test_a_pit_in_which_nobody_read_water_is_told():
    _, _, found = stages(job(probes={"pit": rod(MIDDLE + 15.0, MIDDLE, ("silt", 3.0), how="pit")}))

    assert "nobody knows" in found["site.water_in_pit"][0].says


@pytest.mark.parametrize(
    ("silt", "grade", "operator"),
    [(1.4, Grade.GOOD, "<="), (1.9, Grade.LOOK, "<="), (0.9, Grade.LOOK, ">=")],
)
def test_a_pit_is_held_against_the_soil_told_there(silt, grade, operator):
    soil = {
        "place": {"at": "whole"},
        "layers": [
            {"kind": "topsoil", "thickness": 0.2},
            {"kind": "silt", "thickness": 1.5},
            {"kind": "rock"},
        ],
    }
    pit = rod(MIDDLE + 15.0, MIDDLE, ("topsoil", 0.2), ("silt", silt), ("rock", 0.1), how="pit")
    _, _, found = stages(job(probes={"pit": pit}, soils={"meadow": soil}))
    (told,) = found["site.soil_against_probe"]

    assert (told.grade, told.operator) == (grade, operator)
    if grade is Grade.LOOK:
        assert (told.value, told.limit) == (silt, 1.5)
        assert "`pit`" in told.says and "`meadow`" in told.says


def test_a_layer_that_no_soil_tells_is_named():
    pit = rod(MIDDLE + 15.0, MIDDLE, ("topsoil", 0.2), ("gravel", 0.4), ("silt", 0.2), how="pit")
    _, _, found = stages(job(probes={"pit": pit}, soils={"meadow": WHOLE}))

    assert "found gravel where soil `meadow` has none" in found["site.soil_against_probe"][0].says


def test_sand_in_the_bank_at_the_height_where_the_water_stops_is_told():
    pit = rod(MIDDLE + 9.0, MIDDLE, ("silt", 0.6), ("sand", 0.4), ("silt", 0.5), how="pit")
    marks = {"m": {"elevation": 99.2, "season": "usual"}}
    _, _, found = stages(job(probes={"pit": pit}, water_marks=marks))

    says = found["site.leaky_layer"][0].says
    assert "met sand between floor and lip of the old hole, at the height where its water stops" in says


def test_pits_without_sand_are_good():
    pit = rod(MIDDLE + 9.0, MIDDLE, ("silt", 1.6), how="pit")
    _, _, found = stages(job(probes={"pit": pit}))

    assert grades(found, "site.leaky_layer") == [Grade.GOOD]


def test_a_soil_under_a_body_holds_inside_its_shore():
    pegs = [
        {"id": f"p{n}", "east": east, "north": north, "corner": True}
        for n, (east, north) in enumerate([(14.0, 14.0), (26.0, 14.0), (26.0, 26.0), (14.0, 26.0)])
    ]
    pond = {"outline": {"form": "ring", "curve": {"pegs": pegs}}}
    clay = {"place": {"at": "whole", "body": "pond"}, "layers": [{"kind": "clay"}]}
    document = api.edit(job(), Edit("shape", 0, (Op("add", "/shape/bodies/pond", pond),)))
    document = api.edit(
        document,
        Edit("soils", 0, (Op("add", "/site/soils/meadow", WHOLE), Op("add", "/site/soils/clay", clay))),
    )
    _, layers, _ = stages(document)

    assert soil_column(layers.soils, MIDDLE, MIDDLE)[0].kind == "clay"
    assert soil_column(layers.soils, MIDDLE + 12.0, MIDDLE)[0].kind == "topsoil"


def test_of_a_site_with_one_pit_most_is_untold():
    pit = {"place": at(MIDDLE + 15.0, MIDDLE), "layers": [{"kind": "silt"}]}
    _, layers, found = stages(job(soils={"pit": pit}))

    assert 0.25 < layers.untold_share < 1.0
    assert grades(found, "site.soil_untold") == [Grade.LOOK]


def test_a_probe_off_the_plan_is_told_and_left_out():
    _, layers, found = stages(job(probes={"far": rod(900.0, 900.0, ("muck", 0.3)), **floor_rods(0.4)}))

    assert "far" not in layers.probes
    assert "off the plan" in found["site.probe_outside"][0].says


def test_a_probe_beyond_the_survey_is_told():
    _, layers, found = stages(job(probes={"out": rod(MIDDLE + 19.5, MIDDLE, ("silt", 0.3), how="pit")}))

    assert layers.probes["out"].guessed
    assert "beyond the survey" in found["site.probe_outside"][0].says


def test_a_probe_that_tells_nothing_is_told():
    _, _, found = stages(job(probes={"bare": rod(MIDDLE, MIDDLE)}))

    assert grades(found, "site.probe_empty") == [Grade.LOOK]


def test_a_probe_that_is_to_be_removed_counts_no_more():
    _, layers, _ = stages(job(probes={"p": rod(MIDDLE, MIDDLE, ("muck", 0.4), status="remove")}))

    assert layers.muck.spot_count == 0 and not layers.probes


def test_without_ground_the_layers_wait():
    run = api.compute(job({}, probes=floor_rods(0.4)), only="site.layers")

    assert run.stages["site.layers"].status is Status.WAITING
