"""Strategies that the property tests share: ponds, and whole small jobs around them.

A job is made as plain JSON values and read like a file, so that everything it holds has come
through the front door.
"""

import json
import math

from hypothesis import strategies as st

from pondwright.job.codec import loads

IDS = st.from_regex(r"[a-z][a-z0-9_]{0,7}", fullmatch=True)
WORDS = st.text(st.characters(exclude_categories=("Cs",)), max_size=12)


def numbers(low, high):
    """Numbers of a range, rounded to the tenth of a millimetre as a survey would give them."""
    return st.floats(low, high).map(lambda value: round(value, 4))


@st.composite
def rings(draw, east=0.0, north=0.0, radius=8.0):
    """Pegs of a closed shoreline that goes once round its middle without crossing itself."""
    count = draw(st.integers(3, 12))
    reaches = draw(st.lists(numbers(0.5, 1.0), min_size=count, max_size=count))
    corners = draw(st.lists(st.booleans(), min_size=count, max_size=count))
    return [
        {
            "id": f"p{index}",
            "east": round(east + radius * reach * math.cos(2 * math.pi * index / count), 4),
            "north": round(north + radius * reach * math.sin(2 * math.pi * index / count), 4),
            "corner": corner,
        }
        for index, (reach, corner) in enumerate(zip(reaches, corners, strict=True))
    ]


@st.composite
def bank_types(draw):
    """A bank that goes inward and down from the water's edge, with risers and shelves."""
    steps = draw(st.lists(st.tuples(numbers(0.0, 2.0), numbers(0.0, 0.8)), min_size=1, max_size=6))
    points = [{"distance": 0.0, "depth": 0.0}]
    for across, down in steps:
        last = points[-1]
        points.append({"distance": last["distance"] + across, "depth": last["depth"] + down})
    return {"points": points}


@st.composite
def ponds(draw, bank_type=None, level=None):
    """A pond inside one ring, as plain JSON values of a body."""
    pegs = draw(rings())
    pond = {"outline": {"form": "ring", "curve": {"pegs": pegs}}, "bank_type": bank_type, "level": level}
    if bank_type and draw(st.booleans()):
        start, end = draw(st.permutations([peg["id"] for peg in pegs]))[:2]
        pond["stretches"] = {"one": {"start": start, "end": end, "bank_type": bank_type}}
    return pond


@st.composite
def shots(draw):
    """Shots of a gently sloping meadow, enough of them for a surface."""
    count = draw(st.integers(4, 12))
    fall = draw(numbers(-0.05, 0.05))
    noise = draw(st.lists(numbers(-0.05, 0.05), min_size=count, max_size=count))
    places = [(10.0 * (index % 4) - 15.0, 10.0 * (index // 4) - 15.0) for index in range(count)]
    return {
        f"s{index}": {
            "place": {"by": "coordinates", "east": east, "north": north},
            "elevation": round(30.0 + fall * north + bump, 4),
        }
        for index, ((east, north), bump) in enumerate(zip(places, noise, strict=True))
    }


@st.composite
def job_trees(draw):
    """A small sound job as plain JSON values."""
    banks = draw(st.dictionaries(IDS, bank_types(), max_size=2))
    bank = draw(st.sampled_from(sorted(banks))) if banks else None
    found = draw(shots())
    line = draw(st.lists(st.sampled_from(sorted(found)), min_size=2, max_size=4, unique=True))
    return {
        "format": 1,
        "id": draw(IDS),
        "name": draw(WORDS),
        "shown_units": draw(st.sampled_from(["us", "us_inch", "metric"])),
        "site": {
            "marks": {"bm": {"place": {"at": "point", "east": 0.0, "north": 0.0}, "elevation": 30.0}},
            "shots": found,
            "lines": draw(st.sampled_from([{}, {"toe": {"kind": "break", "shots": line}}])),
            "soils": {"meadow": {"place": {"at": "whole"}, "layers": [{"kind": "clay"}]}},
        },
        "shape": {
            "bodies": {"pond": draw(ponds(bank, draw(st.none() | numbers(29.0, 30.5))))},
            "bank_types": banks,
            "berms": draw(st.sampled_from([{}, {"bank": {"body": "pond", "freeboard": 0.4}}])),
        },
        "catalogue": {"gravel": {"kind": "gravel", "facts": {"size": 0.02, "colour": draw(WORDS)}}},
        "build_up": {
            "floor": {
                "place": {"at": "whole", "body": "pond"},
                "layers": [{"item": "gravel", "thickness": 0.1}],
            }
        },
        "brief": {"client": draw(WORDS), "texts": draw(st.dictionaries(IDS, WORDS, max_size=2))},
    }


def jobs():
    """Small sound jobs."""
    return job_trees().map(lambda tree: loads(json.dumps(tree)))
