"""``pondwright levels``: books as they are printed, and a page taken in."""

import json

import pytest

from pondwright import api
from pondwright.cli.main import main

PAGE = """Sta,BS,HI,FS,Elev
BM-1,4.20,104.20,,100.00
rim,,,3.20,101.00
TP-1,5.15,106.85,2.50,101.70
TP-2,3.05,106.40,3.50,103.35
BM 1,,,6.42,
"""


@pytest.fixture
def empty(tmp_path):
    path = tmp_path / "lane.pond.json"
    api.save_job(api.new_job("Mill Lane 4", "us"), path)
    return str(path)


def page(tmp_path, text=PAGE):
    path = tmp_path / "page.csv"
    path.write_text(text, encoding="utf-8")
    return str(path)


def test_a_job_without_books_says_so(empty, capsys):
    assert main(["levels", empty]) == 0
    assert "no level book" in capsys.readouterr().out


def test_a_page_is_taken_in_and_printed_as_the_field_book_reads(empty, tmp_path, capsys):
    out = str(tmp_path / "with_page.pond.json")

    assert main(["levels", empty, "--take", page(tmp_path), "--out", out]) == 0
    first = capsys.readouterr()
    assert "5 rows" in first.err and "`book1`" in first.err
    assert main(["levels", out]) == 0
    said = capsys.readouterr().out
    assert said == first.out
    cells = [line.split() for line in said.splitlines()]
    assert [
        "tp_1",
        "5.150",
        "ft",
        "106.850",
        "ft",
        "2.500",
        "ft",
        "101.700",
        "ft",
        "0.007",
        "ft",
        "101.707",
        "ft",
    ] in cells
    assert "misclosure −0.020 ft, allowed 0.028 ft" in said
    assert "backsights 12.400 ft, foresights 12.420 ft, rise −0.020 ft" in said


def test_a_second_page_becomes_a_second_book(empty, tmp_path, capsys):
    out = str(tmp_path / "with_page.pond.json")
    main(["levels", empty, "--take", page(tmp_path), "--out", out])
    main(["levels", out, "--take", page(tmp_path), "--out", out])

    assert list(api.open_job(out).site.books) == ["book1", "book2"]


def test_levels_as_json_are_in_house_units(empty, tmp_path, capsys):
    out = str(tmp_path / "with_page.pond.json")
    main(["levels", empty, "--take", page(tmp_path), "--out", out])
    capsys.readouterr()

    assert main(["levels", out, "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["heights"]["bm_1"] == pytest.approx(30.48)
    assert told["books"]["book1"]["misclosure"] == pytest.approx(-0.02 * 0.3048)


def test_a_page_that_cannot_be_read_whole_is_told_by_cell_and_nothing_is_written(empty, tmp_path, capsys):
    out = tmp_path / "out.pond.json"

    assert (
        main(["levels", empty, "--take", page(tmp_path, "pt,bs,fs\nbm,oops,\nrim,,1e9"), "--out", str(out)])
        == 2
    )
    said = capsys.readouterr().err
    assert "line 2, back: `oops`" in said and "line 3, fore: `1e9`" in said
    assert not out.exists()


@pytest.mark.parametrize(
    ("extra", "word"),
    [
        ([], "needs `--out"),
        (["--out", "x.json", "--unit", "furlong"], "must be one of m, cm"),
    ],
)
def test_what_is_missing_or_unknown_is_told(empty, tmp_path, capsys, extra, word):
    assert main(["levels", empty, "--take", page(tmp_path), *extra]) == 2
    assert word in capsys.readouterr().err


def test_a_page_that_is_no_text_or_no_file_is_told(empty, tmp_path, capsys):
    path = tmp_path / "page.csv"
    path.write_bytes(b"\xff\xfe\x00")

    assert main(["levels", empty, "--take", str(path), "--out", str(tmp_path / "o")]) == 2
    assert "UTF-8" in capsys.readouterr().err
    assert main(["levels", empty, "--take", str(tmp_path), "--out", str(tmp_path / "o")]) == 2
    assert "cannot be read" in capsys.readouterr().err


def test_a_loop_that_is_far_out_ends_with_1(empty, tmp_path, capsys):
    out = str(tmp_path / "o.pond.json")
    far = PAGE.replace("6.42", "6.10")

    assert main(["levels", empty, "--take", page(tmp_path, far), "--out", out]) == 1
    said = capsys.readouterr().out
    assert "stop" in said and "far too high on bm_1" in said


def test_centimetres_that_go_up_from_a_water_line(empty, tmp_path, capsys):
    out = str(tmp_path / "o.pond.json")
    text = "pt,bs,ifs,elev\nwl,0,,30 m\nrim,,35,\nfloor,,-120,"

    assert main(["levels", empty, "--take", page(tmp_path, text), "--out", out, "--unit", "cm", "--up"]) == 0
    heights = api.compute(api.open_job(out), only="site.levels").stages["site.levels"].result.heights
    assert heights == pytest.approx({"wl": 30.0, "rim": 30.35, "floor": 28.8})
