"""Where a number comes from: a published document, a derivation, memory or plain practice."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Standing(StrEnum):
    """How sure we are of a source."""

    CONFIRMED = "confirmed"
    DERIVED = "derived"
    MEMORY = "from memory"
    PRACTICE = "common practice, no source"


@dataclass(frozen=True, slots=True)
class Source:
    """One citation: a document, the place in it, and how sure we are of it."""

    document: str
    place: str = ""
    standing: Standing = Standing.CONFIRMED

    def __str__(self) -> str:
        if self.standing is Standing.PRACTICE:
            return str(self.standing)
        cited = f"{self.document}, {self.place}" if self.place else self.document
        if self.standing is Standing.MEMORY:
            return f"{cited} (from memory: check against the current edition)"
        return cited


PRACTICE = Source("", "", Standing.PRACTICE)


def derived(how: str) -> Source:
    """Source of a number that follows from plain mathematics, told in one phrase."""
    return Source(f"derived: {how}", "", Standing.DERIVED)


def from_memory(document: str, place: str = "") -> Source:
    """Source that is real but whose figure was not read again here."""
    return Source(document, place, Standing.MEMORY)
