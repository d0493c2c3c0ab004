"""A page of a level book, pasted or dropped: set-ups and readings, with what is wrong in each cell.

A header names the columns; without one the order is the usual one of a field book.  A row is a point: its
foresight belongs to the set-up that stands, its backsight begins the next one.  Nothing is taken silently:
every cell that cannot be read says so, and nothing is kept before the person agrees.
"""

from __future__ import annotations

import csv
import io
import re
import unicodedata
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Literal

from pondwright.base.errors import DomainError, ImportRefused
from pondwright.base.findings import Op
from pondwright.base.kinds import ELEVATION, LENGTH
from pondwright.base.units import Shown, parse, unit_of

MOST_ROWS = 5_000
SEPARATORS = ("\t", ";", "|", ",")
Reads = Literal["down", "up"]
RodUnit = Literal["m", "cm", "mm", "ft", "ft-in"]

NAMES: Mapping[str, tuple[str, ...]] = {
    "station": ("station", "sta", "stn", "point", "pt", "name", "id", "no"),
    "back": ("bs", "back", "backsight", "+", "plus"),
    "instrument": ("hi", "hoi", "hpc", "heightofinstrument", "collimation"),
    "inter": ("ifs", "is", "int", "inter", "intermediate", "intermediatesight", "intermediateforesight"),
    "fore": ("fs", "fore", "foresight", "-", "minus", "rod", "reading"),
    "elevation": ("elevation", "elev", "el", "rl", "level", "reducedlevel", "height", "z"),
    "distance": ("distance", "dist", "d", "sight", "sightlength"),
    "back_distance": ("bsdist", "bsdistance", "distbs", "backdist", "backdistance"),
    "fore_distance": ("fsdist", "fsdistance", "distfs", "foredist", "foredistance"),
    "remarks": ("remarks", "remark", "notes", "note", "description", "desc", "code"),
}
USUAL_ORDERS: Mapping[int, tuple[str, ...]] = {
    3: ("station", "back", "fore"),
    4: ("station", "back", "fore", "elevation"),
    5: ("station", "back", "instrument", "fore", "elevation"),
    6: ("station", "back", "instrument", "fore", "elevation", "remarks"),
    7: ("station", "back", "instrument", "inter", "fore", "elevation", "remarks"),
    8: ("station", "back", "instrument", "inter", "fore", "elevation", "distance", "remarks"),
}
SIGHTS = ("back", "inter", "fore")
LENGTHS = (*SIGHTS, "distance", "back_distance", "fore_distance")

_MOST_ROD = 20.0
_MOST_SIGHT = 1000.0
_HI_SLACK = 0.002
_LONGEST_ID = 40
_GAP = re.compile(r"\S {2,}\S")
_CELL = re.compile(r"\S+(?: \S+)*")
_EXAMPLE = "for example `BM1, 4.20, 104.20, , 100.00`"


@dataclass(frozen=True, slots=True)
class FieldRow:
    """One row of a page: its numbers as far as they can be read [m], and what is wrong by column."""

    line: int
    station: str
    point: str
    numbers: Mapping[str, float]
    remarks: str
    errors: Mapping[str, str] = field(default_factory=dict)

    def begins(self, column: str) -> bool:
        """Whether the row has something in a column of readings, readable or not."""
        return column in self.numbers or column in self.errors


@dataclass(frozen=True, slots=True)
class FieldPage:
    """A page as it was understood: rows to look at, and what it would add to the job.

    `book`, `marks` and `shots` are plain rows of the document; `shots` holds points that were only shot and
    that the job does not know, without a place; `marks` those that the page begins on with an elevation.
    """

    rows: tuple[FieldRow, ...]
    columns: tuple[str, ...]
    book: Mapping[str, Any]
    marks: Mapping[str, Mapping[str, Any]]
    shots: Mapping[str, Mapping[str, Any]]
    says: str

    @property
    def faults(self) -> tuple[str, ...]:
        """What is wrong, a sentence for each cell."""
        return tuple(
            f"line {row.line}, {column.replace('_', ' ')}: {why}"
            for row in self.rows
            for column, why in row.errors.items()
        )

    def ops(self, book: str) -> tuple[Op, ...]:
        """Operations that take the page into a job as a book of that id."""
        return (
            *(Op("add", f"/site/marks/{name}", dict(row)) for name, row in self.marks.items()),
            *(Op("add", f"/site/shots/{name}", dict(row)) for name, row in self.shots.items()),
            Op("add", f"/site/books/{book}", dict(self.book)),
        )


def read_field_book(
    text: str,
    shown: Shown,
    *,
    unit: RodUnit | None = None,
    reads: Reads = "down",
    marks: Collection[str] = (),
    shots: Collection[str] = (),
) -> FieldPage:
    r"""Page of a level book, pasted or dropped.

    Parameters
    ----------
    text : str               Lines of cells parted by tabs, semicolons, bars or commas; empty cells count.
                             Two spaces or more part cells where it is plain which column each is in.
    shown : Shown            Units of the job; a bare number takes them.
    unit : str or None       Unit in which the rod was read, before that of the job; a header such as
                             ``BS (ft)`` goes before both.
    reads : str              ``down``: a larger reading is lower ground; ``up``: it is higher.
    marks, shots : ids       What the job knows, so that names lead to it and only new points are added.

    Returns
    -------
    FieldPage

    Raises
    ------
    ImportRefused            If there are no rows, too many, or no columns of readings.

    Examples
    --------
    >>> text = "Pt,BS,HI,FS,Elev\nBM 1,4.20,104.20,,100.00\nTP1,5.15,,2.50,101.70\nrim,,,oops,"
    >>> page = read_field_book(text, "us")
    >>> [len(set_up["readings"]) for set_up in page.book["set_ups"]], page.marks["bm_1"]["elevation"]
    ([1, 0], 30.48)
    >>> page.rows[2].errors["fore"][:6], sorted(page.shots)
    ('`oops`', ['rim'])
    """
    lines = [(number, line) for number, line in enumerate(text.splitlines(), 1) if line.strip()]
    if not lines:
        raise ImportRefused(f"there are no rows: paste a line for each point of the book, {_EXAMPLE}")
    if len(lines) > MOST_ROWS:
        raise ImportRefused(
            f"there are {len(lines)} rows; a page of a level book may have {MOST_ROWS} at most"
        )
    cells = _table(lines)
    columns, units = _header(cells[0][1])
    body = cells[1:] if columns else cells
    if not body:
        raise ImportRefused("there is a header but no row below it")
    columns = columns or _usual_order(body)
    names = _Names((*marks, *shots))
    rod = units.get("back") or unit or unit_of(LENGTH, shown)
    rows = tuple(_row(number, row, columns, units, rod, names, reads) for number, row in body)
    return _page(rows, columns, rod, reads, marks, shots)


def _table(lines: Sequence[tuple[int, str]]) -> list[tuple[int, list[str]]]:
    """Cells of the lines, by what parts them."""
    separator = next((one for one in SEPARATORS if any(one in line for _, line in lines)), None)
    # A comma in some lines only stands in a remark or before decimals, where wide spaces part the cells.
    is_spaced = separator in (None, ",") and any(
        _GAP.search(line.strip()) and "," not in line for _, line in lines
    )
    if is_spaced:
        return _spaced(lines)
    if separator is None:
        raise ImportRefused(
            f"cells must be parted by tabs, semicolons or commas, so that empty ones count, {_EXAMPLE}"
        )
    return [(number, _cells(line, separator)) for number, line in lines]


def _spaced(lines: Sequence[tuple[int, str]]) -> list[tuple[int, list[str]]]:
    """Cells parted by two spaces or more: told by their count, else by the words of the header above them.

    An empty cell between spaces cannot be seen, so a line with fewer cells than the header is read only
    where each of its cells begins or ends with one word of the header.
    """
    spans = [(number, [found.span() for found in _CELL.finditer(line)], line) for number, line in lines]
    first = spans[0][1]
    if all(len(own) == len(first) for _, own, _ in spans):
        return [(number, [line[begin:end] for begin, end in own]) for number, own, line in spans]
    table = []
    for number, own, line in spans:
        cells = [""] * len(first)
        for begin, end in own:
            under = [at for at, (left, right) in enumerate(first) if begin < right and left < end]
            # A cell that begins or ends where the word above it does was set under it; others only happen to.
            set_so = [at for at in under if begin == first[at][0] or end == first[at][1]]
            if len(under) != 1 or under != set_so or cells[under[0]]:
                raise ImportRefused(
                    f"line {number} has {len(own)} cells where line {spans[0][0]} has {len(first)}, and"
                    " between spaces an empty cell cannot be seen: part the cells by tabs, semicolons or"
                    f" commas, {_EXAMPLE}"
                )
            cells[under[0]] = line[begin:end]
        table.append((number, cells))
    return table


class _Names:
    """Ids for the names that a person wrote: ``TP-1``, ``tp 1`` and a known ``tp1`` are one point."""

    def __init__(self, known: Collection[str]) -> None:
        self._by_key = {self._key(name): name for name in known}

    def id_of(self, name: str) -> str:
        """Id for a name; empty where there is none, or where it is longer than an id may be."""
        plain = "".join(_in_ascii(letter) for letter in unicodedata.normalize("NFKD", name.lower()))
        slug = re.sub(r"[^a-z0-9]+", "_", plain).strip("_")
        slug = slug if not slug or slug[0].isalpha() else f"p{slug}"
        return self._by_key.setdefault(self._key(slug), slug) if len(slug) <= _LONGEST_ID else ""

    @staticmethod
    def _key(slug: str) -> str:
        """Parts of numbers stay apart (1_1 is not 11); a letter and a number may be written together."""
        return re.sub(r"(?<=[a-z])_|_(?=[a-z])", "", slug)


def _in_ascii(letter: str) -> str:
    """Letter of another script by its number, so that names in it stay apart; accents are dropped."""
    if letter.isascii() or not letter.isalnum():
        return "" if unicodedata.combining(letter) else letter
    return f"x{ord(letter):x}"


def _cells(line: str, separator: str) -> list[str]:
    try:
        found = next(csv.reader(io.StringIO(line), delimiter=separator), [])
    except csv.Error:
        found = line.split(separator)
    return [cell.strip() for cell in found]


def _header(cells: Sequence[str]) -> tuple[tuple[str, ...], dict[str, str]]:
    """Columns that the first line names, with the units that it states; nothing if it is no header."""
    columns: list[str] = []
    units: dict[str, str] = {}
    for cell in cells:
        found = re.fullmatch(r"([^(\[]*)(?:[(\[]([^)\]]*)[)\]])?\s*", cell)
        word = re.sub(r"[^a-z+-]", "", found[1].lower()) if found else ""
        word = word if word in ("+", "-") else word.strip("+-").replace("-", "")
        column = next((name for name, spellings in NAMES.items() if word in spellings), "")
        column = "" if column in columns else column
        columns.append(column)
        if column and found and found[2]:
            units[column] = found[2].strip()
    if "back" not in columns or not {"fore", "inter"} & set(columns):
        return (), {}
    if "station" not in columns:
        raise ImportRefused("the header must name a column `station` (or `point`) beside its readings")
    return tuple(columns), units


def _usual_order(rows: Sequence[tuple[int, Sequence[str]]]) -> tuple[str, ...]:
    width = max(len(row) for _, row in rows)
    if width not in USUAL_ORDERS:
        raise ImportRefused(
            f"these rows have {width} cells: put a header over them, such as `station, BS, HI, FS, elevation`"
        )
    return USUAL_ORDERS[width]


def _row(
    number: int,
    cells: Sequence[str],
    columns: Sequence[str],
    units: Mapping[str, str],
    unit: str,
    names: _Names,
    reads: Reads,
) -> FieldRow:
    found = {column: cell for column, cell in zip(columns, cells, strict=False) if column}
    numbers: dict[str, float] = {}
    errors: dict[str, str] = {}
    for column in (*LENGTHS, "instrument", "elevation"):
        cell = found.get(column, "")
        if cell in ("", "-", "–", "—"):
            continue
        try:
            numbers[column] = _number(column, cell, units.get(column, unit))
        except DomainError as error:
            errors[column] = str(error)
    station = found.get("station", "")
    point = names.id_of(station)
    read = [column for column in SIGHTS if column in numbers or column in errors]
    if read and not point:
        errors["station"] = (
            f"must be a name of at most {_LONGEST_ID} letters"
            if station
            else "is missing: name the point read"
        )
    errors.update(_contradictions(numbers, read, reads))
    for column in errors.keys() & numbers.keys():
        del numbers[column]
    return FieldRow(number, station[:200], point, numbers, found.get("remarks", "")[:200], errors)


def _number(column: str, cell: str, unit: str) -> float:
    """Number of a cell, in metres; a reading is a length of rod, a height is any."""
    if column not in LENGTHS:
        return parse(cell, ELEVATION, unit=_plain(unit)).value
    value = parse(cell, LENGTH, unit=unit).value
    if column in SIGHTS and abs(value) > _MOST_ROD:
        raise DomainError(f"`{cell}` must be a reading of at most 20 m (65 ft): is its unit right?")
    if column not in SIGHTS and not 0.0 < value <= _MOST_SIGHT:
        raise DomainError(f"`{cell}` must be the length of a sight, above 0 and at most 1000 m")
    return value


def _plain(unit: str) -> str:
    """Unit of a height beside a rod in small units: centimetres on the rod, metres in the book."""
    return "m" if unit in ("cm", "mm") else unit


def _contradictions(
    numbers: Mapping[str, float], read: Sequence[str], reads: Reads
) -> Iterator[tuple[str, str]]:
    if "inter" in read and "fore" in read:
        yield "inter", "stands beside a foresight: one row has one of the two"
    if "distance" in numbers and len(read) > 1:
        yield "distance", "could be of either sight: give columns `BS dist` and `FS dist`"
    if {"instrument", "back", "elevation"} <= numbers.keys():
        sign = -1.0 if reads == "up" else 1.0
        gap = numbers["instrument"] - numbers["elevation"] - sign * numbers["back"]
        if abs(gap) > _HI_SLACK:
            yield "instrument", "is not elevation and backsight together; it is worked out from those two"


def _page(
    rows: Sequence[FieldRow],
    columns: tuple[str, ...],
    unit: str,
    reads: Reads,
    marks: Collection[str],
    shots: Collection[str],
) -> FieldPage:
    set_ups: list[dict[str, Any]] = []
    only_shot: dict[str, FieldRow] = {}
    started: dict[str, float] = {}
    backs = {row.point for row in rows if row.begins("back")}
    last = max((place for place, row in enumerate(rows) if row.begins("fore")), default=-1)
    carried: set[str] = set()
    for place, row in enumerate(rows):
        if row.begins("inter") or row.begins("fore"):
            kind = _kind(row, "inter" in columns, place == last, backs, {*marks, *started})
            carried |= {row.point} if kind != "side" else set()
            if row.point not in backs:
                only_shot.setdefault(row.point, row)
            if not set_ups:
                set_ups.append(_set_up(1))
            set_ups[-1]["readings"] += _readings(row, "fore" if row.begins("fore") else "inter", kind)
        if row.begins("back"):
            if not set_ups or set_ups[-1]["readings"] or row.begins("fore"):
                set_ups.append(_set_up(len(set_ups) + 1))
            set_ups[-1]["backsights"] += _readings(row, "back", "side")
            if row.point not in carried and "elevation" in row.numbers:
                started.setdefault(row.point, row.numbers["elevation"])
    known = {*marks, *shots}
    new_marks = {
        name: {"elevation": height} for name, height in started.items() if name and name not in known
    }
    new_shots = {
        name: _new_shot(row) for name, row in only_shot.items() if name and name not in {*known, *new_marks}
    }
    book = {"unit": _book_unit(unit), "reads": reads, "set_ups": set_ups}
    says = _sentence(rows, columns, unit, set_ups, new_marks, new_shots)
    return FieldPage(tuple(rows), columns, book, new_marks, new_shots, says)


def _new_shot(row: FieldRow) -> dict[str, Any]:
    shot: dict[str, Any] = {"place": {"by": "book"}}
    if row.station != row.point:
        shot["name"] = row.station
    if row.remarks:
        shot["code"] = row.remarks
    return shot


def _kind(
    row: FieldRow, has_inter: bool, is_last: bool, backs: Collection[str], marks: Collection[str]
) -> Literal["side", "turn", "check"]:
    """What a foresight is for: in a single column only what is backsighted or ends the page carries."""
    if row.begins("inter") and not row.begins("fore"):
        return "side"
    if row.begins("back"):
        return "turn"
    if row.point in marks:
        return "check"
    if row.point in backs:
        return "turn"
    return "turn" if has_inter or is_last else "side"


def _set_up(number: int) -> dict[str, Any]:
    return {"station": str(number), "backsights": [], "readings": []}


def _readings(row: FieldRow, column: str, kind: str) -> list[dict[str, Any]]:
    """Reading of a cell as a plain row, or none if it cannot be read: its set-up stays all the same."""
    if column not in row.numbers or not row.point:
        return []
    own_distance = "back_distance" if column == "back" else "fore_distance"
    reading: dict[str, Any] = {"point": row.point, "rod": row.numbers[column]}
    if kind != "side":
        reading["kind"] = kind
    distance = row.numbers.get(own_distance, row.numbers.get("distance"))
    if distance is not None:
        reading["distance"] = distance
    if "elevation" in row.numbers and (column != "back" or not row.begins("fore")):
        reading["noted"] = row.numbers["elevation"]
    return [reading]


def _book_unit(unit: str) -> str:
    return {"ft-in": "ft_in", "in": "ft_in", "ft": "ft"}.get(unit, "m")


def _sentence(
    rows: Sequence[FieldRow],
    columns: Sequence[str],
    unit: str,
    set_ups: Sequence[Mapping[str, Any]],
    marks: Mapping[str, Any],
    shots: Mapping[str, Any],
) -> str:
    read = ", ".join(column.replace("_", " ") for column in columns if column)
    wrong = sum(len(row.errors) for row in rows)
    faults = f"; {wrong} cells cannot be read" if wrong else ""
    new = [f"{len(marks)} new marks" if marks else "", f"{len(shots)} new shots" if shots else ""]
    adds = "".join(f", {each}" for each in new if each)
    return f"{len(rows)} rows, read as {read}, bare numbers in {unit}: {len(set_ups)} set-ups{adds}{faults}."
