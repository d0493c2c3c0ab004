"""Whatever is told of a lining, its stages give an answer, and nothing in it is out of all bounds."""

import dataclasses
import json
import math
from collections.abc import Mapping
from functools import cache

from hypothesis import given
from hypothesis import strategies as st

from pondwright.base.figures import figures_of
from pondwright.examples import GARDEN, example_text
from pondwright.flow.engine import Status, advance
from pondwright.flow.stages import STAGES
from pondwright.job.codec import loads
from pondwright.job.log import Log
from tests.strategies import numbers

GIVEN = json.loads(example_text(GARDEN))
PEGS = [peg["id"] for peg in GIVEN["shape"]["bodies"]["pond"]["outline"]["curve"]["pegs"]]
NAMES = ("lining.order", "lining.rim")

POINTS = st.fixed_dictionaries({"east": numbers(-5.0, 40.0), "north": numbers(-5.0, 40.0)})
SPOTS = POINTS.map(lambda point: {"at": "point", **point})
LINES = st.lists(POINTS, min_size=2, max_size=4).map(lambda points: {"at": "line", "points": points})
STRETCHES = st.tuples(st.sampled_from(PEGS), st.sampled_from(PEGS)).map(
    lambda ends: {"at": "stretch", "body": "pond", "start": ends[0], "end": ends[1]}
)
STOCKS = st.fixed_dictionaries({"width": numbers(1.5, 8.0), "length": numbers(2.0, 60.0)})
LINERS = st.fixed_dictionaries(
    {
        "bodies": st.just(["pond"]),
        "one_piece": st.booleans(),
        "parts": st.booleans(),
        "stock": st.lists(STOCKS, max_size=3),
        "margin": numbers(0.0, 3.0),
        "seam": numbers(0.05, 1.0),
        "ordered": st.sampled_from(["before", "after"]),
    }
)
EDGES = st.fixed_dictionaries(
    {
        "place": STRETCHES,
        "detail": st.sampled_from(["upturn", "anchor", "wall"]),
        "height": numbers(0.0, 1.0),
        "upturn": numbers(0.0, 1.0),
        "capillary_break": st.booleans(),
    }
)
PIPES = st.fixed_dictionaries(
    {"place": SPOTS, "diameter": numbers(0.05, 0.5), "over": st.sampled_from(["no", "could", "not_asked"])}
)
LININGS = st.fixed_dictionaries(
    {
        "liners": st.dictionaries(st.just("pond"), LINERS),
        "edges": st.dictionaries(st.sampled_from(["a", "b"]), EDGES),
        "penetrations": st.dictionaries(st.sampled_from(["p", "q"]), PIPES),
        "patches": st.dictionaries(
            st.just("one"), st.fixed_dictionaries({"place": SPOTS, "size": numbers(0.1, 9.0)})
        ),
        "tapes": st.dictionaries(
            st.sampled_from(["t", "u"]),
            st.fixed_dictionaries({"place": LINES, "taped": st.none() | numbers(1.0, 60.0)}),
        ),
        "guards": st.dictionaries(
            st.sampled_from(["g", "h"]),
            st.fixed_dictionaries(
                {
                    "kind": st.sampled_from(["root", "burrow"]),
                    "place": LINES | STRETCHES,
                    "depth": numbers(0.1, 2.0),
                }
            ),
        ),
        "pull": st.fixed_dictionaries(
            {"people": st.none() | st.integers(0, 60), "wind": st.none() | numbers(0.0, 30.0)}
        ),
    }
)


def wanted():
    names = set(NAMES)
    for stage in reversed(STAGES):
        if stage.name in names:
            names.update(stage.needs)
    return tuple(stage for stage in STAGES if stage.name in names)


@cache
def garden():
    """The garden before any lining is told."""
    return advance(wanted()[:-2], None, loads(json.dumps(GIVEN)), Log(), "settle")


def values(result):
    """All figures of a result, however deep."""
    for name in figures_of(result):
        yield getattr(result, name)
    for field in dataclasses.fields(result):
        inner = getattr(result, field.name)
        rows = (
            inner.values() if isinstance(inner, Mapping) else inner if isinstance(inner, tuple) else (inner,)
        )
        for row in rows:
            if dataclasses.is_dataclass(row):
                yield from values(row)


@given(LININGS, st.none() | numbers(0.05, 0.6))
def test_any_lining_is_ordered_and_its_edge_walked(lining, fall):
    first = garden()
    level = first.results.shape.shore.bodies["pond"].level
    document = {**GIVEN, "lining": lining}
    if fall is not None:
        pond = {**GIVEN["shape"]["bodies"]["pond"], "low_level": level - fall}
        document["shape"] = {**GIVEN["shape"], "bodies": {"pond": pond}}

    run = advance(wanted(), first, loads(json.dumps(document)), Log(), "settle")

    for name in NAMES:
        state = run.stages[name]
        assert state.status is Status.FRESH, state.findings
        assert all(value is None or math.isfinite(value) for value in values(state.result))
        assert all(finding.says.endswith(".") for finding in state.findings)
    order = run.results.lining.order.liners["pond"]
    assert order.ordered_area >= run.results.lining.area.liners["pond"].area
    assert order.reused_area <= order.offcut_area + 1e-9
