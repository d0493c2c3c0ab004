"""A small invented job with a shelved round pond that the tests of stone share."""

from tests.unit.shape.ponds import Computed, job_values, pegs

SHELVED = [(0.0, 0.0), (0.0, 0.3), (0.8, 0.3), (0.8, 0.7), (1.6, 0.7), (3.0, 1.3)]
"""Steps of 0.30 m at the shore and of 0.40 m at 0.8 m; zones: step, shelf, step, shelf, slope, floor."""

PLAIN = [(0.0, 0.0), (3.0, 1.0)]


def bank(points):
    return {"points": [{"distance": distance, "depth": depth} for distance, depth in points]}


def values(**stone):
    """The pond with both kinds of bank and a gravel in the catalogue; what is given of stone."""
    found = job_values(fall=0.0, radius=8.0, nodes=121)
    found["shape"]["bank_types"] = {"shelved": bank(SHELVED), "plain": bank(PLAIN)}
    found["shape"]["bodies"]["pond"]["bank_type"] = "shelved"
    found["catalogue"] = {
        "gravel_a": {"kind": "gravel", "facts": {"size": 0.03}},
        "liner_a": {"kind": "membrane"},
    }
    found["stone"] = stone
    return found


def with_brook(found):
    """A brook beside it with two falls."""
    found["shape"]["bodies"]["brook"] = {
        "role": "stream",
        "rank": 1,
        "level": 100.0,
        "outline": {
            "form": "corridor",
            "curve": {"pegs": [{"id": f"s{k}", "east": 2.0, "north": 4.0 + 4.0 * k} for k in range(5)]},
            "widths": [1.0] * 5,
            "steps": [{"distance": 10.0, "drop": 0.4}, {"distance": 5.0, "drop": 0.3}],
        },
    }
    return found


def isle(found):
    """An island in the middle of the pond."""
    found["shape"]["bodies"]["pond"]["islands"] = {"isle": {"pegs": pegs(1.2, prefix="i", count=6)}}
    return found


def stone_class(low, high, **more):
    return {"low": low, "high": high, **more}


def treatment(kind, place, *classes, **more):
    shares = [{"stone": stone, "share": share} for stone, share in classes]
    return {"kind": kind, "place": place, "classes": shares, **more}


POND = {"at": "whole", "body": "pond"}


def part(zone):
    return {"at": "part", "body": "pond", "zone": zone}


def stretch(start, end, ring="outer"):
    return {"at": "stretch", "body": "pond", "ring": ring, "start": start, "end": end}


def takeoff(found):
    """The takeoff of a job, with its findings."""
    return Computed(found, "stone.takeoff")


def net_storage(found):
    """The net storage of a job, with its findings."""
    return Computed(found, "stone.net_storage")
