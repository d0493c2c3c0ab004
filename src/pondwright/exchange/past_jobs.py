"""Past jobs of a firm from a table of text: area, price, and what each was like."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping

from pondwright.base.errors import DomainError, ImportRefused
from pondwright.base.kinds import AREA
from pondwright.base.numbers import read_number
from pondwright.base.units import Shown, parse
from pondwright.rooms.site.ballpark import PastJob, Traits

MOST_ROWS = 2_000
MOST_PAID = 10**12
NEEDED = ("area", "price")
TRAITS = ("rocky", "falls", "hard_access", "wet")
_YES = frozenset({"yes", "y", "x", "1", "true", "hard", "wet", "rocky"})
_NO = frozenset({"", "no", "n", "0", "false", "easy", "dry", "plain"})


def read_past_jobs(text: str, shown: Shown) -> tuple[PastJob, ...]:
    r"""Past jobs of a table with a header.

    Parameters
    ----------
    text : str       Lines of cells parted by commas; the header names `area` and `price`, and may name
                     `rocky`, `falls`, `hard_access` and `wet`, whose cells are yes or no.
    shown : Shown    Units of a bare area.

    Returns
    -------
    tuple of PastJob

    Raises
    ------
    ImportRefused    If a column is missing or a cell cannot be read; names the line.

    Examples
    --------
    >>> job, = read_past_jobs("area,price,rocky\n500 ft2,\"24,000\",yes", "us")
    >>> round(job.area, 2), job.price, job.traits.rocky
    (46.45, 24000.0, True)
    """
    try:
        lines = list(csv.reader(io.StringIO(text.removeprefix("\ufeff")), strict=True))
    except csv.Error as error:
        raise ImportRefused(f"the table of past jobs cannot be read: {error}") from None
    rows = [(number, row) for number, row in enumerate(lines, 1) if any(cell.strip() for cell in row)]
    if len(rows) > MOST_ROWS + 1:
        raise ImportRefused(f"there are {len(rows) - 1} past jobs; at most {MOST_ROWS} are read")
    header = [cell.strip().lower().replace(" ", "_") for cell in rows[0][1]] if rows else []
    for name in NEEDED:
        if name not in header:
            raise ImportRefused(f"a table of past jobs must have a column `{name}`, and a row for each job")
    if len(rows) < 2:
        raise ImportRefused("the table of past jobs has a header but no row below it")
    return tuple(_job(number, dict(zip(header, row, strict=False)), shown) for number, row in rows[1:])


def _job(line: int, cells: Mapping[str, str], shown: Shown) -> PastJob:
    try:
        area = parse(cells.get("area", ""), AREA, shown).value
        price = _price(cells.get("price", ""), shown)
        if area <= 0.0 or price <= 0.0:
            raise DomainError("area and price must be above zero")
        return PastJob(area, price, Traits(**{name: _is(cells.get(name, ""), name) for name in TRAITS}))
    except DomainError as error:
        raise ImportRefused(f"line {line} of the past jobs: {error}") from None


def _price(text: str, shown: Shown) -> float:
    bare = "".join(text.split()).strip("$€£")
    number = read_number(bare, thousands_comma=shown != "metric")
    if number is None or number.value > MOST_PAID:
        raise DomainError(f"`{' '.join(text.split())[:40]}` is no price: write for example 24000")
    return float(number.value)


def _is(text: str, name: str) -> bool:
    word = text.strip().lower()
    if word not in _YES | _NO:
        raise DomainError(f"`{name}` must be yes or no, got `{word[:40]}`")
    return word in _YES
