"""Plane and surface, with no water in it: curves, rings, distances, areas, surfaces, volumes.

Coordinates are metres east and north.  A ring is an array (n, 2) of its corners in either
direction, without the first one again at the end; a body is a sequence of rings, the outer one
first and its islands after it.  A surface is the array of its elevations at the nodes of a
:class:`~pondwright.geometry.grid.Grid`.
"""
