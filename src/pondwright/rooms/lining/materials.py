"""What a liner is made of: density, cold, seams, by the word for its material.

A catalogue may tell only that a sheet is rubber, or only its mass; what it leaves open is taken from the
table of common sheets.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from pondwright.base.errors import DomainError
from pondwright.base.kinds import ArealMass, Density, Length, Pressure, Temperature
from pondwright.base.tables import read_table

USUAL = "epdm"
"""Material of a liner about which nothing is told: the most usual one under garden ponds."""


@dataclass(frozen=True, slots=True)
class Membrane:
    """A sheet: what it is made of, and what that means for laying it.

    Attributes
    ----------
    material : str               Word of the table.
    mass : ArealMass             Of one square metre. [kg/m²]
    thickness : Length           [m]
    strength : Pressure or None  In tension; none is not known. [Pa]
    unfold : Temperature         Not to be unfolded below it. [°C]
    lap : Length                 Usual overlap of a seam. [m]
    seam : str                   How it is joined: `tape`, `weld`, `solvent` or `powder`.
    expansion : float            Share of its length for one kelvin.
    told : bool                  The document tells the material.
    """

    material: str
    mass: ArealMass
    thickness: Length
    strength: Pressure | None
    unfold: Temperature
    lap: Length
    seam: str
    expansion: float
    told: bool


def mass_of_sheet(thickness: Length, density: Density) -> ArealMass:
    """Mass of one square metre of a sheet.

    Parameters
    ----------
    thickness : Length     [m], > 0
    density : Density      [kg/m³], > 0

    Returns
    -------
    ArealMass              [kg/m²]

    Raises
    ------
    DomainError            If a number is not above 0.

    Examples
    --------
    >>> round(mass_of_sheet(0.00114, 1150.0), 3)
    1.311

    hand

    References
    ----------
    .. [1] Derived: thickness times density.
    """
    if not (thickness > 0.0 and density > 0.0):
        raise DomainError(f"a sheet must have a thickness and a density, got {thickness} m, {density} kg/m³")
    return thickness * density


def material_of(words: str) -> str | None:
    """Material that some words name, or None.

    Parameters
    ----------
    words : str     For example the name of a catalogue item.

    Returns
    -------
    str or None     Word of the table of membranes.

    Examples
    --------
    >>> material_of("Liner A, rubber"), material_of("LLDPE 40 mil"), material_of("blue")
    ('epdm', 'lldpe', None)

    hand

    References
    ----------
    .. [1] Convention: words in common use.
    """
    found = {word.strip(",.;:()").casefold() for word in words.split()}
    for material, row in _table().items():
        if found.intersection(row["words"].split()):
            return material
    return None


def membrane(facts: Mapping[str, float | str], name: str = "") -> Membrane:
    """Sheet of a catalogue item; what it does not tell is that of its material.

    Parameters
    ----------
    facts : mapping     Of the item: `material`, `mass_per_area`, `thickness`, `strength`.
    name : str          Of the item.

    Returns
    -------
    Membrane

    Notes
    -----
    Of mass and thickness one follows from the other by the density of the material.

    Examples
    --------
    >>> sheet = membrane({"mass_per_area": 1.35}, "Liner A, rubber")
    >>> sheet.material, round(sheet.thickness, 5), sheet.unfold
    ('epdm', 0.00117, -5.0)
    >>> membrane({}).told, round(membrane({}).mass, 3)
    (False, 1.311)

    hand

    References
    ----------
    .. [1] Table of membranes: declared values and common use.
    """
    word = material_of(str(facts.get("material", ""))) or material_of(name)
    row = _table()[word or USUAL]
    density = float(row["density"])
    thickness, mass = _number(facts, "thickness"), _number(facts, "mass_per_area")
    if thickness is None:
        thickness = float(row["thickness"]) if mass is None else mass / density
    strength = _number(facts, "strength") or float(row["strength"])
    return Membrane(
        material=word or USUAL,
        mass=mass_of_sheet(thickness, density) if mass is None else mass,
        thickness=thickness,
        strength=strength or None,
        unfold=float(row["unfold"]),
        lap=float(row["lap"]),
        seam=row["seam"],
        expansion=float(row["expansion"]),
        told=word is not None,
    )


def slack(length: Length, cooling: float, expansion: float) -> Length:
    """By how much a sheet shrinks when it cools.

    Parameters
    ----------
    length : Length      Of the sheet. [m], >= 0
    cooling : float      By how many kelvin, >= 0
    expansion : float    Share of the length for one kelvin, >= 0

    Returns
    -------
    Length               That it must lie slack when it is warm. [m]

    Raises
    ------
    DomainError          If a number is below 0.

    Examples
    --------
    >>> round(slack(30.0, 20.0, 2e-4), 3)
    0.12

    hand

    References
    ----------
    .. [1] Derived: linear expansion.
    """
    if min(length, cooling, expansion) < 0.0:
        raise DomainError(f"a sheet and its cooling must not be below 0, got {length} m, {cooling} K")
    return length * cooling * expansion


def _number(facts: Mapping[str, float | str], name: str) -> float | None:
    value = facts.get(name)
    return float(value) if isinstance(value, (int, float)) and value > 0.0 else None


@cache
def _table() -> dict[str, Mapping[str, str]]:
    rows = read_table("pondwright.rooms.lining", "membranes.csv").rows
    return {row["material"]: row for row in rows}
