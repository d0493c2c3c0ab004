"""Broken job files: each gives one error that a builder can read, and nothing else is raised."""

import copy
import json
from pathlib import Path

from hypothesis import given
from hypothesis import strategies as st

from pondwright.base.errors import DocumentError
from pondwright.job.codec import dumps, loads
from tests.strategies import job_trees, jobs

OLD_FILE = Path(__file__).resolve().parents[1] / "old_files/format_1.pond.json"
JARGON = (
    "pydantic",
    "input",
    "tag",
    "instance",
    "union",
    "tuple",
    "dict",
    "NoneType",
    "Traceback",
    "validat",
)
NASTY = (
    None,
    True,
    False,
    -1,
    0,
    1e308,
    10**400,
    float("nan"),
    float("inf"),
    "",
    "text",
    "\ud800",
    "\x00",
    "2026-02-30",
    [],
    [[]],
    [None] * 3,
    {},
    {"at": "nowhere"},
    {"by": 3},
    {"form": None},
    {"a": {"a": {}}},
)


def places_in(tree, path=()):
    """Paths of all values in a tree of plain JSON values."""
    yield path
    children = tree.items() if isinstance(tree, dict) else enumerate(tree) if isinstance(tree, list) else ()
    for key, child in children:
        yield from places_in(child, (*path, key))


def changed(tree, path, change):
    """Copy of a tree in which the container of a path was changed at its last step."""
    tree = copy.deepcopy(tree)
    holder = tree
    for step in path[:-1]:
        holder = holder[step]
    change(holder, path[-1])
    return tree


@st.composite
def broken_trees(draw):
    """A sound job in which one to three values were replaced, removed or added."""
    tree = draw(job_trees())
    for _ in range(draw(st.integers(1, 3))):
        paths = [path for path in places_in(tree) if path]
        path = draw(st.sampled_from(paths))
        nasty = draw(st.sampled_from(NASTY))
        name = draw(st.sampled_from(["extra", "Bad Id", "", "elevatoin", "at"]))

        def add(holder, key, name=name, nasty=nasty):
            holder[key] = {**holder[key], name: nasty} if isinstance(holder[key], dict) else nasty

        def put(holder, key, nasty=nasty):
            holder[key] = nasty

        def drop(holder, key):
            del holder[key]

        tree = changed(tree, path, draw(st.sampled_from([add, put, drop])))
    return tree


def assert_sound_or_clear(text):
    """Read a text; if it is refused, the refusal must be fit for a person."""
    try:
        job = loads(text)
    except DocumentError as error:
        said = str(error)
        assert error.says and "\n" not in error.says
        assert all(fault.rule for fault in error.faults)
        rules = " ".join(fault.rule for fault in error.faults) + error.says
        assert not [word for word in JARGON if word in rules], said
    else:
        assert loads(dumps(job)) == job


def containers_in(tree):
    """Every object and list of a tree, with each of its keys."""
    for path in list(places_in(tree)):
        if path:
            holder = tree
            for step in path[:-1]:
                holder = holder[step]
            yield holder, path[-1]


def test_any_value_of_a_file_may_be_of_any_broken_form():
    tree = json.loads(OLD_FILE.read_text(encoding="utf-8"))
    tries = 0

    for turn, (holder, key) in enumerate(list(containers_in(tree))):
        sound = holder[key]
        for nasty in NASTY[turn % 4 :: 4]:
            holder[key] = nasty
            assert_sound_or_clear(json.dumps(tree))
            tries += 1
        holder[key] = sound

    assert tries > 2_000


def test_any_entry_of_a_file_may_be_missing_or_misspelt():
    tree = json.loads(OLD_FILE.read_text(encoding="utf-8"))

    for holder, key in list(containers_in(tree)):
        if isinstance(holder, dict):
            sound = holder.pop(key)
            assert_sound_or_clear(json.dumps(tree))
            holder[f"{key}x"] = sound
            assert_sound_or_clear(json.dumps(tree))
            holder[key] = holder.pop(f"{key}x")


@given(broken_trees())
def test_a_broken_job_is_refused_in_clear_words(tree):
    assert_sound_or_clear(json.dumps(tree))


@given(job_trees(), st.data())
def test_a_damaged_text_is_refused_in_clear_words(tree, data):
    raw = json.dumps(tree).encode()
    at = data.draw(st.integers(0, len(raw)))
    cut = data.draw(st.integers(0, 20))
    put = data.draw(
        st.binary(max_size=6) | st.sampled_from([b"{", b"]", b'"', b",", b"NaN", b"1e999", b"\\u"])
    )

    assert_sound_or_clear(raw[:at] + put + raw[at + cut :])


@given(st.binary(max_size=200) | st.text(max_size=100))
def test_any_text_at_all_is_refused_in_clear_words(text):
    assert_sound_or_clear(text)


@given(jobs())
def test_canonical_text_is_read_back_to_the_same_job_and_text(job):
    text = dumps(job)

    assert loads(text) == job
    assert dumps(loads(text)) == text


@given(job_trees(), st.randoms(use_true_random=False))
def test_the_order_of_names_in_a_file_changes_nothing(tree, random):
    def shuffled(value):
        if isinstance(value, dict):
            names = list(value)
            random.shuffle(names)
            return {name: shuffled(value[name]) for name in names}
        return [shuffled(item) for item in value] if isinstance(value, list) else value

    other = loads(json.dumps(shuffled(tree)))

    assert dumps(other) == dumps(loads(json.dumps(tree)))
    assert list(other.site.shots) == list(loads(json.dumps(tree)).site.shots)
