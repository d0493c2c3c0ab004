"""The level notes of Larkmeadow: two days, seven set-ups, each closed on a known mark.

A builder's level is read to the hundredth of a foot.  What the books hold is what the level would have shown
over the heights of the survey: readings that carry the level have their own reading noise, so that neither
day closes to zero.
"""

from __future__ import annotations

import random
from dataclasses import dataclass, field
from typing import Any

from examples.make.larkmeadow_ground import metres, place_at, point

SEED = 1207
READ_SIGMA = 0.003
"""Reading noise of the level on a point that carries the level [ft]."""

PIN, SPIKE = "shed_pin", "oak_spike"
KNOWN = {PIN: 100.0, SPIKE: 101.37}
TURNS = {"t1": 100.46, "t2": 102.02, "t3": 98.57, "u1": 98.11, "u2": 91.02}
"""Turning points as they truly stand: a stone, a peg, a stone, a peg on the bank, a floor stone [ft]."""


@dataclass(frozen=True)
class Sights:
    """What one set-up reads: behind, the codes and bearings to the side, and where the level goes on."""

    station: str
    instrument: float
    back: str
    on: str
    lengths: tuple[float, float]
    sides: tuple[str, ...] = field(default=())


def marks() -> dict[str, Any]:
    """Two benchmarks, both out of the way of the dig."""
    return {
        PIN: {
            "name": "Brass pin in the shed's step",
            "note": "The zero of all levels here: it is called 100.00 ft.",
            "place": point(136.0, -6.0),
            "elevation": metres(KNOWN[PIN]),
            "sigma": 0.003,
        },
        SPIKE: {
            "name": "Spike in the root of oak 3",
            "note": "Levelled from the pin and back on the first visit.",
            "place": point(*place_at(272.0, beyond=24.5)),
            "elevation": metres(KNOWN[SPIKE]),
            "sigma": 0.002,
        },
    }


def books(shots: dict[str, Any]) -> dict[str, Any]:
    """Both days' notes, over the shots that were levelled; those shots keep no height of their own."""
    noise = random.Random(SEED)
    rim = _named(shots, "rim")
    east, north, west, south = rim[24:34], rim[14:24], rim[5:14], rim[:5]
    bank = _named(shots, "bank") + _named(shots, "bank_foot")
    toe, slope, floor = _named(shots, "toe"), _named(shots, "slope"), _named(shots, "floor")
    first = [
        Sights("East of the pond, below the shed", 104.62, PIN, "t1", (62.0, 58.0), tuple(east)),
        Sights("North, by the near willow", 106.31, "t1", "t2", (71.0, 66.0), tuple(north)),
        Sights("West, under oak 4", 106.08, "t2", SPIKE, (54.0, 49.0), tuple(west)),
        Sights("On the southern bank", 103.17, SPIKE, "t3", (68.0, 72.0), (*south, *bank)),
        Sights("East again", 103.84, "t3", PIN, (74.0, 70.0)),
    ]
    second = [
        Sights("South-east, by the memorial seat", 103.55, PIN, "u1", (83.0, 78.0)),
        Sights(
            "On the low stretch of the bank",
            102.08,
            "u1",
            "u2",
            (31.0, 36.0),
            (*toe[:12], *slope[:6], *floor),
        ),
        Sights("West rim", 103.46, "u2", SPIKE, (47.0, 52.0), (*toe[12:], *slope[6:])),
    ]
    return {
        "rim": {
            "name": "Rim, bank and what lies round them",
            "note": "Level notes; the pin and the spike are its two benchmarks.",
            **_book(first, shots, noise, "2026-10-20"),
            # The level was tried between two pegs the evening before: 0.01 ft over 200 ft.
            "two_peg": {
                "middle_a": metres(4.62),
                "middle_b": metres(5.13),
                "near_a": metres(4.88),
                "near_b": metres(5.40),
                "sight_difference": metres(-190.0),
            },
        },
        "hollow": {
            "name": "Toe, slope and floor of the old pond",
            "note": "Read with a long rod while the pond was pumped down.",
            **_book(second, shots, noise, "2026-10-21"),
        },
    }


def _named(shots: dict[str, Any], code: str) -> list[str]:
    return [name for name, shot in shots.items() if shot["code"] == code]


def _book(set_ups: list[Sights], shots: dict[str, Any], noise: random.Random, date: str) -> dict[str, Any]:
    """Set-ups as they are read, with what the field book makes of them on the spot."""
    noted = dict(KNOWN)
    return {
        "instrument": "Level A, automatic, with a 16 ft rod",
        "unit": "ft",
        "date": date,
        "set_ups": [_set_up(sights, shots, noted, noise) for sights in set_ups],
    }


def _set_up(
    sights: Sights, shots: dict[str, Any], noted: dict[str, float], noise: random.Random
) -> dict[str, Any]:
    def carried(point: str) -> float:
        true = KNOWN.get(point) or TURNS[point]
        return round(sights.instrument - true + noise.gauss(0.0, READ_SIGMA), 2)

    def reading(point: str, rod: float, kind: str, length: float | None = None) -> dict[str, Any]:
        facts = {} if length is None else {"distance": metres(length)}
        return {
            "point": point,
            "rod": metres(rod),
            "kind": kind,
            "noted": metres(round(instrument - rod, 2)),
            **facts,
        }

    back = carried(sights.back)
    instrument = round(noted[sights.back] + back, 2)
    readings = []
    for name in sights.sides:
        rod = round(sights.instrument - shots[name].pop("elevation") / 0.3048, 2)
        readings.append(reading(name, rod, "side"))
    on = carried(sights.on)
    known = sights.on in KNOWN
    readings.append(reading(sights.on, on, "check" if known else "turn", sights.lengths[1]))
    if not known:
        noted[sights.on] = round(instrument - on, 2)
    backsight = {"point": sights.back, "rod": metres(back), "distance": metres(sights.lengths[0])}
    return {"station": sights.station, "backsights": [backsight], "readings": readings}
