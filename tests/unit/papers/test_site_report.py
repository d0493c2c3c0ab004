"""The site report and the existing plan of the examples: true scale, legible, honest about gaps."""

from __future__ import annotations

import datetime
import hashlib
import math
import re
import struct
import subprocess
import zlib
from functools import cache
from pathlib import Path
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pondwright import api
from pondwright.examples import EXAMPLES, GARDEN, LARKMEADOW, UPPER_FIELD, example_text
from pondwright.job.codec import loads
from pondwright.job.log import Log, PhotoEntry
from pondwright.job.places import Point
from pondwright.job.tables import walk_points
from pondwright.papers import Material, material_of, pages_of, pdf_of, photo_hashes, sheets, site_report
from pondwright.papers.drawing import Sheet
from pondwright.papers.existing_plan import existing_plan
from pondwright.papers.margin import wrapped
from pondwright.papers.pages import A4, Cells, Pages
from pondwright.papers.report_photos import compass_words
from pondwright.papers.type_width import text_width

SVG = "{http://www.w3.org/2000/svg}"
RAN = (LARKMEADOW, GARDEN, UPPER_FIELD)


@cache
def material(name: str) -> Material:
    return material_of(api.compute(loads(example_text(name))))


@cache
def report(name: str) -> tuple[Sheet, ...]:
    return site_report(material(name))


@cache
def drawn(name: str) -> tuple[Sheet, ...]:
    return (*report(name), existing_plan(material(name)))


def texts(sheet: Sheet) -> list[ElementTree.Element]:
    return list(ElementTree.fromstring(sheet.svg).iter(f"{SVG}text"))


def words_of(pages: tuple[Sheet, ...]) -> str:
    return " ".join(text.text or "" for page in pages for text in texts(page))


def png(side: int, grey: int) -> bytes:
    """A small grey picture."""

    def chunk(kind: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    rows = b"".join(b"\0" + bytes([grey]) * side for _ in range(side))
    head = struct.pack(">IIBBBBB", side, side, 8, 0, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", head)
        + chunk(b"IDAT", zlib.compress(rows))
        + chunk(b"IEND", b"")
    )


def extent(text: ElementTree.Element) -> tuple[float, float, float, float]:
    """Box of an upright text on paper, from the advances of our font."""
    size, bold = float(text.get("font-size", "0")), text.get("font-weight") == "600"
    width = text_width(text.text or "", size, bold=bold)
    shift = {"start": 0.0, "middle": -width / 2, "end": -width}[text.get("text-anchor", "start")]
    x, y = float(text.get("x", "0")) + shift, float(text.get("y", "0"))
    return x, y - 0.68 * size, x + width, y + 0.05 * size


@pytest.mark.parametrize("name", RAN)
def test_every_text_is_at_least_two_millimetres_high_and_lies_on_the_paper(name: str) -> None:
    for sheet in drawn(name):
        for text in texts(sheet):
            x0, y0, x1, y1 = extent(text)
            assert float(text.get("font-size", "0")) >= 2.0
            assert x0 >= 0.0 and y0 >= 0.0 and y1 <= sheet.height_mm, text.text
            assert x1 <= sheet.width_mm, text.text


@pytest.mark.parametrize("name", RAN)
def test_no_two_texts_lie_over_each_other(name: str) -> None:
    for sheet in drawn(name):
        boxes = [(extent(text), text.text) for text in texts(sheet) if text.get("transform") is None]
        for number, (one, words) in enumerate(boxes):
            for other, others in boxes[number + 1 :]:
                apart = (
                    one[2] <= other[0] + 0.05
                    or other[2] <= one[0] + 0.05
                    or one[3] <= other[1] + 0.05
                    or other[3] <= one[1] + 0.05
                )
                assert apart, (sheet.name, words, others)


@pytest.mark.parametrize("name", RAN)
def test_the_scale_bars_of_map_and_sheet_are_as_long_as_they_say(name: str) -> None:
    found = 0
    for sheet in drawn(name):
        told = [(text.text or "", float(text.get("x", "0"))) for text in texts(sheet)]
        for end, (words, _x) in enumerate(told):
            if not re.match(r"(m|ft) at 1", words):
                continue
            numbers = [(float(label), x) for label, x in told[end - 5 : end]]
            unit = 0.3048 if words.startswith("ft") else 1.0
            scale = float(words.split("=")[1].split()[0]) * 12 if "=" in words else float(words.split(":")[1])
            on_paper = numbers[-1][1] - numbers[0][1]
            assert on_paper == pytest.approx(numbers[-1][0] * unit * 1000 / scale, abs=0.2)
            found += 1

    assert found == 2


@pytest.mark.parametrize("name", RAN)
def test_the_papers_hold_our_font_only_and_repeat_to_the_byte(name: str, tmp_path: Path) -> None:
    first, second = pdf_of(sheets(material(name))), pdf_of(sheets(material(name)))
    (tmp_path / "all.pdf").write_bytes(first)
    fonts = subprocess.run(
        ["pdffonts", tmp_path / "all.pdf"], capture_output=True, text=True, check=True
    ).stdout

    assert first == second
    assert all("SourceSans3" in line for line in fonts.splitlines()[2:])


@pytest.mark.parametrize("name", RAN)
def test_pages_are_numbered_and_an_example_says_on_each_that_it_is_invented(name: str) -> None:
    pages = report(name)

    for number, page in enumerate(pages, start=1):
        words = words_of((page,))
        assert f"page {number} of {len(pages)}" in words
        assert "Invented example" in words
    assert [page.name for page in pages_of(sheets(material(name)), "site-report")] == [
        page.name for page in pages
    ]


def test_what_nobody_looked_at_is_printed_as_such() -> None:
    answers = material(LARKMEADOW).job.site.walk
    unanswered = [
        point.id
        for point in walk_points()
        if point.id not in answers or answers[point.id].answer == "not_looked"
    ]

    assert unanswered
    assert words_of(report(LARKMEADOW)).count("NOT LOOKED AT") == len(unanswered)


def test_trouble_stands_before_what_nobody_looked_at_and_that_before_what_is_fine() -> None:
    told = [text.text for page in report(LARKMEADOW) for text in texts(page)]
    order = [told.index(word) for word in ("TROUBLE", "NOT LOOKED AT", "fine")]

    assert order == sorted(order)


def test_every_wish_is_answered_on_a_line_of_its_own() -> None:
    wishes = material(LARKMEADOW).job.brief.wishes
    words = re.sub(r"\s+", " ", words_of(report(LARKMEADOW)))

    for wish in wishes.values():
        assert wish.text.split()[0] in words
    standing = [
        text.text
        for page in report(LARKMEADOW)
        for text in texts(page)
        if text.text in ("met", "NOT MET", "not judged")
    ]
    assert len(standing) == len(wishes)


def test_the_misclosure_of_each_book_is_told_with_what_is_allowed() -> None:
    levels = material(LARKMEADOW).result("site.levels")
    words = words_of(report(LARKMEADOW))

    for book in levels.books.values():
        assert material(LARKMEADOW).fine(book.misclosure) in words
        assert material(LARKMEADOW).fine(book.allowed) in words


def test_an_empty_job_has_a_report_that_says_what_is_missing_and_no_plan() -> None:
    found = material_of(api.compute(api.new_job("Mill Lane 4")))
    words = words_of(sheets(found))

    assert {sheet.name.partition("-")[0] for sheet in sheets(found)} == {"site"}
    for missing in ("No ground yet", "No level notes", "The walk has not been made", "No photo was taken"):
        assert missing in words


def test_a_result_of_an_earlier_ground_is_not_printed_for_a_job_that_lost_it() -> None:
    job = loads(example_text(GARDEN))
    bare = job.model_copy(update={"site": job.site.model_copy(update={"shots": {}, "lines": {}})})
    after = api.compute(bare, after=api.compute(job))

    assert "No ground yet" in words_of(sheets(material_of(after)))


def photo(number: int, **facts: object) -> PhotoEntry:
    time = datetime.datetime(2026, 10, 20, 9, number, tzinfo=datetime.UTC)
    return PhotoEntry(id=f"{number:026d}", kind="photo", time=time, **facts)  # type: ignore[arg-type]


def with_photos(*, at_hand: bool) -> Material:
    light, dark = png(8, 220), png(8, 60)
    names = [hashlib.sha256(body).hexdigest() for body in (light, dark)]
    before = photo(1, place=Point(east=110.0, north=110.0), bearing=math.pi / 4, files=(names[0],))
    after = photo(2, repeats=before.id, files=(names[1],))
    alone = photo(3, note="Where the seep comes out", files=("0" * 64,))
    run = api.compute(loads(example_text(LARKMEADOW)), Log((before, after, alone)))
    return material_of(run, dict(zip(names, (light, dark), strict=True)) if at_hand else {})


def test_photos_that_are_at_hand_are_printed_and_pairs_stand_beside_each_other() -> None:
    pages = site_report(with_photos(at_hand=True))
    pictures = [image for page in pages for image in ElementTree.fromstring(page.svg).iter(f"{SVG}image")]

    assert len(pictures) == 2
    assert pictures[0].get("y") == pictures[1].get("y")
    assert float(pictures[0].get("x", "0")) < float(pictures[1].get("x", "0"))
    words = words_of(pages)
    assert "before, 2026-10-20 09:01, looks north-east" in words
    assert words.count("photo not at hand") == 1
    assert pdf_of(pages) == pdf_of(pages)


def test_a_photo_without_its_bytes_keeps_its_frame_and_its_words() -> None:
    words = words_of(site_report(with_photos(at_hand=False)))

    assert words.count("photo not at hand") == 3
    assert "Where the seep comes out" in words


def test_the_hashes_that_papers_ask_for_are_those_of_log_and_rows() -> None:
    found = with_photos(at_hand=True)

    assert set(found.files) < photo_hashes(found.job, found.log)


@pytest.mark.parametrize(
    ("degrees", "words"), [(0.0, "north"), (359.0, "north"), (-90.0, "west"), (135.0, "south-east")]
)
def test_a_bearing_is_told_in_words(degrees: float, words: str) -> None:
    assert compass_words(math.radians(degrees)) == words


def test_hostile_words_stay_words_in_the_report() -> None:
    job = loads(example_text(GARDEN))
    evil = '<script>alert("x")</script> & #image("/etc/passwd")'
    brief = job.brief.model_copy(update={"client": evil})
    pages = site_report(material_of(api.compute(job.model_copy(update={"brief": brief}))))

    assert not [one for page in pages for one in ElementTree.fromstring(page.svg).iter(f"{SVG}script")]
    assert "<script>" in words_of(pages)


@given(st.text(max_size=300), st.floats(12.0, 180.0))
def test_wrapped_lines_fit_and_lose_no_sign(words: str, width: float) -> None:
    lines = wrapped(words, width, 2.8)

    assert "".join(lines).replace(" ", "") == re.sub(r"[ \t\n\r\f\v]", "", words)
    assert all(text_width(line, 2.8) <= width for line in lines)


@given(st.lists(st.text(alphabet="abc def", max_size=2_000), min_size=1, max_size=12))
def test_a_table_of_any_length_stays_above_the_foot_of_its_pages(rows: list[str]) -> None:
    pages = Pages(A4, "Site report", "A", "")
    pages.table((Cells("", 1), Cells("words", 3)), [(str(number), row) for number, row in enumerate(rows)])

    for sheet in pages.sheets("a"):
        for text in texts(sheet):
            assert float(text.get("y", "0")) <= A4.height_mm - 8.0


def test_the_width_of_a_text_is_the_sum_of_its_advances() -> None:
    # 497 of 1000 units is the advance of every figure of this font.
    assert text_width("2026", 10.0) == pytest.approx(4 * 4.97, abs=0.01)
    assert text_width("2026", 10.0, bold=True) > text_width("2026", 10.0)


@given(st.text(max_size=60))
def test_no_words_of_a_job_can_break_a_sheet(words: str) -> None:
    pages = Pages(A4, "Site report", words, "")
    pages.paragraph(words)

    for sheet in pages.sheets("a"):
        ElementTree.fromstring(sheet.svg)


def test_every_example_has_a_report() -> None:
    assert all(site_report(material(name)) for name in EXAMPLES)
