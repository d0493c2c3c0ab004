"""Who asks for the pond at Larkmeadow, what they wish, what leave it needs, and what the walk found."""

from __future__ import annotations

from typing import Any

from examples.make.larkmeadow_ground import metres, place_at, point

FOOT = 0.3048


def brief() -> dict[str, Any]:
    """Who asks for the pond, what they wish, and which leave must be had."""
    return {
        "client": "The Larkmeadow Trust (invented)",
        "address": "Larkmeadow, a memorial garden in rolling country (invented)",
        "found_us": "A neighbour's pond",
        "decides": "The five trustees, by vote",
        "old_pond": True,
        "size_guess": round(5400.0 * FOOT**2, 2),
        "budget": 185_000.0,
        "currency": "USD",
        "first_asked": "2026-09-14",
        "next_step": "Show the trustees the plan and the price",
        "next_on": "2026-12-07",
        "dig_from": "2027-03-15",
        "done_by": "2027-06-06",
        "people": {
            "builder": {"name": "Our firm", "role": "Builder (invented)"},
            "chair": {"name": "Chair of the trustees", "role": "Speaks for the Trust (invented)"},
            "gardener": {"name": "The gardener", "role": "Knows the old pond and the pipes (invented)"},
        },
        "wishes": wishes(),
        "permits": permits(),
        "texts": {"invented": INVENTED_NOTE, "groundwater": GROUNDWATER_NOTE},
    }


def wishes() -> dict[str, Any]:
    """Wishes in the Trust's words; where a figure can show whether one is met, it is named."""

    def measured(text: str, figure: str, **bounds: float) -> dict[str, Any]:
        return {"text": text, "figure": figure, **bounds}

    shore, storage = "shape.shore.bodies.pond", "shape.storage.bodies.pond"
    return {
        "falls": {"text": "Quiet falls seen from the memorial seat"},
        "path": {
            "text": "A path 5 ft wide, at most 1:20, that reaches the water at two places for a wheelchair"
        },
        "bridge": {"text": "A small bridge"},
        "reading_circle": {
            "text": "A reading circle for children with a safe edge",
            "becomes": "shape.drowning",
        },
        "size": measured(
            "About 5,400 square feet of water",
            f"{shore}.area",
            at_least=round(5300.0 * FOOT**2, 2),
            at_most=round(5500.0 * FOOT**2, 2),
        ),
        "clear": {"text": "Clear water"},
        "fish": measured(
            "Twelve goldfish and six koi, in 5 ft of water for the winter",
            f"{storage}.greatest_depth",
            at_least=metres(5.0),
        ),
        "care": {"text": "Under two hours of care a week"},
        "quiet": {"text": "Nothing that hums at the house downhill"},
        "off_the_lane": measured(
            "Well away from the lane: 50 ft at least",
            "site.clearances.bounds.lane_boundary.clearance",
            at_least=metres(50.0),
        ),
        "soil": measured(
            "Few trucks on the lane: ten loads of soil at most", "earth.soil.load_count", at_most=10.0
        ),
        "june": {"text": "Finished before the second week of June"},
    }


def permits() -> dict[str, Any]:
    """Leave that must be had; every authority and every number is invented."""
    return {
        "earthwork": {
            "name": "Earthwork",
            "authority": "County conservation office (invented)",
            "need": "Earth disturbance, and keeping mud off the lane",
            "number": "E-27-014 (invented)",
            "granted": True,
            "until": "2027-02-26",
            "expires": "2028-02-28",
            "blocks": "digging",
        },
        "pond": {
            "name": "A pond on this lot",
            "authority": "Township (invented)",
            "need": "A pond on this lot",
            "until": "2027-02-12",
            "blocks": "digging",
        },
        "bridge": {
            "name": "Loaded trucks over the lane bridge",
            "authority": "Road authority (invented)",
            "need": "Loaded trucks over the lane bridge",
            "until": "2027-03-05",
            "blocks": "stone deliveries",
        },
    }


def walk() -> dict[str, Any]:
    """What the walk found; what is left out was not looked at either."""

    def fine(says: str, *place: float) -> dict[str, Any]:
        return _answer("fine", says, place)

    def trouble(says: str, *place: float) -> dict[str, Any]:
        return _answer("trouble", says, place)

    def none(says: str) -> dict[str, Any]:
        return _answer("none", says)

    gate, seep = (110.0, -119.0), place_at(318.0, beyond=4.0)
    return {
        "gate_width": fine("10 ft clear, nothing overhead; two fence bays can be opened to 16 ft.", *gate),
        "way_strength": trouble(
            "The lane bridge before the gate carries 20 tons at most: short loads of stone.", *gate
        ),
        "way_slope": fine("Gentle, firm when dry; mats for wet weeks."),
        "turning": fine("Trucks tip at the heap and back out."),
        "overhead_lines": none("The feed lies in the ground."),
        "hospital": fine(
            "Twenty minutes; a phone works on the rim and not on the floor of the old pond. Invented."
        ),
        "public_services": fine("Marked under ticket T-1187: feed and telephone."),
        "private_services": trouble(
            "Light cable to the seat of unknown depth; an old hose line; the well's own line.", 80.0, -30.0
        ),
        "power": fine("100 A panel in the shed, four free places.", 140.0, 0.0),
        "hose_flow": fine("A five gallon bucket in 38 s: 8 gpm."),
        "well": fine("One well, 8 gpm; the neighbour has town water.", 134.4, 134.4),
        "septic": fine("None on this ground; the neighbour's field lies across the lane.", 22.5, -187.5),
        "overflow_way": trouble("The swale and its 12 in culvert flood to 89.6 ft.", -45.0, -109.0),
        "downspouts": none("No roof drains this way."),
        "neighbours_water": {"answer": "not_looked"},
        "wet_spots": trouble("Wet below the seep all year.", *seep),
        "iron_stain": trouble("Rust below the seep at the north-west corner.", *seep),
        "old_pond": trouble("Falls 0.9 to 1.3 ft a day in dry spells; never filled above 94.3 ft."),
        "soil_seen": fine("Clayey silt in the old bank; a sandy seam in the north-west."),
        "rock_seen": none("No rock in the old bank."),
        "stone_on_hand": fine("46 tons of mixed fieldstone round the old pond.", 51.1, -4.5),
        "dump_place": fine("Muck may dry on the far meadow."),
        "boundary_marks": {"answer": "not_looked"},
        "rules_known": fine("Township and road authority asked; see permits."),
        "trees_kept": fine("Five oaks and two willows stay."),
        "sun_wind": fine("Open to the south; wind from the west in autumn."),
        "leaves": trouble("Oak leaves blow onto the water from the west.", *place_at(274.0, beyond=8.0)),
        "children": fine("School classes with their teachers; the reading circle needs the safe edge."),
        "seen_and_heard": fine(
            "Seen from the memorial seat; the house downhill wants no hum.", *place_at(150.0, beyond=16.0)
        ),
        "bell": {
            "ask": "Does the old bell on the shed have to stay within reach?",
            **fine("Yes, and nothing is planned there."),
        },
    }


def _answer(answer: str, says: str, place: tuple[float, ...] = ()) -> dict[str, Any]:
    where = {"place": point(place[0], place[1])} if place else {}
    return {"answer": answer, "says": says, **where}


INVENTED_NOTE = (
    "Everything in this job is invented to show what the tool does: the place, the people, the firms, "
    "the survey, the products and their prices."
)
GROUNDWATER_NOTE = (
    "Seep at the north-west corner comes out at 96.2 ft, 4 gpm in the dry season, 14 gpm after wet weeks. "
    "Standpipes, dry / wet season: SP1, 20 ft north-west of the rim, 97.8 / 99.1 ft; SP2, east, "
    "94.9 / 96.6 ft; SP3, below the bank in the south, 90.2 / 91.8 ft. Water of the seep: iron 0.4 mg/L, "
    "hardness 110, phosphate 0.05, pH 6.9. The old pond never filled above 94.3 ft and falls 0.9 to 1.3 ft "
    "a day in dry spells."
)
