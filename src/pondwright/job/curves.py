"""Curves of the document as points: the one way from pegs to a shoreline or a line."""

from __future__ import annotations

from pondwright.geometry.curve import Sampled, closed_curve, open_curve
from pondwright.job.places import Curve


def ring_of(curve: Curve) -> Sampled:
    """Closed curve through the pegs, as points."""
    return closed_curve([(peg.east, peg.north) for peg in curve.pegs], [peg.corner for peg in curve.pegs])


def line_of(curve: Curve) -> Sampled:
    """Open curve through the pegs, as points."""
    return open_curve([(peg.east, peg.north) for peg in curve.pegs], [peg.corner for peg in curve.pegs])
