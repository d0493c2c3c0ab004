"""The pen: what it writes is sound SVG at its true size, and labels keep out of each other's way."""

from __future__ import annotations

from xml.etree import ElementTree

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from pondwright.papers.drawing import Drawing
from pondwright.papers.symbols import line_symbols
from pondwright.papers.type_width import text_width

SVG = "{http://www.w3.org/2000/svg}"


@given(st.text(alphabet=st.characters(blacklist_categories=["Cs", "Cc"]), max_size=40))
def test_any_words_come_back_from_the_sheet_as_they_were_written(words: str) -> None:
    drawing = Drawing(100.0, 50.0)
    drawing.text(10.0, 10.0, words)

    root = ElementTree.fromstring(drawing.sheet("one", words).svg)

    assert [text.text or "" for text in root.iter(f"{SVG}text")] == [words]


def test_a_text_tells_its_width_so_that_another_font_is_fitted_into_it() -> None:
    drawing = Drawing(100.0, 50.0)
    drawing.text(10.0, 10.0, "148 892 gal", 3.0, bold=True)

    (text,) = ElementTree.fromstring(drawing.sheet("one", "One").svg).iter(f"{SVG}text")

    assert float(text.get("textLength", "0")) == pytest.approx(
        text_width("148 892 gal", 3.0, bold=True), abs=0.01
    )


def test_a_sheet_says_its_size_in_millimetres() -> None:
    root = ElementTree.fromstring(Drawing(420.0, 297.0).sheet("one", "One").svg)

    assert (root.get("width"), root.get("height"), root.get("viewBox")) == ("420mm", "297mm", "0 0 420 297")


def test_a_label_in_the_way_of_an_earlier_one_is_left_out() -> None:
    drawing = Drawing(100.0, 50.0)

    written = [
        drawing.label(20.0, 20.0, "98.0 ft"),
        drawing.label(22.0, 20.5, "97.0 ft"),
        drawing.label(60.0, 20.0, "96.0 ft"),
    ]

    assert written == [True, False, True]


def test_hatch_lines_lie_inside_their_area_and_are_spaced_as_asked() -> None:
    drawing = Drawing(100.0, 100.0)
    area = shapely.box(10.0, 10.0, 60.0, 40.0)
    drawing.hatch(area, "dig", 3.0)

    root = ElementTree.fromstring(drawing.sheet("one", "One").svg)
    ends = np.array(
        [
            [float(number) for number in path.get("d", "")[1:].replace("L", " ").split()]
            for path in root.iter(f"{SVG}path")
        ]
    )
    across = np.sort((ends[:, 0] + ends[:, 1]) / np.sqrt(2))

    assert np.allclose(ends[:, 0] + ends[:, 1], ends[:, 2] + ends[:, 3], atol=2e-3)
    assert np.allclose(np.diff(across), 3.0, atol=2e-3)
    assert shapely.covers(area.buffer(2e-3), shapely.points(ends.reshape(-1, 2))).all()


def test_dots_lie_inside_their_area() -> None:
    drawing = Drawing(100.0, 100.0)
    area = shapely.Point(50.0, 50.0).buffer(20.0)
    drawing.dots(area, "placed", 2.0)

    root = ElementTree.fromstring(drawing.sheet("one", "One").svg)
    dots = [(float(one.get("cx", "nan")), float(one.get("cy", "nan"))) for one in root.iter(f"{SVG}circle")]

    assert len(dots) > 250
    assert all(shapely.Point(x, y).within(area.buffer(0.01)) for x, y in dots)


def test_dug_and_placed_differ_in_more_than_colour() -> None:
    dig, placed = line_symbols()["dig"], line_symbols()["placed"]

    assert dig.width_mm != placed.width_mm
