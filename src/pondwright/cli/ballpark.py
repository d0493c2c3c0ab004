"""What ``pondwright ballpark`` prints: a price band, and what it stands on."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path

from pondwright.base.errors import DomainError, ImportRefused
from pondwright.base.kinds import AREA
from pondwright.base.numbers import THIN_SPACE
from pondwright.base.units import Shown, format_value, parse
from pondwright.cli import output
from pondwright.exchange.past_jobs import read_past_jobs
from pondwright.rooms.site.ballpark import PriceBand, Traits, price_band

LIKE_WORDS = {
    "all four": "like this one in all that was asked",
    "rock and falls": "like it in rock and falls",
    "rock": "like it in rock",
    "any": "of any kind, for too few are alike in rock and falls",
}
NOT_AN_OFFER = "A band from past jobs is no offer: what is in the ground is not in it."


def print_ballpark(past: Path, area: str, traits: Traits, shown: Shown, *, as_json: bool) -> None:
    """Print the price band for an area from a table of past jobs.

    Parameters
    ----------
    past : Path
        Table of past jobs (CSV).
    area : str
        Water surface as it was typed.
    traits : Traits
    shown : Shown
        Units of a bare area.
    as_json : bool

    Raises
    ------
    ImportRefused
        If the table cannot be read.
    DomainError
        If the area cannot be read.
    """
    wanted = parse(area, AREA, shown).value
    if wanted <= 0.0:
        raise DomainError(f"`--area` must be above zero, got {area}")
    try:
        text = past.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        why = getattr(error, "strerror", None) or "it is no text"
        raise ImportRefused(f"`{past}` cannot be read: {why}") from None
    band = price_band(wanted, traits, read_past_jobs(text, shown))
    plain = {"area": wanted, "unit": AREA.unit, **asdict(band)}
    output.answer(plain, _text(band, format_value(wanted, AREA, shown)), as_json=as_json)


def _text(band: PriceBand, area: str) -> str:
    rows = [
        ("seldom less than", _money(band.low)),
        ("likely", _money(band.likely)),
        ("seldom more than", _money(band.high)),
    ]
    jobs = "1 past job" if band.count == 1 else f"{band.count} past jobs"
    lines = [f"{area} of water", output.columns(rows, indent="  ", right=frozenset({1}))]
    lines.append(f"From {jobs} {LIKE_WORDS[band.like]}; four in five should fall within the band.")
    if band.stated:
        lines.append("Fewer than three: how far prices lie apart is a stated default (common practice).")
    if band.beyond:
        lines.append("None of them was near this size.")
    return "\n".join([*lines, NOT_AN_OFFER])


def _money(number: float) -> str:
    """A price to three figures: nobody reads pennies in a band."""
    return f"{float(f'{number:.3g}'):,.0f}".replace(",", THIN_SPACE)
