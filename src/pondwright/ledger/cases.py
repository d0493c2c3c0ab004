"""Cases of the ledger, read from the CSV files in ``cases/``.

Columns: ``id``, ``methods`` (dotted names below ``pondwright``, several with ``;``), ``problem`` (a
function of :mod:`pondwright.ledger.problems` that is called instead of the method, or, with the name of
its module before it, of another module of the ledger; may be empty),
``inputs`` (a JSON object), ``result`` (dotted fields, keys and indices into what is given), ``expected``
(JSON, or the word ``refused``), ``tolerance``, ``tolerance_kind`` (``absolute`` or ``relative``),
``document``, ``place``, ``status`` and ``note``.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any, Literal

from pondwright.base.errors import PondwrightError
from pondwright.base.tables import read_table

REFUSED = "refused"
STATUSES = ("confirmed", "derived", "from memory", "common practice")
ToleranceKind = Literal["absolute", "relative"]


class LedgerError(PondwrightError):
    """A row of the ledger that is not sound."""


@dataclass(frozen=True, slots=True)
class Case:
    """One number that a method must give, and where it comes from."""

    id: str
    room: str
    methods: tuple[str, ...]
    problem: str
    inputs: Mapping[str, Any]
    result: str
    expected: Any
    tolerance: float
    tolerance_kind: ToleranceKind
    document: str
    place: str
    status: str
    note: str

    @property
    def cited(self) -> str:
        """Document and place in one phrase."""
        return f"{self.document}, {self.place}" if self.place else self.document


@cache
def cases() -> tuple[Case, ...]:
    """All cases, room by room.

    Returns
    -------
    tuple of Case

    Raises
    ------
    LedgerError
        If a row is not sound, or an id stands twice.
    """
    folder = files("pondwright.ledger").joinpath("cases")
    names = sorted(file.name for file in folder.iterdir() if file.name.endswith(".csv"))
    found = tuple(
        _case(name.removesuffix(".csv"), row)
        for name in names
        for row in read_table("pondwright.ledger", f"cases/{name}").rows
    )
    ids = [case.id for case in found]
    for twice in {name for name in ids if ids.count(name) > 1}:
        raise LedgerError(f"case `{twice}` must stand once in the ledger")
    return found


def _case(room: str, row: Mapping[str, str]) -> Case:
    if row["status"] not in STATUSES:
        raise LedgerError(
            f"case `{row['id']}` must have a status of {', '.join(STATUSES)}, got `{row['status']}`"
        )
    if row["tolerance_kind"] not in ("absolute", "relative"):
        raise LedgerError(f"case `{row['id']}` must have a tolerance that is absolute or relative")
    try:
        inputs = json.loads(row["inputs"])
        expected = REFUSED if row["expected"] == REFUSED else json.loads(row["expected"])
    except json.JSONDecodeError as error:
        raise LedgerError(f"case `{row['id']}` must have JSON inputs and expected: {error}") from error
    return Case(
        id=row["id"],
        room=room,
        methods=tuple(name.strip() for name in row["methods"].split(";")),
        problem=row["problem"],
        inputs=inputs,
        result=row["result"],
        expected=expected,
        tolerance=float(row["tolerance"]),
        tolerance_kind="absolute" if row["tolerance_kind"] == "absolute" else "relative",
        document=row["document"],
        place=row["place"],
        status=row["status"],
        note=row["note"],
    )
