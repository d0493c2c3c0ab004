"""Findings: what the model checked, one line each, shown to people as *checks*.

A finding says what is so, how far from the limit, where, what to do about it and by which
source.  Passing checks are kept too: the list is the design-check sheet of the job.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Any

from pondwright.base.kinds import RATIO, Kind
from pondwright.base.sources import Source


class Grade(StrEnum):
    """How a check came out: do not build this, judgement needed, or checked and fine."""

    STOP = "stop"
    LOOK = "look"
    GOOD = "good"


@dataclass(frozen=True, slots=True)
class Limit:
    """A limit of a check, with its source; a job may replace its value with a reason."""

    code: str
    says: str
    value: float
    kind: Kind
    source: Source


@dataclass(frozen=True, slots=True)
class Op:
    """One RFC 6902 operation on the document: ``add``, ``remove``, ``replace`` or ``test``."""

    op: str
    path: str
    value: Any = None


@dataclass(frozen=True, slots=True)
class Advice:
    """A way out, in words; with operations it can be applied in one press."""

    says: str
    ops: tuple[Op, ...] = ()


@dataclass(frozen=True, slots=True)
class Where:
    """The place of a finding: dotted paths, and points (east, north) to light up [m]."""

    paths: tuple[str, ...] = ()
    points: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True, slots=True)
class Alike:
    """How a finding is told with others that say the same of other places: `{}` in `says` is the places."""

    says: str
    place: str


@dataclass(frozen=True, slots=True)
class Finding:
    """One check: its stable code, how it came out, and everything needed to act on it."""

    code: str
    grade: Grade
    says: str
    where: Where = Where()
    value: float | None = None
    limit: float | None = None
    operator: str = ""
    kind: Kind = RATIO
    source: Source | None = None
    advice: tuple[Advice, ...] = ()
    assumes: tuple[str, ...] = ()
    accepted: str = ""
    alike: Alike | None = None


def judged(
    limit: Limit,
    value: float | None,
    grade: Grade,
    says: str,
    *,
    where: Where = Where(),
    operator: str = "<=",
    advice: tuple[Advice, ...] = (),
    assumes: tuple[str, ...] = (),
    alike: Alike | None = None,
) -> Finding:
    """A value against its limit; advice is told only where it is not good.

    Parameters
    ----------
    limit : Limit
    value : float or None        In the house unit of the limit's kind.
    grade : Grade                How it came out.
    says : str                   One sentence.
    where : Where
    operator : str               Between value and limit where it holds.
    advice : tuple of Advice
    assumes : tuple of str
    alike : Alike                How it is told where it is so at several places.

    Returns
    -------
    Finding

    Examples
    --------
    >>> from pondwright.base.sources import PRACTICE
    >>> least = Limit("shape.wintering", "Depth for fish", 0.9, RATIO, PRACTICE)
    >>> found = judged(least, 1.2, Grade.GOOD, "Deep enough.", operator=">=", advice=(Advice("Dig."),))
    >>> found.limit, found.advice
    (0.9, ())
    """
    return Finding(
        code=limit.code,
        grade=grade,
        says=says,
        where=where,
        value=value,
        limit=limit.value,
        operator=operator,
        kind=limit.kind,
        source=limit.source,
        advice=() if grade is Grade.GOOD else advice,
        assumes=assumes,
        alike=alike,
    )


def replaced_limits(limits: tuple[Limit, ...], values: dict[str, float]) -> dict[str, Limit]:
    """Limits by code, with the values that this job replaces (by code) put in."""
    return {
        limit.code: replace(limit, value=values[limit.code]) if limit.code in values else limit
        for limit in limits
    }
