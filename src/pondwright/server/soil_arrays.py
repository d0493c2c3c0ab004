"""Arrays of the soil for the live channel: levels, hauls, piles, factors, and shores on offer."""

from __future__ import annotations

import numpy as np

from pondwright.flow.engine import Run
from pondwright.server.arrays import Arrays, Wish


def add_levels(arrays: Arrays, run: Run, _wish: Wish) -> None:
    """The level question of each body, the row at which its soil balances, and what speaks against each."""
    columns = [
        *("level", "dug", "placed", "surplus", "loads", "rim_to_raise", "highest_raise"),
        *("liner", "volume", "area", "lip", "runs_over"),
        *("filled_volume", "filled_area", "filled_runs_over"),
        "others_leave",
    ]
    for name, body in run.results.earth.levels.bodies.items():
        table = np.column_stack([np.asarray(getattr(body, column), dtype=np.float64) for column in columns])
        told = {"balance_refused": body.said.refused, "balance_warned": body.said.warned}
        more = {"balanced": body.balanced_row, "says": body.warnings, **told}
        arrays.add("levels", table, body=name, columns=columns, **more)


def add_hauls(arrays: Arrays, run: Run, _wish: Wish) -> None:
    """Each haul with its two ends and what it bends at; the ids are the places that take the soil."""
    hauls = run.results.earth.haul.plan.hauls
    rows = [
        [*haul.start, haul.end.east, haul.end.north, haul.volume, haul.distance, haul.time] for haul in hauls
    ]
    table = np.array(rows, dtype=np.float64).reshape(-1, 7)
    columns = ["east", "north", "to_east", "to_north", "volume", "distance", "time"]
    ids, streams = [haul.end.name for haul in hauls], [haul.stream for haul in hauls]
    arrays.add("hauls", table.astype("<f4"), columns=columns, ids=ids, streams=streams)
    bends = [np.array(haul.way[1:-1], dtype=np.float64).reshape(-1, 2) for haul in hauls]
    starts = np.cumsum([0, *(len(some) for some in bends)])
    arrays.add("haul_bends", np.vstack([*bends, np.empty((0, 2))]).astype("<f4"))
    arrays.add("haul_bend_starts", starts.astype("<i4"))


def add_piles(arrays: Arrays, run: Run, _wish: Wish) -> None:
    """The foot of each pile: the ring that was drawn, or the round heap of what comes to a point."""
    piles = run.results.earth.haul.piles
    rings = [pile.ring for pile in piles.values()]
    starts = np.cumsum([0, *(len(ring) for ring in rings)])
    arrays.add("pile_points", np.vstack(rings or [np.empty((0, 2))]).astype("<f4"))
    arrays.add("pile_starts", starts.astype("<i4"), ids=list(piles))


def add_soils(arrays: Arrays, run: Run, _wish: Wish) -> None:
    """How each kind of soil swells and shrinks, and who says so."""
    kinds = run.results.earth.soil.by_kind
    columns = ["bulking", "compaction", "bank_density"]
    rows = [[getattr(each, column) for column in columns] for each in kinds.values()]
    says = ["; ".join(dict.fromkeys(str(source) for source in each.sources)) for each in kinds.values()]
    table = np.array(rows, dtype=np.float64).reshape(-1, 3)
    arrays.add("soils", table, columns=columns, ids=list(kinds), says=says)


def add_bends(arrays: Arrays, run: Run, _wish: Wish) -> None:
    """Pegs of each way to bend a shore, with what it is; one that is refused has none, and says why."""
    for body, each in run.results.shape.bends.bodies.items():
        for name, variant in each.variants.items():
            rows = [[peg.east, peg.north, float(peg.corner)] for peg in variant.pegs]
            table = np.array(rows, dtype=np.float64).reshape(-1, 3)
            ids, says = [peg.id for peg in variant.pegs], [variant.says, variant.refused]
            arrays.add("bends", table, body=body, variant=name, ids=ids, says=says)
