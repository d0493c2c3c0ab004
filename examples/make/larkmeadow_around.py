"""What stands round the old pond of Larkmeadow, what lies under it, and the lines not to cross."""

from __future__ import annotations

from typing import Any

from examples.make.larkmeadow_ground import along, curve, metres, place_at, point, ring


def permeability(low: float, likely: float, high: float) -> dict[str, Any]:
    """How fast water goes through a soil, as a range [m/s]."""
    return {"low": low, "likely": likely, "high": high, "source": "Invented for this example."}


SILT = permeability(5e-8, 2e-7, 1e-6)
SAND = permeability(5e-6, 2e-5, 8e-5)
SHALE = permeability(1e-9, 1e-8, 1e-7)


def soils() -> dict[str, Any]:
    """Soil layers: clayey silt over shale, with a sandy seam under the north-west quarter."""
    # It comes from the hill: on to the end of what was surveyed, and beyond.
    quarter = [(-10.0, 20.0), (-10.0, 160.0), (-160.0, 160.0), (-160.0, 20.0)]
    topsoil = {"kind": "topsoil", "thickness": metres(0.6)}
    rock = {"kind": "rock", "permeability": SHALE}
    return {
        "meadow": {
            "name": "Clayey silt over weathered shale",
            "note": "Silt to elevation 84 ft, weathered and tight shale below. Invented.",
            "place": {"at": "whole", "body": None},
            "layers": [
                topsoil,
                {"kind": "silt", "thickness": metres(14.4), "permeability": SILT},
                rock,
            ],
        },
        "sandy_seam": {
            "name": "Sandy seam in the north-west quarter",
            "note": "Two feet of sand between 93 and 96 ft; the seep comes out of it. Invented.",
            "place": {"at": "ring", "curve": curve("q", quarter, corner=True)},
            "layers": [
                topsoil,
                {"kind": "silt", "thickness": metres(4.4), "permeability": SILT},
                {"kind": "sand", "thickness": metres(2.0), "permeability": SAND},
                {"kind": "silt", "thickness": metres(9.4), "permeability": SILT},
                rock,
            ],
        },
    }


def things() -> dict[str, Any]:
    """What stands around the old pond and must be kept, used or kept clear of."""
    return {**_trees(), **_services(), **_built()}


def _thing(kind: str, name: str, place: dict[str, Any], **facts: Any) -> dict[str, Any]:
    return {"kind": kind, "name": name, "place": place, "status": "existing", **facts}


SHED, WELL = (140.0, 0.0), (134.4, 134.4)
OAKS = (246.0, 260.0, 274.0, 288.0, 302.0)
WILLOWS = {"willow_1": (42.0, 18.0, 30.0), "willow_2": (56.0, 26.0, 34.0)}


def _trees() -> dict[str, Any]:
    def tree(name: str, bearing: float, beyond: float, crown: float) -> dict[str, Any]:
        return _thing("tree", name, point(*place_at(bearing, beyond=beyond)), size=metres(crown))

    oaks = {
        f"oak_{number}": tree(f"Oak {number}", bearing, 26.0, 36.0)
        for number, bearing in enumerate(OAKS, start=1)
    }
    return {
        **oaks,
        "willow_1": tree("Willow, the near one", *WILLOWS["willow_1"]),
        "willow_2": tree("Willow, the far one", *WILLOWS["willow_2"]),
    }


def _services() -> dict[str, Any]:
    """What lies in the ground: what a locate service marks, and what nobody marks."""
    ticket = {"ticket": "T-1187 (invented)", "marked_until": "2027-03-29"}
    return {
        "water_line": _thing(
            "utility",
            "Water line, well to shed",
            along(WELL, SHED),
            depth=metres(2.5),
            clear=metres(3.0),
            service="water",
            private=True,
            sure=metres(2.0),
            note="The Trust's own; its depth as the gardener tells it.",
        ),
        "feed": _thing(
            "utility",
            "Electric feed, lane to shed",
            along((152.0, -119.0), (142.0, -8.0)),
            depth=metres(2.0),
            service="electric",
            sure=metres(1.5),
            **ticket,
        ),
        "phone": _thing(
            "utility",
            "Telephone cable in the strip",
            along((-260.0, -114.0), (260.0, -114.0)),
            depth=metres(1.5),
            service="communications",
            sure=metres(1.5),
            **ticket,
        ),
        "seat_cable": _thing(
            "utility",
            "Light cable, shed to memorial seat",
            along((132.0, -3.0), (80.0, -30.0), (34.0, -48.0)),
            service="electric",
            private=True,
            note="Nobody knows how deep.",
        ),
        "garden_pipe": {
            **_thing(
                "utility",
                "Old hose line to the pond",
                along((132.0, 5.0), (87.0, 12.0), (50.0, 17.0)),
                depth=metres(1.0),
                service="irrigation",
                private=True,
                sure=metres(1.0),
                note="Is taken out before digging.",
            ),
            "status": "remove",
        },
        "culvert": _thing(
            "pipe",
            "12 in culvert under the lane",
            along((-45.0, -109.0), (-45.0, -139.0)),
            size=metres(1.0),
            note="Pipe bottom at 88.4 ft; the swale beyond floods to 89.6 ft.",
        ),
        "swale": _thing("pipe", "Roadside swale", along((-92.0, -109.0), (6.0, -109.0))),
    }


def _built() -> dict[str, Any]:
    return {
        "shed": _thing("structure", "Tool shed, 100 A panel", point(*SHED), size=metres(16.0)),
        "well": _thing("well", "Well, 8 gpm", point(*WELL)),
        "boundary": _thing("fence", "Fence along the lane", along((-260.0, -119.0), (260.0, -119.0))),
        "house": _thing("house", "Neighbour's house, downhill", point(60.0, -222.0), size=metres(40.0)),
        "gate": _thing(
            "access",
            "Gate, 10 ft wide",
            point(110.0, -119.0),
            size=metres(10.0),
            note="The lane bridge before it carries 20 tons at most.",
        ),
        "fence_bays": _thing(
            "access", "Two fence bays that can be opened", point(170.0, 30.0), size=metres(16.0)
        ),
        "fieldstone": _thing(
            "stone_pile",
            "Mixed fieldstone, 46 tons",
            point(*place_at(95.0, beyond=8.0)),
            note="Rings the old pond; to be used again.",
        ),
        "slotted_pipe": _thing(
            "stone_pile",
            "60 ft of new 6 in slotted pipe",
            point(148.0, 10.0),
            note="Left over from a field drain.",
        ),
        "seat": _thing(
            "structure",
            "Memorial seat",
            point(*place_at(150.0, beyond=16.0)),
            size=metres(6.0),
            height=metres(34.0 / 12.0),
        ),
        "topsoil_heap": {
            "kind": "soil_pile",
            "name": "Topsoil heap",
            "place": ring("t", (85.0, -15.0), (120.0, -15.0), (120.0, -35.0), (85.0, -35.0)),
        },
        "way_in": {
            "kind": "access",
            "name": "Way in for machines and trucks",
            "place": along((110.0, -130.0), (110.0, -109.0), (106.0, -60.0), (80.0, -43.0), (66.0, -15.0)),
            "size": metres(12.0),
            "note": "Mats over the grass.",
        },
    }


def bounds() -> dict[str, Any]:
    """Lines that the work must not cross."""

    def bound(kind: str, name: str, place: dict[str, Any], **facts: Any) -> dict[str, Any]:
        return {"kind": kind, "name": name, "place": place, "status": "existing", **facts}

    oaks = along(*(place_at(bearing, beyond=26.0) for bearing in OAKS))
    willows = {
        f"{name}_roots": bound(
            "tree", "Roots of the willow", point(*place_at(bearing, beyond=beyond)), clear=metres(crown / 3)
        )
        for name, (bearing, beyond, crown) in WILLOWS.items()
    }
    lane, strip = -119.0, -109.0
    return {
        "lane_boundary": bound(
            "boundary",
            "Boundary along the lane",
            along((-260.0, lane), (260.0, lane)),
            note="Corner pins not found yet; drawn along the fence.",
        ),
        "lane_setback": bound(
            "setback",
            "Setback from the lane",
            along((-260.0, lane + 25.0), (260.0, lane + 25.0)),
            note="25 ft from the boundary, as the township told on the telephone.",
        ),
        "utility_strip": bound(
            "easement",
            "Utility strip along the lane, 10 ft wide",
            ring("u", (-260.0, lane), (260.0, lane), (260.0, strip), (-260.0, strip)),
        ),
        "neighbours_septic": bound(
            "septic",
            "Septic field of the neighbour",
            ring("n", (0.0, -200.0), (45.0, -200.0), (45.0, -175.0), (0.0, -175.0)),
            note="As the neighbour shows it.",
        ),
        "wet_meadow": bound(
            "wetland",
            "Wet meadow below the upper seep",
            ring("w", (-130.0, 35.0), (-100.0, 30.0), (-95.0, 60.0), (-125.0, 70.0)),
            clear=metres(25.0),
            note="Rushes and sedge; nobody has drawn its edge yet.",
        ),
        "swale_water": bound(
            "stream", "Roadside swale", along((-92.0, strip), (6.0, strip)), note="Runs after rain."
        ),
        "swale_flood": bound(
            "flood",
            "Flood water of the swale, to 89.6 ft",
            ring("f", (-90.0, -112.6), (5.0, -112.6), (5.0, -105.4), (-90.0, -105.4)),
            note="Where the swale stands when the culvert is full.",
        ),
        "oak_roots": bound("tree", "Roots of the oaks", oaks, clear=metres(16.0)),
        **willows,
    }
