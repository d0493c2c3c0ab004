"""What ``pondwright ledger`` prints."""

from __future__ import annotations

from pondwright.cli import output
from pondwright.ledger.run import Ledger


def print_ledger(found: Ledger, *, missing: bool, as_json: bool) -> None:
    """Print the cases of the ledger and how they came out, or only the methods without a case.

    Parameters
    ----------
    found : Ledger
    missing : bool
    as_json : bool
    """
    if missing and (as_json or found.missing):
        output.answer(found.missing, "\n".join(found.missing), as_json=as_json)
    elif not missing:
        output.answer(found if as_json else None, "" if as_json else _text(found), as_json=as_json)


def _text(found: Ledger) -> str:
    rows = [
        (
            "met" if each.met else "NOT MET",
            each.case.id,
            ", ".join(each.case.methods),
            each.expected,
            each.ours,
            each.case.status,
            each.case.cited,
        )
        for each in found.outcomes
    ]
    head = ("", "case", "method", "expected", "ours", "status", "document")
    counts = ", ".join(f"{count} {status}" for status, count in found.counts.items())
    return (
        output.columns([head, *rows], right=frozenset({3, 4}))
        + f"\n\n{len(found.outcomes)} cases ({counts}), {len(found.unmet)} not met;"
        + f" {len(found.missing)} methods without a case"
    )
