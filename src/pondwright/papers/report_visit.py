"""Parts of the site report that the first visit fills: who asks, wishes, the walk, what lies there."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping

from pondwright.base.findings import Finding, Grade
from pondwright.base.kinds import AREA
from pondwright.job.brief import Permit
from pondwright.job.fields import value_of
from pondwright.job.site import Bound, Thing, WalkAnswer
from pondwright.job.tables import walk_points
from pondwright.papers.margin import number_of
from pondwright.papers.material import NOT_TOLD, Material
from pondwright.papers.pages import Cells, Pages

MOST_RAISED = 8
ANSWERS = {
    "trouble": "TROUBLE",
    "not_looked": "NOT LOOKED AT",
    "fine": "fine",
    "none": "not there",
}
"""Words of the answers, in the order in which they are printed."""


def who_where_when(pages: Pages, material: Material) -> None:
    """For whom, where, who decides, and the days that are agreed."""
    brief, job = material.job.brief, material.job
    pages.heading("Who, where, when")
    budget = "" if brief.budget is None else f"{brief.budget:,.0f} {brief.currency}".replace(",", " ").strip()
    old = {None: "", True: "there is one", False: "there is none"}[brief.old_pond]
    rows = [
        ("for", brief.client),
        ("at", brief.address),
        ("who decides", brief.decides),
        ("how they found us", brief.found_us),
        ("old pond", old),
        ("water they think of", "" if brief.size_guess is None else material.told(brief.size_guess, AREA)),
        ("at most to spend", budget),
        ("first call", _day(brief.first_asked)),
        ("next step", ", ".join(filter(None, (brief.next_step, _day(brief.next_on))))),
        ("digging may begin", _day(brief.dig_from)),
        ("done by", _day(brief.done_by)),
        ("datum (what height zero is)", job.site.frame.datum_note),
        *((person.role or "person", _named(person.name, person.reach)) for person in brief.people.values()),
    ]
    pages.facts([(name, value or NOT_TOLD) for name, value in rows])


def look_first(pages: Pages, material: Material) -> None:
    """What stands in the way, the gravest first."""
    raised = material.raised("site.", "earth.service", "earth.excavation", "earth.deep_excavation")
    pages.heading("Look at these first")
    for one in raised[:MOST_RAISED]:
        pages.paragraph(_told(one, material), mark=one.grade.value.upper())
    more = len(raised) - MOST_RAISED
    if more > 0:
        pages.paragraph(f"{more} more about the site are on the check list.")
    if not raised:
        pages.paragraph("No check of the site asks for anything.")


def wishes(pages: Pages, material: Material) -> None:
    """Each wish in the client's words, with how it stands."""
    pages.heading("What is wished for, and how it stands")
    found = {one.code: one for one in material.findings if one.code.startswith("brief.wish.")}
    rows = [
        (wish.text, *_standing(found.get(f"brief.wish.{name}"), material))
        for name, wish in material.job.brief.wishes.items()
    ]
    if rows:
        pages.table((Cells("wish", 5), Cells("stands", 1.6), Cells("by what", 4)), rows)
    else:
        pages.paragraph("No wish is written down yet.")


def walk(pages: Pages, material: Material) -> None:
    """The walk round the site: trouble first, then what nobody looked at, then the rest."""
    answers = material.job.site.walk
    asked = {point.id: point.ask for point in walk_points()}
    own = {name: answer.ask or name for name, answer in answers.items() if name not in asked}
    rows = [
        (order, ask, ANSWERS[answer], _seen(answers.get(name)))
        for name, ask in {**asked, **own}.items()
        for answer in (answers[name].answer if name in answers else "not_looked",)
        for order in (list(ANSWERS).index(answer),)
    ]
    pages.heading("The walk round the site")
    if not answers:
        pages.paragraph("The walk has not been made: nothing of its list was looked at.")
        return
    counts = {word: sum(row[2] == word for row in rows) for word in ANSWERS.values()}
    pages.paragraph(", ".join(f"{count} {word.lower()}" for word, count in counts.items()) + ".")
    ordered = [row[1:] for row in sorted(rows, key=lambda row: row[0])]
    pages.table((Cells("asked", 5), Cells("answer", 1.9), Cells("seen", 4.6)), ordered)


def services(pages: Pages, material: Material) -> None:
    """What lies in the ground, how deep, how sure, and until when its marks hold."""
    buried = [thing for thing in material.job.site.things.values() if thing.kind == "utility"]
    pages.heading("Buried services")
    if buried:
        rows = [_service(thing, material) for thing in buried]
        pages.table(
            (
                Cells("service", 3.4),
                Cells("carries", 1.8),
                Cells("depth", 1.3, number=True),
                Cells("may be off", 1.4, number=True),
                Cells("marked by", 2.6),
                Cells("marks hold until", 2.0),
            ),
            rows,
        )
    else:
        pages.paragraph("None is drawn. That does not say that none is there.")
    pages.paragraph(
        "Have public services marked before anybody digs; find private ones with the owner. Dig by hand "
        "within the distance by which a service may be off."
    )


def bounds(pages: Pages, material: Material) -> None:
    """Lines not to cross, with the clearance that the drawn work keeps."""
    rows = material.job.site.bounds
    pages.heading("Lines not to cross")
    if not rows:
        pages.paragraph("None is drawn: boundary, setbacks, wells and septic fields are still to be found.")
        return
    clear = material.result("site.clearances")
    kept: Mapping[str, object] = clear.bounds if clear is not None else {}
    pages.table(
        (
            Cells("", 0.7),
            Cells("line", 4.2),
            Cells("kind", 1.6),
            Cells("keep clear", 1.6, number=True),
            Cells("work keeps", 1.6, number=True),
            Cells("note", 3.6),
        ),
        [
            (
                f"L{number}",
                bound.name or name,
                bound.kind,
                *_clearance(bound, kept.get(name), material),
                bound.note,
            )
            for number, (name, bound) in enumerate(rows.items(), start=1)
        ],
    )


def permits(pages: Pages, material: Material) -> None:
    """Permits that are still needed, and what waits for them."""
    rows = material.job.brief.permits
    pages.heading("Permits still needed")
    if not rows:
        pages.paragraph("None is written down: ask the town, the county and the water authority.")
        return
    pages.table(
        (
            Cells("authority", 3),
            Cells("for", 3.4),
            Cells("stands", 3.2),
            Cells("nothing starts without it", 2.2),
        ),
        [(permit.authority, permit.need, _leave(permit), permit.blocks) for permit in rows.values()],
    )


def _standing(finding: Finding | None, material: Material) -> tuple[str, str]:
    """How a wish stands, and by what that is known."""
    if finding is None:
        return "not judged", "nothing in the model shows it yet"
    says = finding.says.partition("” ")[2].rstrip(".") or finding.says
    if finding.value is not None and finding.limit is not None:
        value, limit = (
            number_of(finding, number, material.job.shown_units) for number in (finding.value, finding.limit)
        )
        side = "at least" if finding.operator.startswith(">") else "at most"
        return ("met" if finding.grade is Grade.GOOD else "NOT MET"), f"{value}, asked {side} {limit}"
    if "not met" in says:
        return "NOT MET", says.partition(": ")[2] or "by its check"
    return ("met", "by its check") if finding.grade is Grade.GOOD else ("not judged", says)


def _seen(answer: WalkAnswer | None) -> str:
    return answer.says if answer is not None else ""


def _service(thing: Thing, material: Material) -> tuple[str, ...]:
    marked = "nobody: private" if thing.private else "locate service"
    name = thing.name + (" (to be taken out)" if thing.status == "remove" else "")
    return (
        name,
        (thing.service or NOT_TOLD).replace("communications", "telephone, data"),
        "not known" if thing.depth is None else material.told(thing.depth),
        material.told(value_of(thing, "sure")),
        ", ".join(filter(None, (marked, thing.ticket))),
        _day(thing.marked_until) or ("" if thing.private else NOT_TOLD),
    )


def _clearance(bound: Bound, found: object, material: Material) -> tuple[str, str]:
    required = getattr(found, "required", bound.clear)
    kept = getattr(found, "clearance", None)
    return material.told(required), "" if kept is None else material.told(kept)


def _leave(permit: Permit) -> str:
    number = f"no. {permit.number}" if permit.number else ""
    if permit.granted:
        until = f"holds until {permit.expires}" if permit.expires else ""
        return ", ".join(filter(None, ("granted", number, until)))
    return ", ".join(
        filter(None, ("NOT GRANTED", number, f"needed by {permit.until}" if permit.until else ""))
    )


def _told(finding: Finding, material: Material) -> str:
    ways = " ".join(advice.says for advice in finding.advice[:1])
    accepted = f" Accepted by {finding.accepted}" if finding.accepted else ""
    return f"{finding.says} {ways}{accepted}".strip().replace("`", "")


def _named(name: str, reach: str) -> str:
    return ", ".join(filter(None, (name, reach)))


def _day(day: datetime.date | None) -> str:
    return "" if day is None else day.isoformat()


def visit_days(material: Material) -> Iterator[datetime.date]:
    """Days on which something was read or seen on site."""
    site = material.job.site
    for rows in (site.books, site.probes, site.water_marks, site.surveys):
        yield from (row.date for row in rows.values() if row.date is not None)
    yield from (entry.time.date() for entry in material.log.entries)
