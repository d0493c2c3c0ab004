"""Edits: what they touch changes, everything else stays the same object, and undo is exact."""

import json

from hypothesis import given
from hypothesis import strategies as st

from pondwright.base.errors import DocumentError
from pondwright.base.findings import Op
from pondwright.job.codec import dumps, loads
from pondwright.job.edits import Edit, apply, inverse, plain_edit, read_edit
from tests.strategies import IDS, bank_types, jobs, numbers, ponds, rings

SECTIONS = ("site", "shape", "build_up", "circulation", "catalogue", "rules", "brief")
MAPS = ("marks", "books", "shots", "lines", "clouds", "soils", "things", "underlays")


def ops(word, pointers, values):
    """Operations of one word, by strategies of pointers and values."""
    pointers = st.just(pointers) if isinstance(pointers, str) else pointers
    return st.builds(Op, st.just(word), pointers, values)


def sound_ops(job):
    """Operations that fit a job made by the strategies."""
    shots = st.sampled_from([f"/site/shots/{name}" for name in sorted(job.site.shots)])
    placed = st.builds(lambda east: {"by": "coordinates", "east": east, "north": 0.0}, numbers(-9, 9))
    return st.one_of(
        ops("replace", shots.map("{}/elevation".format), numbers(20, 40)),
        ops("remove", shots.map("{}/elevation".format), st.none()),
        ops("replace", shots.map("{}/place".format), placed),
        ops("add", IDS.map("/site/shots/{}".format), st.builds(lambda place: {"place": place}, placed)),
        ops("replace", "/name", st.text(max_size=10).filter(str.isprintable)),
        ops("remove", st.sampled_from(["/site/lines", "/site/soils/meadow", "/brief"]), st.none()),
        ops("remove", "/shape/bodies/pond/stretches", st.none()),
        ops("add", IDS.map("/shape/bank_types/{}".format), bank_types()),
        ops("add", IDS.map("/shape/bodies/{}2".format), ponds()),
        ops("replace", "/shape/bodies/pond/level", numbers(20, 40)),
        ops("add", "/shape/bodies/pond/islands/isle", rings(radius=1.0).map(lambda pegs: {"pegs": pegs})),
        ops("replace", "/shape/slopes/cut", numbers(1, 4)),
        ops("add", IDS.map("/catalogue/gravel/facts/{}".format), numbers(0, 9)),
        ops("add", "/rules/shape.freeboard", st.just({"limit": 0.2, "reason": "walled", "by": "A. B."})),
        ops("test", "/id", st.just(job.id)),
    )


@st.composite
def jobs_with_edits(draw):
    """A job, and an edit of several operations that fits it."""
    job = draw(jobs())
    several = draw(st.lists(sound_ops(job), min_size=1, max_size=6))
    return job, Edit("e1", 0, tuple(several), "several things")


def fits(job, edit):
    """Whether an edit can be applied: two sound operations may not go together."""
    try:
        apply(job, edit)
    except DocumentError:
        return False
    return True


@given(jobs_with_edits())
def test_an_edit_and_its_inverse_give_the_same_job_and_the_same_text(case):
    job, edit = case
    if not fits(job, edit):
        return

    back = apply(apply(job, edit), inverse(job, edit))

    assert back == job
    assert dumps(back) == dumps(job)
    assert list(back.site.shots) == list(job.site.shots)


@given(jobs_with_edits())
def test_an_edited_job_is_the_job_that_its_file_gives(case):
    job, edit = case
    if not fits(job, edit):
        return

    edited = apply(job, edit)

    assert loads(dumps(edited)) == edited


@given(jobs_with_edits())
def test_what_an_edit_does_not_touch_stays_the_same_object(case):
    job, edit = case
    if not fits(job, edit):
        return

    edited = apply(job, edit)

    touched = [op.path for op in edit.ops]
    for section in SECTIONS:
        if not any(path.startswith(f"/{section}") for path in touched):
            assert getattr(edited, section) is getattr(job, section)
    for name in MAPS:
        if not any(path.startswith(f"/site/{name}") for path in touched):
            assert getattr(edited.site, name) is getattr(job.site, name)
    for name, shot in job.site.shots.items():
        if not any(path.startswith(f"/site/shots/{name}") for path in touched):
            assert edited.site.shots[name] is shot


@given(jobs_with_edits())
def test_an_edit_goes_through_its_plain_form(case):
    _, edit = case

    assert read_edit(json.loads(json.dumps(plain_edit(edit)))) == edit


VALUES = st.recursive(
    st.none() | st.booleans() | st.floats() | st.integers() | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(IDS | st.text(max_size=3), inner, max_size=3),
    max_leaves=6,
)
POINTERS = st.lists(
    st.sampled_from(
        [*SECTIONS, *MAPS, "s0", "place", "elevation", "toe", "bodies", "pond", "level", "0", "a~1b"]
    )
    | st.text(max_size=4),
    max_size=6,
).map(lambda tokens: "/" + "/".join(tokens))


@given(jobs(), st.sampled_from(["add", "remove", "replace", "test", "move"]), POINTERS, VALUES)
def test_any_edit_gives_a_sound_job_or_one_document_error(job, word, pointer, value):
    try:
        edited = apply(job, Edit("e1", 0, (Op(word, pointer, value),)))
    except DocumentError as error:
        assert error.faults
        assert all(fault.rule and fault.path for fault in error.faults)
    else:
        assert loads(dumps(edited)) == edited


@given(VALUES)
def test_anything_that_is_no_edit_is_refused_with_its_faults(plain):
    try:
        read_edit(plain)
    except DocumentError as error:
        assert error.faults
