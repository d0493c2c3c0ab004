"""Water in the ground of Larkmeadow: where it was read, the relief drain, and how the old pond is emptied.

Everything here is invented; only the answers are the model's own.
"""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Any

from examples.make.larkmeadow_ground import along, curve, metres, place_at, point
from examples.make.larkmeadow_probes import PIPES

INVENTED = "Invented for this example."
GALLON_A_MINUTE = 231.0 * 0.0254**3 / 60.0
"""A US gallon a minute [m³/s]."""
WET_LEVELS = {"sp1": 99.1, "sp2": 96.6, "sp3": 91.8}
"""Where the standpipes stood in the wet season; the dry season is that of the probes [ft]."""
SEEP = place_at(315.0, 0.742)
"""Where the old bank is as high as the seep, at its north-west corner."""
SEEP_LEVEL, SEEP_FLOWS = 96.2, (4.0, 14.0)
"""Level of the seep [ft], and its flow in the dry and in the wet season [gpm]."""
OLD_POND = (92.6, 94.3)
"""Water in the old pond, in the dry and in the wet season [ft]."""
NORTH_EDGE = ((18.0, 46.0), (-6.0, 36.0))
"""Where the relief drain begins, along the uphill edge of the new pond, on its way to the seep."""
CULVERT, CULVERT_BOTTOM, FLOOD = (-45.0, -109.0), 88.4, 89.6
SLOTTED = 60.0
"""Length of slotted pipe on hand [ft]."""
SIX_INCHES = metres(0.5)


def groundwater() -> dict[str, Any]:
    """The whole section of the job."""
    return {
        "readings": readings(),
        "drains": drains(),
        "outlets": {
            "culvert": {
                "name": "Culvert under the lane, 12 in",
                "status": "existing",
                "place": point(*CULVERT),
                "invert": metres(CULVERT_BOTTOM),
                "flood": metres(FLOOD),
            }
        },
        "pipes": {
            "left_over": {
                "name": "New 6 in slotted pipe behind the shed",
                "note": "Left over from a field drain.",
                "status": "existing",
                "length": metres(SLOTTED),
                "diameter": SIX_INCHES,
            }
        },
        "gravels": {
            "washed": {"name": "Washed gravel", "note": INVENTED, **_grains(4.0, 8.0, 14.0, 19.0, 0.01)}
        },
        "soil_grains": {
            "silt": {"name": "Clayey silt", "note": INVENTED, **_grains(0.004, 0.025, 0.09, 2.0, 0.82)},
            "sand": {"name": "Sandy seam", "note": INVENTED, **_grains(0.11, 0.28, 0.65, 4.0, 0.09)},
        },
        "fabrics": {
            "sock": {
                "name": "Needled fabric",
                "note": INVENTED,
                "opening": 0.00018,
                "permittivity": 1.2,
                "strength": 2,
            }
        },
        "building": {
            "pumps": {
                "hired": {
                    "name": "Hired trash pump",
                    "note": INVENTED,
                    "flow": _flow(120.0),
                    "day": 9 * 3600.0,
                },
                "spare": {
                    "name": "Small pump of the firm",
                    "note": INVENTED,
                    "flow": _flow(40.0),
                    "day": 9 * 3600.0,
                },
            },
            "goes": "Through a silt bag into the swale; the township allowed it by telephone (invented).",
        },
    }


def readings() -> dict[str, Any]:
    """Three standpipes, the seep, the old pond and the swale."""
    pipes = {
        name: {
            "kind": "standpipe",
            "name": says,
            "place": point(*place_at(bearing, beyond=beyond)),
            "dry": metres(dry),
            "wet": metres(WET_LEVELS[name]),
            "status": "existing",
        }
        for name, (says, (bearing, beyond), dry, _layers) in PIPES.items()
    }
    return {
        **pipes,
        "seep": {
            "kind": "seep",
            "name": "Seep at the north-west corner",
            "note": "Runs all year; iron 0.4 mg/L.",
            "place": point(*SEEP),
            "dry": metres(SEEP_LEVEL),
            "wet": metres(SEEP_LEVEL),
            "sigma": metres(0.4),
            "dry_flow": _flow(SEEP_FLOWS[0]),
            "wet_flow": _flow(SEEP_FLOWS[1]),
            "status": "existing",
        },
        "old_pond": {
            "kind": "pond",
            "name": "The old pond",
            "place": {
                "at": "ring",
                "curve": curve("o", [place_at(30.0 * step, 0.95) for step in range(12)]),
            },
            "dry": metres(OLD_POND[0]),
            "wet": metres(OLD_POND[1]),
            "status": "remove",
        },
        "swale": {
            "kind": "ditch",
            "name": "Roadside swale",
            "note": "Runs in wet weeks; floods to 89.6 ft now and then.",
            "place": along((-92.0, -109.0), (6.0, -109.0)),
            "wet": metres(CULVERT_BOTTOM + 0.1),
            "status": "existing",
        },
    }


def drains() -> dict[str, Any]:
    """The relief drain: slotted past the seep with the pipe on hand, then solid; and a branch."""
    line = [*NORTH_EDGE, SEEP]
    left = SLOTTED - sum(math.dist(start, end) for start, end in pairwise(line))
    share = left / math.dist(SEEP, CULVERT)
    joint = tuple(start + share * (end - start) for start, end in zip(SEEP, CULVERT, strict=True))
    pipe = {"diameter": SIX_INCHES, "gravel": "washed", "status": "new"}
    return {
        "relief": {
            "name": "Relief drain past the seep",
            "note": "Proposed: with the slotted pipe that is there already.",
            "place": along(*line, joint),
            "into": "relief_tail",
            "opening": 0.002,
            **pipe,
        },
        "north_branch": {
            "name": "Branch round the north-east end",
            "note": "Proposed: its pipe has to be bought.",
            "place": along((55.0, 22.0), (48.0, 37.0), (34.0, 45.0), NORTH_EDGE[0]),
            "into": "relief",
            "opening": 0.002,
            "gravel": "washed",
            "status": "new",
        },
        "relief_tail": {
            "name": "Relief drain, under the pond to the culvert",
            "place": along(joint, CULVERT),
            "into": "culvert",
            "slotted": False,
            "wall": "smooth",
            **pipe,
        },
    }


def _flow(gallons: float) -> float:
    """Gallons a minute as cubic metres a second."""
    return round(gallons * GALLON_A_MINUTE, 9)


def _grains(d15: float, d50: float, d85: float, d100: float, fines: float) -> dict[str, float]:
    """Sizes in millimetres as metres, and the share of fines."""
    sizes = {"d15": d15, "d50": d50, "d85": d85, "d100": d100}
    return {**{name: round(1e-3 * size, 9) for name, size in sizes.items()}, "fines": fines}
