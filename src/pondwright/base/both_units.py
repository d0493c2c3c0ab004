"""Numbers in the sentences of checks, in both systems of units."""

from __future__ import annotations

from pondwright.base.kinds import Area, ArealMass, Length, Mass, Speed, Temperature, Volume


def length(value: Length) -> str:
    """Length in millimetres and inches, a long one in metres and feet."""
    if abs(value) < 1.0:
        return f"{1e3 * value:.0f} mm ({value / 0.0254:.1f} in)"
    return f"{value:.2f} m ({value / 0.3048:.1f} ft)"


def size(value: Length) -> str:
    """Size of a stone, a step or a layer in whole millimetres and inches."""
    return f"{1e3 * value:.0f} mm ({value / 0.0254:.0f} in)"


def area(value: Area) -> str:
    """Area in square metres and feet."""
    return f"{value:.0f} m² ({value / 0.09290304:.0f} ft²)"


def soil(value: Volume) -> str:
    """Volume of soil in cubic metres and yards."""
    return f"{value:.0f} m³ ({value / 0.764554857984:.0f} yd³)"


def mass(value: Mass) -> str:
    """Mass in kilograms and pounds."""
    return f"{value:.0f} kg ({value / 0.45359237:.0f} lb)"


def tons(value: Mass) -> str:
    """Mass of a load in metric tons and in tons of 2000 lb."""
    return f"{value / 1000.0:.1f} t ({value / 907.18474:.1f} tons)"


def fabric(value: ArealMass) -> str:
    """Mass of a fabric in grams a square metre and ounces a square yard."""
    return f"{1e3 * value:.0f} g/m² ({1e3 * value / 33.906:.0f} oz/yd²)"


def wind(value: Speed) -> str:
    """Wind in metres a second and miles an hour."""
    return f"{value:.0f} m/s ({value / 0.44704:.0f} mph)"


def temperature(value: Temperature) -> str:
    """Temperature in both scales."""
    return f"{value:.0f} °C ({1.8 * value + 32.0:.0f} °F)"
