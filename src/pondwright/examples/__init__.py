"""Example jobs that come with the tool; all of them are invented."""

from __future__ import annotations

from importlib.resources import files

LARKMEADOW = "larkmeadow"
DOZEN_SHOTS = "dozen_shots"
GARDEN = "garden"
UPPER_FIELD = "upper_field"
LARKMEADOW_SHAPED = "larkmeadow_shaped"

EXAMPLES = {
    LARKMEADOW: "Larkmeadow: a leaking farm pond becomes the pond of a memorial garden",
    LARKMEADOW_SHAPED: "Larkmeadow, shaped: wetland, stream with falls, intake pool, ways, seats, moved soil",
    GARDEN: "A garden pond on flat ground with water close below: tapes, a grid, plus and minus",
    UPPER_FIELD: "The upper field: a quarter of a hectare on ground read from a point cloud",
    DOZEN_SHOTS: "Twelve shots and a shoreline: everything else from stated defaults",
}
"""Examples by name, with what they show."""


def example_text(name: str) -> str:
    """Text of an example's job file, by its name.

    Parameters
    ----------
    name : str     A name of :data:`EXAMPLES`.

    Returns
    -------
    str            The job file.

    Examples
    --------
    >>> example_text(DOZEN_SHOTS).startswith("{")
    True

    hand
    """
    return files(__package__).joinpath(f"{name}.pond.json").read_text(encoding="utf-8")
