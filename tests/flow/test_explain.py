"""Every figure tells where it comes from, and an input that it lists really moves it."""

import copy
import dataclasses

import numpy as np
import pytest

from pondwright import api
from pondwright.base.errors import DomainError
from pondwright.base.figures import figures_of
from pondwright.base.findings import Op
from pondwright.base.kinds import BULK_MASS, LENGTH, SOIL_VOLUME
from pondwright.flow.differences import job_differences, moved_figures
from pondwright.flow.engine import advance
from pondwright.flow.explain import method_of, sections_behind
from pondwright.flow.results import bindings, entries, expanded, figures, value_at
from pondwright.flow.stages import STAGES, stages_for
from pondwright.flow.words import change_in_words, in_words
from pondwright.job.edits import Edit
from pondwright.job.log import Log


def test_every_path_that_a_figure_uses_exists(runs):
    for run in runs.values():
        for figure in figures(run):
            for use in figure.figure.uses:
                assert isinstance(expanded(run, use, bindings(run, figure.path)), list), (figure.path, use)


def everywhere(value, path):
    """Figures found by a walk through all that a result holds."""
    told = figures_of(value) if dataclasses.is_dataclass(value) else {}
    for name, item in entries(value).items():
        if name in told:
            yield f"{path}.{name}"
        else:
            yield from everywhere(item, f"{path}.{name}")


def test_no_figure_is_overlooked(runs):
    for run in runs.values():
        walked = [path for name, state in run.stages.items() for path in everywhere(state.result, name)]
        assert sorted(each.path for each in figures(run)) == sorted(walked)


def test_every_figure_of_the_examples_can_be_explained(runs):
    for run in runs.values():
        for figure in figures(run):
            found = api.explain(run, figure.path)
            assert found.says and found.stage == figure.stage
            assert found.method is None or found.method.summary


def test_an_explanation_tells_method_source_and_inputs(runs):
    found = api.explain(runs["larkmeadow"], "shape.storage.bodies.pond.volume_development")

    assert found.method.name == "rooms.shape.figures.volume_development"
    assert "3 mean / greatest" in found.method.formula
    assert "Hutchinson" in found.method.references[0]
    assert [each.path for each in found.inputs] == [
        "shape.storage.bodies.pond.mean_depth",
        "shape.storage.bodies.pond.greatest_depth",
    ]


def test_an_explanation_tells_the_defaults_among_its_inputs(runs):
    found = api.explain(runs["larkmeadow"], "site.uncertainty.sigma_typical")

    assert [default.path for default in found.defaults] == ["site.shots.*.sigma"]
    assert found.defaults[0].count > 100


def changed(job, path, value):
    pointer = "/" + path.replace(".", "/")
    return api.edit(job, Edit("nudge", 0, (Op("replace", pointer, value),)))


def test_an_explanation_tells_what_moved_a_figure(examples, runs):
    before = runs["larkmeadow"]
    level = examples["larkmeadow"].shape.bodies["pond"].level
    job = changed(changed(examples["larkmeadow"], "shape.bodies.pond.level", level + 0.1), "name", "B")

    found = api.explain(api.compute(job, after=before), "shape.storage.bodies.pond.lip", before)

    assert [change.path for change in found.moved_by] == ["shape.bodies.pond.level"]
    assert found.value > found.before


def test_a_value_of_the_document_tells_its_help(runs):
    found = api.explain(runs["larkmeadow"], "shape.bodies.pond.level")

    assert (found.kind.name, found.stage, found.method) == ("elevation", None, None)
    assert found.says


@pytest.mark.parametrize(
    ("path", "says"),
    [
        pytest.param("shape.storage.bodies.pnd.volume", "`pond`", id="a wrong id"),
        pytest.param("shape.stor", "`storage`", id="a wrong stage"),
        pytest.param("shap", "`shape`", id="a wrong beginning"),
        pytest.param("site.ground.lowest.deeper", "nothing stands", id="beyond a number"),
    ],
)
def test_a_wrong_path_tells_what_is_there(runs, path, says):
    with pytest.raises(DomainError, match=says):
        value_at(runs["larkmeadow"], path)


def test_sections_behind_a_stage_are_those_of_all_it_needs():
    assert {"site.shots", "shape.bank_types", "build_up"} <= set(sections_behind(STAGES, "earth.soil"))


def test_a_docstring_without_sections_is_only_a_summary():
    def plain():
        """Nothing but
        a summary."""

    assert dataclasses.astuple(method_of(plain))[1:] == ("Nothing but a summary.", "", ())


def nudged_jobs(run):
    """Jobs in which one input differs, by its path: heights and sigmas of shots, level, shore."""
    job, ids = run.job, run.results.site.ground.shots.ids
    told = run.results.site.ground
    for shot in {told.lowest_shot, told.highest_shot, *ids[:: max(1, len(ids) // 3)]}:
        height = float(told.shots.elevations[ids.index(shot)])  # typed, or from the level books
        for value in (height + 0.15, height - 0.15, None):
            yield f"site.shots.{shot}.elevation", changed(job, f"site.shots.{shot}.elevation", value)
        yield f"site.shots.{shot}.sigma", changed(job, f"site.shots.{shot}.sigma", 0.05)
    level = run.results.shape.shore.bodies["pond"].level
    for rise in (-0.3, 0.3):
        yield "shape.bodies.pond.level", changed(job, "shape.bodies.pond.level", level + rise)
    outline = job.shape.bodies["pond"].outline.model_dump(mode="json")
    pegs = range(len(outline["curve"]["pegs"]))
    whole = [(pegs, shift) for shift in (-16.0, -8.0, 8.0, 16.0)]
    for places, shift in [*(((place,), 0.4) for place in pegs[::4]), *whole]:
        moved = copy.deepcopy(outline)
        for place in places:
            moved["curve"]["pegs"][place]["east"] += shift
        yield "shape.bodies.pond.outline", changed(job, "shape.bodies.pond.outline", moved)


def listed(figure, path):
    """Whether a figure lists a path of the document itself."""

    def fits(use):
        return all(one in (name, "*") for name, one in zip(path.split("."), use.split("."), strict=False))

    return any(fits(use) for use in figure.figure.uses)


def test_a_nudged_input_moves_each_figure_that_lists_it_in_some_example(examples, runs):
    """A figure that has no value, such as one of an offer that was refused, cannot move."""
    wanted, moved = set(), set()
    for name in examples:
        for path, other in nudged_jobs(runs[name]):
            field = path.rpartition(".")[2]
            told = (each for each in figures(runs[name]) if listed(each, path) and each.value is not None)
            listing = {(each.path, field) for each in told}
            wanted |= listing
            still = listing - moved
            behind = {stage.name for figure, _ in still for stage in stages_for(figure)}
            table = [stage for stage in STAGES if stage.name in behind]
            again = advance(table, runs[name], other, Log(), "background")
            changes = moved_figures(runs[name], again)
            moved |= still & {(change.path, field) for change in changes}

    assert wanted - moved == set()


def test_two_equal_jobs_do_not_differ(examples):
    assert job_differences(examples["larkmeadow"], examples["larkmeadow"]) == ()


def test_a_comparison_tells_the_change_and_what_moved(examples):
    job = examples["dozen_shots"]

    found = api.compare(job, changed(job, "shape.slopes.fill", 2.5))

    assert [change.path for change in found.document] == ["shape.slopes.fill"]
    assert found.words[0].startswith("shape.slopes.fill")


@pytest.mark.parametrize(
    ("value", "kind", "shown", "words"),
    [
        pytest.param(0.5, LENGTH, "metric", "0.50 m", id="a length"),
        pytest.param(None, LENGTH, "us", "nothing", id="nothing"),
        pytest.param(True, None, "us", "yes", id="a yes"),
        pytest.param(float("inf"), LENGTH, "us", "inf", id="no finite number"),
        pytest.param(np.zeros((2, 3)), LENGTH, "metric", "2 × 3 values from 0.00 m to 0.00 m", id="array"),
        pytest.param(7.64554857984, SOIL_VOLUME, "us", "10.0 yd³", id="soil by the yard"),
        pytest.param(2000.0, BULK_MASS, "metric", "2.00 t", id="soil by the tonne"),
    ],
)
def test_values_in_words(value, kind, shown, words):
    assert in_words(value, kind, shown) == words


def test_a_new_row_is_told_as_new(examples):
    job = examples["dozen_shots"]
    bare = api.edit(job, Edit("drop", 0, (Op("remove", f"/site/shots/{next(iter(job.site.shots))}"),)))

    (change,) = job_differences(bare, job)

    assert " is new: " in change_in_words(change, "metric")
