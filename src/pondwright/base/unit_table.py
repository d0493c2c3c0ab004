"""The table of units: which there are, how they are spelled, and which of them a job shows.

It is read from ``units.csv`` and ``shown_units.csv`` beside this module.  Reading and writing with them
is the work of :mod:`pondwright.base.units`.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import cache
from itertools import product
from typing import Literal

from pondwright.base.errors import DomainError
from pondwright.base.kinds import (
    BULK_MASS,
    ELEVATION,
    LENGTH,
    MASS,
    ROAD_LENGTH,
    ROAD_SPEED,
    SOIL_VOLUME,
    SPEED,
    VOLUME,
    Kind,
)
from pondwright.base.numbers import NUMBER, THIN_SPACE
from pondwright.base.tables import read_table

Shown = Literal["us", "us_inch", "metric"]

MEASURED_AS = {
    ELEVATION: LENGTH,
    ROAD_LENGTH: LENGTH,
    SOIL_VOLUME: VOLUME,
    ROAD_SPEED: SPEED,
    BULK_MASS: MASS,
}
"""Kinds that have the units of another kind, and differ in how they are shown: soil is counted in
cubic yards where water is counted in gallons, loads in tons where stones are counted in pounds, and roads
in miles where shores are counted in feet."""

CALLED = {"tons": "short ton", "miles": "mile"}
"""Units by the word that they are shown with where it is another; tons are read in US jobs only."""


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit: value in the house unit = number × `factor` + `offset`.

    `then` is the smaller unit that may follow (``6 ft 2 in``), `mark` the sign it may be written with,
    `digits` the decimals it is shown with.
    """

    name: str
    kind: str
    factor: Decimal
    offset: Decimal
    digits: int
    then: str
    mark: str
    spellings: tuple[str, ...]
    us_spellings: tuple[str, ...]


@cache
def units() -> Mapping[tuple[str, str], Unit]:
    """Every unit by kind and name (an elevation has the units of a length)."""
    rows = read_table("pondwright.base", "units.csv").rows
    listed = [
        Unit(
            row["unit"],
            row["kind"],
            Decimal(row["factor"]),
            Decimal(row["offset"]),
            int(row["digits"]),
            row["then"],
            row["mark"],
            tuple(row["spellings"].split(";")),
            tuple(row["us_spellings"].split(";")),
        )
        for row in rows
    ]
    return {(unit.kind, unit.name): unit for unit in listed}


@cache
def shown_row(kind: Kind) -> Mapping[str, str]:
    """Row of ``shown_units.csv``: the unit of a kind in each kind of job, and examples of it."""
    rows = read_table("pondwright.base", "shown_units.csv").rows
    return next(row for row in rows if row["kind"] == kind.name)


def unit_named(kind: Kind, name: str) -> Unit:
    """Unit of a kind by its name; ``ft-in`` counts in feet, and ``tons`` are short tons."""
    found = units().get((measure_of(kind), "ft" if name == "ft-in" else CALLED.get(name, name)))
    if found is not None and name in CALLED:
        return replace(found, name=name)
    if found is None:
        raise DomainError(f"`{name}` must be a unit of {with_article(kind.name)}, for example `{kind.unit}`")
    return found


def measure_of(kind: Kind) -> str:
    """Kind whose units a kind is measured in: an elevation is a length, soil is a volume."""
    return MEASURED_AS.get(kind, kind).name


def with_article(name: str) -> str:
    """Name of a kind with its article: ``an area``."""
    return f"an {name}" if name[0] in "aeiou" else f"a {name}"


@cache
def _spelled(name: str) -> tuple[str, ...]:
    """Every spelling of a unit, the name first; ``=`` in front of those whose case counts."""
    unit = next(unit for unit in units().values() if unit.name == name)
    plain = cleaned(name)
    listed = _expanded(unit.spellings)
    return listed if f"={plain}" in listed else (plain, *listed)


def _expanded(spellings: tuple[str, ...]) -> tuple[str, ...]:
    """Spellings with each ``{unit}`` replaced by every spelling of that unit."""
    texts: list[str] = []
    for spelling in filter(None, spellings):
        pieces = re.split(r"\{(.*?)\}", spelling)
        choices = [_spelled(piece) if at % 2 else (piece,) for at, piece in enumerate(pieces)]
        texts += ("".join(choice) for choice in product(*choices))
    return tuple(texts)


@dataclass(frozen=True, slots=True)
class Words:
    """The words of one kind: unit by spelling, those read in US jobs only, and the pattern of a part."""

    exact: Mapping[str, Unit]
    folded: Mapping[str, Unit]
    us_only: Mapping[str, Unit]
    marks: Mapping[str, Unit]
    part: re.Pattern[str]

    def unit(self, word: str) -> Unit | None:
        """Unit that a word means everywhere, if any."""
        return self.marks.get(word) or self.exact.get(word) or self.folded.get(word.casefold())


@cache
def words_of(measure: str) -> Words:
    """Words of a kind, made when first asked for."""
    own = [unit for unit in units().values() if unit.kind == measure and unit.name != "-"]
    spelled = [(text, unit) for unit in own for text in _spelled(unit.name)]
    exact = {text.removeprefix("="): unit for text, unit in spelled}
    folded = {text.casefold(): unit for text, unit in spelled if not text.startswith("=")}
    us_only = {text: unit for unit in own for text in _expanded(unit.us_spellings)}
    marks = {unit.mark: unit for unit in own if unit.mark}
    longest_first = sorted({*exact, *us_only}, key=lambda text: (-len(text), text))
    word = "|".join(map(re.escape, longest_first))
    mark = "".join(map(re.escape, marks))
    # A word ends where no letter or digit follows, so that `5 ft2` is no length; a mark ends anywhere.
    ended = rf"(?:{word})(?![a-z0-9])" + (f"|[{mark}](?![a-z])" if mark else "")
    part = re.compile(rf"({NUMBER})(?:[ ]?({ended}))?", re.IGNORECASE)
    return Words(exact, folded, us_only, marks, part)


# Spelling.

_SIGNS = str.maketrans(
    {
        **dict.fromkeys("\u2010\u2011\u2012\u2013\u2014\u2212\ufe63\uff0d", "-"),
        **dict.fromkeys("′’‘ʹ´`ʼ", "'"),
        **dict.fromkeys("″”“ʺ", '"'),
        **dict.fromkeys("º˚", "°"),
        **dict.fromkeys("µμ", "u"),
        **{"⁄": "/", "∕": "/", "℃": "°C", "℉": "°F"},
    }
)
_POWER = re.compile(r"\s*[x×·*]\s*10(?:\^([+-]?[0-9]+)|([⁺⁻]?[⁰¹²³⁴⁵⁶⁷⁸⁹]+))", re.IGNORECASE)
_RAISED_UNIT = re.compile(r"(?<=[a-z])\s?(?:\^(?=[23])|(?=[²³]))([23²³])", re.IGNORECASE)
_THOUSANDS = re.compile(r"(?<=[0-9])[\u2009\u202f\u00a0](?=[0-9]{3}(?![0-9/]))")


def cleaned(text: str) -> str:
    """Text in plain signs: one kind of space, minus, prime and fraction; units without raised digits."""
    text = _POWER.sub(lambda found: "e" + unicodedata.normalize("NFKC", found[1] or found[2]), text)
    text = _RAISED_UNIT.sub(lambda found: unicodedata.normalize("NFKC", found[1]), text)
    text = "".join(_spread(sign) for sign in text).translate(_SIGNS).replace("''", '"')
    text = _THOUSANDS.sub("\0", text)
    text = " ".join(text.split()).replace("\0", THIN_SPACE)
    text = re.sub(r"(?<=[a-z])\.(?![0-9])", "", text, flags=re.IGNORECASE)
    return re.sub(r" per | ?/ ?", "/", text, flags=re.IGNORECASE)


def _spread(sign: str) -> str:
    """A one-sign fraction spread out, ``½`` to `` 1/2``; any other sign as it is."""
    if unicodedata.decomposition(sign).startswith("<fraction>"):
        return " " + unicodedata.normalize("NFKC", sign)
    return sign
