"""Two documents that are alike in part: what is equal is made the same object."""

from __future__ import annotations

from typing import TypeVar

from pondwright.job.fields import Section

AnySection = TypeVar("AnySection", bound=Section)


def with_parts_of(section: AnySection, other: AnySection) -> AnySection:
    """The same section, holding the very parts of another wherever they are equal.

    What is computed from a part is kept by the part itself, so a copy of a job goes on from its source.

    Parameters
    ----------
    section : Section
        A job, or a part of one.
    other : Section
        Another of the same kind.

    Returns
    -------
    Section
        Equal to ``section``; ``other`` itself where the two are equal.

    Examples
    --------
    >>> from pondwright.job.document import new_job
    >>> one, two = new_job("Mill Lane"), new_job("Larkmeadow")
    >>> with_parts_of(two, one).shape is one.shape
    True
    """
    if section == other:
        return other
    mine, theirs = dict(section), dict(other)
    return section.model_copy(update={name: _shared(part, theirs[name]) for name, part in mine.items()})


def _shared(part: object, other: object) -> object:
    if part == other:
        return other
    if isinstance(part, Section) and isinstance(other, Section) and type(part) is type(other):
        return with_parts_of(part, other)
    return part
