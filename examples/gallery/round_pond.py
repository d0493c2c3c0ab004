"""A round pond whose water can be counted by hand, as a cone without its tip.

Radius 6 m, 2 across for 1 down, floor 1.5 m deep: on the floor the radius is 3 m, and the water is
π h (R² + R r + r²) / 3.  The job is invented.  Run it with `python examples/gallery/round_pond.py`.
"""

import json
import math

from pondwright import api
from pondwright.job.codec import loads

RADIUS, SLOPE, DEPTH = 6.0, 2.0, 1.5


def on_circle(count: int, radius: float) -> list[dict[str, float]]:
    """Places evenly round the middle."""
    turns = [2.0 * math.pi * place / count for place in range(count)]
    return [{"east": radius * math.cos(turn), "north": radius * math.sin(turn)} for turn in turns]


lawn = {
    f"s{place}": {"place": {"by": "coordinates", **spot}, "elevation": 20.0}
    for place, spot in enumerate([*on_circle(12, 14.0), {"east": 0.0, "north": 0.0}])
}
pegs = [{"id": f"p{place}", **spot} for place, spot in enumerate(on_circle(24, RADIUS))]
bank = [{"distance": 0.0, "depth": 0.0}, {"distance": SLOPE * DEPTH, "depth": DEPTH}]
job = {
    "format": 1,
    "id": "round",
    "name": "Round pond",
    "demo": True,
    "site": {"shots": lawn},
    "shape": {
        "bank_types": {"even": {"points": bank}},
        "bodies": {"pond": {"bank_type": "even", "outline": {"form": "ring", "curve": {"pegs": pegs}}}},
    },
}
run = api.compute(loads(json.dumps(job)))
volume = run.results.shape.storage.bodies["pond"].volume
floor = RADIUS - SLOPE * DEPTH
by_hand = math.pi * DEPTH * (RADIUS**2 + RADIUS * floor + floor**2) / 3.0
print(f"by hand {by_hand:.2f} m³, by pondwright {volume:.2f} m³")

assert abs(volume - by_hand) < 0.001 * by_hand
