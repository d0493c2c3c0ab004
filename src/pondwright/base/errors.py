"""Everything that pondwright raises on purpose.

PondwrightError
├── DocumentError    a job file or an edit that breaks the document's rules: all faults at once
├── DomainError      a method was asked for something that has no answer (also a ValueError)
├── ImportRefused    a file from outside that cannot be read as what it claims to be
├── StoreError       the store could not keep or find something
└── StageError       a stage broke its own contract (a fault of ours, not of the user)
"""

from __future__ import annotations

from dataclasses import dataclass


class PondwrightError(Exception):
    """Base of all errors that are told to a person in one sentence."""


@dataclass(frozen=True, slots=True)
class Fault:
    """One fault in a document: where it is, which rule it breaks, and what was found."""

    path: str
    rule: str
    found: str = ""

    def __str__(self) -> str:
        found = f", got {self.found}" if self.found else ""
        return f"`{self.path}` {self.rule}{found}"


class DocumentError(PondwrightError):
    """A document that breaks its rules; carries every fault, not only the first."""

    def __init__(self, says: str, faults: tuple[Fault, ...] = ()) -> None:
        self.says = says
        self.faults = faults
        super().__init__("\n".join([says, *(f"  {fault}" for fault in faults)]))


class DomainError(PondwrightError, ValueError):
    """A method has no answer for these inputs: `name` rule, value got, unit."""


class ImportRefused(PondwrightError):
    """A file from outside was refused; nothing of it was taken."""


class StoreError(PondwrightError):
    """The store could not keep or find something."""


class StageError(PondwrightError):
    """A stage broke its contract, for example by reading what it did not declare."""
