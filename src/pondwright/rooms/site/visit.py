"""What the walk round the site has answered, and what nobody has looked at yet.

An answer is one of four words: looked at and `fine`, looked at and `trouble`, looked for and `none` there, or
`not_looked`.  A point without any answer has not been looked at.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

IMPORTANT = 3
"""Weight of a point that stops a job or hurts people if it is missed."""


@dataclass(frozen=True, slots=True)
class Tally:
    """Points of a walk by their answers, each list with the weightiest first."""

    fine: tuple[str, ...]
    trouble: tuple[str, ...]
    none: tuple[str, ...]
    not_looked: tuple[str, ...]


def tally(weights: Mapping[str, int], answers: Mapping[str, str]) -> Tally:
    """Points of a walk by their answers.

    Parameters
    ----------
    weights : mapping of str to int     The points to look at, in their order, with their weights.
    answers : mapping of str to str     Answers by point; those of points not listed are counted as well.

    Returns
    -------
    Tally

    Notes
    -----
    Each list goes from the greatest weight to the least, and in the order given where weights are equal.
    A point of one's own has the weight 1.

    Examples
    --------
    >>> found = tally({"leaves": 1, "septic": 3}, {"leaves": "trouble", "bell": "fine"})
    >>> found.not_looked, found.trouble, found.fine
    (('septic',), ('leaves',), ('bell',))

    hand

    References
    ----------
    .. [1] Derived: definition.
    """
    whole = {**weights, **{name: weights.get(name, 1) for name in answers}}
    order = sorted(whole, key=lambda name: -whole[name])
    by_answer: dict[str, list[str]] = {"fine": [], "trouble": [], "none": [], "not_looked": []}
    for name in order:
        by_answer[answers.get(name, "not_looked")].append(name)
    return Tally(**{answer: tuple(names) for answer, names in by_answer.items()})
