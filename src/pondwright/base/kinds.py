"""Kinds of quantity, their house units, and the annotated aliases that tell them once.

Inside the house every number is a plain float or array in the one house unit of its kind
(SI, with g/m³ for concentrations).  The alias carries the kind: the docstring check, the
JSON Schema, the forms, the tables and the command line all read it; nothing happens at run
time.

Aliases of arrays are made when first asked for, so that reading units or a document's kinds does
not load numpy.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of quantity and the unit it has inside the house."""

    name: str
    unit: str


RATIO = Kind("ratio", "-")
COUNT = Kind("count", "-")
LENGTH = Kind("length", "m")
ROAD_LENGTH = Kind("road length", "m")
ELEVATION = Kind("elevation", "m")
AREA = Kind("area", "m²")
VOLUME = Kind("volume", "m³")
SOIL_VOLUME = Kind("soil volume", "m³")
SLOPE = Kind("slope", "m/m")
ANGLE = Kind("angle", "rad")
TIME = Kind("time", "s")
SPEED = Kind("speed", "m/s")
ROAD_SPEED = Kind("road speed", "m/s")
FLOW = Kind("flow", "m³/s")
MASS = Kind("mass", "kg")
BULK_MASS = Kind("bulk mass", "kg")
DENSITY = Kind("density", "kg/m³")
AREAL_MASS = Kind("areal mass", "kg/m²")
FORCE = Kind("force", "N")
PRESSURE = Kind("pressure", "Pa")
POWER = Kind("power", "W")
ENERGY = Kind("energy", "J")
TEMPERATURE = Kind("temperature", "°C")
CONCENTRATION = Kind("concentration", "g/m³")

KINDS = {
    kind.name: kind
    for kind in (
        RATIO, COUNT, LENGTH, ROAD_LENGTH, ELEVATION, AREA, VOLUME, SOIL_VOLUME, SLOPE, ANGLE, TIME, SPEED,
        ROAD_SPEED, FLOW, MASS, BULK_MASS, DENSITY, AREAL_MASS, FORCE, PRESSURE, POWER, ENERGY, TEMPERATURE,
        CONCENTRATION,
    )
}  # fmt: skip

Ratio = Annotated[float, RATIO]
Length = Annotated[float, LENGTH]
Elevation = Annotated[float, ELEVATION]
Area = Annotated[float, AREA]
Volume = Annotated[float, VOLUME]
Slope = Annotated[float, SLOPE]
Angle = Annotated[float, ANGLE]
Time = Annotated[float, TIME]
Speed = Annotated[float, SPEED]
Flow = Annotated[float, FLOW]
Mass = Annotated[float, MASS]
Density = Annotated[float, DENSITY]
ArealMass = Annotated[float, AREAL_MASS]
Force = Annotated[float, FORCE]
Pressure = Annotated[float, PRESSURE]
Power = Annotated[float, POWER]
Energy = Annotated[float, ENERGY]
Temperature = Annotated[float, TEMPERATURE]
Concentration = Annotated[float, CONCENTRATION]

if TYPE_CHECKING:
    FloatArray = NDArray[np.float64]
    Ratios = Annotated[FloatArray, RATIO]
    Lengths = Annotated[FloatArray, LENGTH]
    Elevations = Annotated[FloatArray, ELEVATION]
    Areas = Annotated[FloatArray, AREA]
    Volumes = Annotated[FloatArray, VOLUME]
    Slopes = Annotated[FloatArray, SLOPE]
    Masses = Annotated[FloatArray, MASS]
else:
    _KIND_OF_ARRAYS = {
        "Ratios": RATIO, "Lengths": LENGTH, "Elevations": ELEVATION, "Areas": AREA,
        "Volumes": VOLUME, "Slopes": SLOPE, "Masses": MASS,
    }  # fmt: skip

    def __getattr__(name: str) -> Any:
        """Alias of arrays by its name; numpy is loaded with the first one."""
        if name != "FloatArray" and name not in _KIND_OF_ARRAYS:
            raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
        from numpy import float64
        from numpy.typing import NDArray

        array = NDArray[float64]
        return array if name == "FloatArray" else Annotated[array, _KIND_OF_ARRAYS[name]]
