"""The machines of a job: who digs, carries and compacts, and how long each of them works."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from pondwright.base.figures import figure
from pondwright.base.kinds import TIME, FloatArray, Lengths, Ratio, Time, Volume
from pondwright.job.earth import Compactor as CompactorRow
from pondwright.job.earth import Machine
from pondwright.job.fields import value_of
from pondwright.rooms.earth.machines import (
    HOUR,
    STANDARD_CARRIER,
    STANDARD_COMPACTOR,
    STANDARD_DIGGER,
    Carrier,
    Compactor,
    Digger,
    carry_time,
    compact_rate,
    dig_rate,
    together,
)

STANDARD = "standard"
"""Name of the machine that is taken where the job has none of a kind."""


@dataclass(frozen=True, slots=True)
class MachineHours:
    """What one machine does, and how long it works."""

    does: tuple[str, ...]
    hours: Time = figure(
        TIME,
        "Hours that this machine works",
        by=together,
        uses=("earth.haul.dig_time", "earth.haul.carry_time", "earth.haul.compact_time"),
    )


@dataclass(frozen=True, slots=True)
class Crew:
    """Machines by what they do; one of each kind is taken where the job has none."""

    diggers: Mapping[str, Digger]
    carriers: Mapping[str, Carrier]
    compactors: Mapping[str, Compactor]

    def dig_time(self, volume: Volume, bulking: Ratio) -> Time:
        """Time in which all diggers at once dig a volume in the bank. [s]"""
        return volume * together([HOUR / dig_rate(digger, bulking) for digger in self.diggers.values()])

    def carry_times(self, distance: Lengths, bulking: Ratio) -> FloatArray:
        """Time in which all carriers at once carry a cubic metre in the bank, over each distance. [s]"""
        still = np.array([carry_time(carrier, 0.0, bulking) for carrier in self.carriers.values()])
        metre = np.array([carry_time(carrier, 1.0, bulking) for carrier in self.carriers.values()]) - still
        each = still[:, None] + metre[:, None] * distance[None, :]
        return np.asarray(1.0 / (1.0 / each).sum(axis=0), dtype=np.float64)

    def compact_time(self, placed: Volume) -> Time:
        """Time in which all compactors at once compact a volume. [s]"""
        return placed * together([HOUR / compact_rate(each) for each in self.compactors.values()])

    def hours(self, dig: Time, carry: Time, compact: Time) -> Mapping[str, MachineHours]:
        """How long each machine works: those of a kind share its work in proportion to what they move."""
        work = (
            ("digs", self.diggers, dig),
            ("carries", self.carriers, carry),
            ("compacts", self.compactors, compact),
        )
        names = dict.fromkeys([*self.diggers, *self.carriers, *self.compactors])
        return MappingProxyType(
            {name: _hours([(does, time) for does, of, time in work if name in of]) for name in names}
        )


def _hours(work: Sequence[tuple[str, Time]]) -> MachineHours:
    return MachineHours(tuple(does for does, _ in work), sum(time for _, time in work))


def crew_of(machines: Mapping[str, Machine], compactors: Mapping[str, CompactorRow]) -> Crew:
    """Machines of a job: excavators dig, what has a speed carries.

    Parameters
    ----------
    machines : rows of `earth.machines`
    compactors : rows of `earth.compactors`

    Returns
    -------
    Crew
    """
    diggers = {name: _digger(row) for name, row in machines.items() if row.kind == "excavator"}
    carriers = {name: _carrier(row, row.speed) for name, row in machines.items() if row.speed is not None}
    rollers = {name: _compactor(row) for name, row in compactors.items()}
    return Crew(
        diggers or {f"{STANDARD}_digger": STANDARD_DIGGER},
        carriers or {f"{STANDARD}_carrier": STANDARD_CARRIER},
        rollers or {f"{STANDARD}_compactor": STANDARD_COMPACTOR},
    )


def _digger(row: Machine) -> Digger:
    return Digger(row.bucket, value_of(row, "fill"), row.cycle, value_of(row, "efficiency"))


def _carrier(row: Machine, speed: float) -> Carrier:
    return Carrier(row.bucket, value_of(row, "fill"), row.cycle, speed, value_of(row, "efficiency"))


def _compactor(row: CompactorRow) -> Compactor:
    names = ("width", "speed", "layer", "passes", "efficiency")
    return Compactor(*(value_of(row, name) for name in names))
