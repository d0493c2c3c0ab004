"""Layers of soil: which told soil holds where, what lies under a place, and what the pits say to it.

A soil is told for the whole site, for an area, under a body of water, or at a point such as a test pit.
Where several could hold, an area goes before points, points before the whole site, and a later area
before an earlier one: the rule by which digging is counted too.  Its layers lie parallel to the ground.
Where muck was probed it lies on top, in place of the topsoil or muck that the soil begins with.

See Also
--------
pondwright.rooms.site.muck : the thickness of the muck.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from pondwright.base.errors import DomainError
from pondwright.base.kinds import Elevation, Elevations, Length, Lengths, Ratio
from pondwright.geometry.grid import Grid
from pondwright.geometry.polygon import points_inside
from pondwright.geometry.surface import surface_at

NOT_TOLD = -1
"""Number of the soil of a node for which none is told."""

UNDER_MUCK = frozenset({"topsoil", "muck"})
"""Layers at the top of a soil that probed muck takes the place of."""

Mask = NDArray[np.bool_]


class Layer(NamedTuple):
    """A layer of a soil; without a thickness it reaches to the bottom. [m]"""

    kind: str
    thickness: Length | None


@dataclass(frozen=True, slots=True, eq=False)
class SoilPlace:
    """Where a soil holds: at points, inside a ring, or everywhere where no other does.

    Attributes
    ----------
    points : (k, 2) array             East and north of test pits. [m]
    ring : (n, 2) array, optional     Area in which it holds. [m]
    whole : bool                      Whether it is that of the whole site.
    """

    points: Lengths
    ring: Lengths | None = None
    whole: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class SoilLayers:
    """Soil under the whole plan.

    Attributes
    ----------
    grid, z : Grid, (rows, columns) array   The ground. [m]
    muck : (rows, columns) array            Thickness of the probed muck; 0 where there is none. [m]
    names : str                             Of the soils.
    layers : tuples of Layer                Of each soil, from the top down.
    of_node : (rows, columns) int array     Soil at each node, -1 where none is told.
    """

    grid: Grid
    z: Elevations
    muck: Lengths
    names: tuple[str, ...]
    layers: tuple[tuple[Layer, ...], ...]
    of_node: NDArray[np.int16]


@dataclass(frozen=True, slots=True)
class LayerAt:
    """A layer under a place: what it is, its top and bottom, and which soil tells it.

    Without a bottom it goes on; `soil` is empty for muck that was probed. [m]
    """

    kind: str
    top: Elevation
    bottom: Elevation | None
    soil: str


@dataclass(frozen=True, slots=True, eq=False)
class LayerStack:
    """Layers under every node, the first index counting from the ground down.

    Attributes
    ----------
    kinds : str                          Words that `kind` counts.
    kind : (k, rows, columns) array      What the layer is; -1 where there is no such layer.
    top, bottom : (k, rows, columns)     Minus infinity where it goes on. [m]
    """

    kinds: tuple[str, ...]
    kind: NDArray[np.int8]
    top: Elevations
    bottom: Elevations


@dataclass(frozen=True, slots=True)
class LayerMatch:
    """A layer of a probe beside what the soil there tells.

    `probed` is as far as the probe went, `through` says whether it went through; `told` is None where the
    soil has no such layer, and infinite where it has no bottom. [m]
    """

    kind: str
    probed: Length
    through: bool
    told: Length | None

    @property
    def miss(self) -> Length:
        """How far the two differ; a layer that the probe did not end is only ever too thick. [m]"""
        if self.told is None:
            return self.probed
        if np.isinf(self.told) and self.through:
            return self.probed
        return abs(self.probed - self.told) if self.through else max(self.probed - self.told, 0.0)


def soil_of_nodes(places: Sequence[SoilPlace], grid: Grid) -> NDArray[np.int16]:
    """Soil of every node.

    Parameters
    ----------
    places : SoilPlace                  Of each soil.
    grid : Grid                         Where the nodes are.

    Returns
    -------
    (rows, columns) int array           Number of the soil; -1 where none holds.

    Notes
    -----
    The last ring round the node; else the soil of the nearest point; else the first of the whole site.

    References
    ----------
    .. [1] Derived: nearest place (Voronoi); soil between test pits is a guess in any case.
    """
    of_node = np.full(grid.shape, NOT_TOLD, dtype=np.int16)
    for index, place in reversed(list(enumerate(places))):
        if place.whole:
            of_node[:] = index
    least = np.full(grid.shape, np.inf)
    for index, place in enumerate(places):
        for east, north in place.points:
            apart = (grid.east - east) ** 2 + (grid.north[:, None] - north) ** 2
            closer = apart < least
            of_node[closer] = index
            least[closer] = apart[closer]
    for index, place in enumerate(places):
        if place.ring is not None:
            of_node[_nodes_inside(place.ring, grid)] = index
    return of_node


def untold_share(
    places: Sequence[SoilPlace], probes: Lengths, surveyed: Mask, grid: Grid, reach: Length
) -> Ratio:
    """Share of the surveyed ground of which no soil and no probe tells.

    Parameters
    ----------
    places : SoilPlace                Of each soil.
    probes : (n, 2) array             East and north of the probes. [m]
    surveyed : (rows, columns) array  Nodes that count.
    grid : Grid                       Where the nodes are.
    reach : Length                    Distance up to which a pit or probe tells of the soil. [m], > 0

    Returns
    -------
    Ratio                             Between 0 and 1; 0 where nothing was surveyed. [-]

    References
    ----------
    .. [1] Derived: ratio of counts of nodes.
    """
    if any(place.whole for place in places) or not surveyed.any():
        return 0.0
    told = np.zeros(grid.shape, dtype=np.bool_)
    points = [place.points.reshape(-1, 2) for place in places]
    for east, north in np.concatenate([*points, probes.reshape(-1, 2)]):
        told |= (grid.east - east) ** 2 + (grid.north[:, None] - north) ** 2 <= reach**2
    for place in places:
        if place.ring is not None:
            told |= _nodes_inside(place.ring, grid)
    return 1.0 - float(np.count_nonzero(told & surveyed)) / float(np.count_nonzero(surveyed))


def soil_column(soils: SoilLayers, east: Length, north: Length) -> tuple[LayerAt, ...]:
    """Layers under a place, from the ground down.

    Parameters
    ----------
    soils : SoilLayers        Soil under the plan.
    east, north : Length      The place. [m]

    Returns
    -------
    tuple of LayerAt          Empty where no soil is told and no muck was probed.

    Raises
    ------
    DomainError               If the place is off the plan.

    Notes
    -----
    The soil is that of the nearest node.  Muck lies on top, in place of the topsoil or muck that the soil
    begins with.

    References
    ----------
    .. [1] Derived: depths below the ground.
    """
    grid, place = soils.grid, np.array([[east, north]])
    top = float(surface_at(soils.z, grid, place)[0])
    muck = float(surface_at(soils.muck, grid, place)[0])
    column = min(max(round((east - grid.origin_east) / grid.spacing), 0), grid.columns - 1)
    row = min(max(round((north - grid.origin_north) / grid.spacing), 0), grid.rows - 1)
    told = int(soils.of_node[row, column])
    found = []
    layers = soils.layers[told] if told != NOT_TOLD else ()
    if muck > 0.0:
        found.append(LayerAt("muck", top, top - muck, ""))
        top -= muck
        layers = _below_muck(layers)
    for layer in layers:
        bottom = None if layer.thickness is None else top - layer.thickness
        found.append(LayerAt(layer.kind, top, bottom, soils.names[told]))
        top = top if bottom is None else bottom
    return tuple(found)


def layer_stack(soils: SoilLayers) -> LayerStack:
    """Top and bottom of each layer under every node.

    Parameters
    ----------
    soils : SoilLayers     Soil under the plan.

    Returns
    -------
    LayerStack             The same layers as :func:`soil_column` gives at a node.

    References
    ----------
    .. [1] Derived: depths below the ground.
    """
    kinds = tuple(dict.fromkeys(["muck", *(layer.kind for layers in soils.layers for layer in layers)]))
    most = 1 + max((len(layers) for layers in soils.layers), default=0)
    shape = (most, *soils.grid.shape)
    kind = np.full(shape, -1, dtype=np.int8)
    bottom = np.empty(shape)
    bottom[:] = soils.z
    top = bottom.copy()
    mucky = soils.muck > 0.0
    for index in (NOT_TOLD, *range(len(soils.layers))):
        layers = soils.layers[index] if index != NOT_TOLD else ()
        own = soils.of_node == index
        _lay(kind, top, bottom, own & ~mucky, layers, kinds)
        with_muck = own & mucky
        if with_muck.any():
            kind[0, with_muck] = kinds.index("muck")
            bottom[:, with_muck] = (soils.z - soils.muck)[with_muck]
            top[1:, with_muck] = bottom[0, with_muck]
            _lay(kind[1:], top[1:], bottom[1:], with_muck, _below_muck(layers), kinds)
    return LayerStack(kinds, kind, top, bottom)


def probe_against_soil(probed: Sequence[Layer], told: Sequence[Layer]) -> tuple[LayerMatch, ...]:
    """Layers of a probe beside those of the soil that holds there.

    Parameters
    ----------
    probed : Layer          Layers that the probe went through, from the top down.
    told : Layer            Layers of the soil, from the top down.

    Returns
    -------
    tuple of LayerMatch     One a layer of the probe but its muck; the last one is taken as not ended.

    Notes
    -----
    A layer is compared with the next one of the same kind in the soil.

    Examples
    --------
    >>> pit = [Layer("topsoil", 0.2), Layer("silt", 1.8), Layer("sand", 0.3)]
    >>> soil = [Layer("topsoil", 0.2), Layer("silt", 1.4), Layer("sand", 0.6), Layer("rock", None)]
    >>> [(match.kind, round(match.miss, 3)) for match in probe_against_soil(pit, soil)]
    [('topsoil', 0.0), ('silt', 0.4), ('sand', 0.0)]

    hand

    References
    ----------
    .. [1] Derived: what two logs of the same place say.
    """
    firm = [layer for layer in probed if layer.kind != "muck"]
    if len(firm) < len(probed):
        told = _below_muck(tuple(told))
    matches, start = [], 0
    for place, layer in enumerate(firm):
        found = next((at for at in range(start, len(told)) if told[at].kind == layer.kind), None)
        thickness = None
        if found is not None:
            thickness = float("inf") if told[found].thickness is None else told[found].thickness
            start = found + 1
        matches.append(
            LayerMatch(layer.kind, float(layer.thickness or 0.0), place < len(firm) - 1, thickness)
        )
    return tuple(matches)


def water_elevation(ground: Elevation, depth: Length) -> Elevation:
    """Elevation of water that stands in a probe.

    Parameters
    ----------
    ground : Elevation     Of the ground at the probe. [m]
    depth : Length         Of the water below it; below 0 it stands above the ground. [m]

    Returns
    -------
    Elevation              [m]

    Raises
    ------
    DomainError            If either is not a number.

    Examples
    --------
    >>> water_elevation(30.88, 1.13)
    29.75

    hand

    References
    ----------
    .. [1] Derived: difference.
    """
    if not np.isfinite([ground, depth]).all():
        raise DomainError(f"`ground` and `depth` must be numbers, got {ground} m and {depth} m")
    return ground - depth


def _nodes_inside(ring: Lengths, grid: Grid) -> Mask:
    east, north = np.meshgrid(grid.east, grid.north)
    inside = points_inside([ring], np.column_stack([east.ravel(), north.ravel()]))
    return inside.reshape(grid.shape)


def _below_muck(layers: Sequence[Layer]) -> tuple[Layer, ...]:
    """Layers of a soil without those at its top that the muck stands for."""
    first = 0
    while first < len(layers) and layers[first].kind in UNDER_MUCK and layers[first].thickness is not None:
        first += 1
    return tuple(layers[first:])


def _lay(
    kind: NDArray[np.int8],
    top: Elevations,
    bottom: Elevations,
    own: Mask,
    layers: Sequence[Layer],
    kinds: Sequence[str],
) -> None:
    """Put layers under some nodes; `top` and `bottom` hold the surface they hang from."""
    hanging = top[0, own]
    for place, layer in enumerate(layers):
        lower = np.full_like(hanging, -np.inf) if layer.thickness is None else hanging - layer.thickness
        kind[place, own] = kinds.index(layer.kind)
        top[place, own] = hanging
        bottom[place:, own] = lower
        top[place + 1 :, own] = lower
        hanging = lower
