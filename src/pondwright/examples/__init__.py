"""Example jobs that come with the tool; all of them are invented."""

from __future__ import annotations

from importlib.resources import files

LARKMEADOW = "larkmeadow"
DOZEN_SHOTS = "dozen_shots"

EXAMPLES = {
    LARKMEADOW: "Larkmeadow: a leaking farm pond becomes the pond of a memorial garden",
    DOZEN_SHOTS: "Twelve shots and a shoreline: everything else from stated defaults",
}
"""Examples by name, with what they show."""


def example_text(name: str) -> str:
    """Text of an example's job file, by its name.

    Parameters
    ----------
    name : str     :data:`LARKMEADOW` or :data:`DOZEN_SHOTS`.

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
