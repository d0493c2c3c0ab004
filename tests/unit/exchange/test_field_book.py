"""Pages of a level book: how rows become set-ups, and what is said of each bad cell."""

import json

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from pondwright import api
from pondwright.base.errors import ImportRefused
from pondwright.exchange.field_book import MOST_ROWS, NAMES, FieldPage, read_field_book
from pondwright.job.codec import loads
from pondwright.job.edits import Edit

FOOT = 0.3048
GUIDE = """Sta,BS,HI,FS,Elev
BM-1,4.20,104.20,,100.00
TP-1,5.15,106.85,2.50,101.70
TP-2,3.05,106.40,3.50,103.35
BM 2,,,4.10,102.30
"""


def job(**site):
    return loads(json.dumps({"format": 1, "id": "test", "name": "A test", "site": site}))


def taken(page: FieldPage, into=None):
    return api.edit(into or job(), Edit("take", 0, page.ops("page")))


def kinds(page: FieldPage):
    return [
        (
            [reading["point"] for reading in set_up["backsights"]],
            [(reading["point"], reading.get("kind", "side")) for reading in set_up["readings"]],
        )
        for set_up in page.book["set_ups"]
    ]


def test_a_page_becomes_set_ups_that_begin_with_each_backsight():
    page = read_field_book(GUIDE, "us")

    assert kinds(page) == [
        (["bm_1"], [("tp_1", "turn")]),
        (["tp_1"], [("tp_2", "turn")]),
        (["tp_2"], [("bm_2", "turn")]),
    ]
    assert page.faults == () and page.book["unit"] == "ft"
    assert page.marks == {"bm_1": {"elevation": 100.0 * FOOT}}
    assert page.shots == {"bm_2": {"place": {"by": "book"}, "name": "BM 2"}}


def test_a_page_that_is_taken_gives_the_heights_that_it_notes():
    run = api.compute(taken(read_field_book(GUIDE, "us")))

    assert api.show(run, "site.levels.heights.bm_2") == pytest.approx(102.30 * FOOT)
    assert [finding.grade for finding in run.findings if finding.code == "site.book_arithmetic"] == ["good"]


def test_without_a_header_the_order_is_the_usual_one():
    page = read_field_book("bm\t1.655\t101.655\t\t100\ntp1\t1.402\t\t0.912\t\nbm\t\t\t1.249\t", "metric")

    assert page.columns == ("station", "back", "instrument", "fore", "elevation")
    assert kinds(page) == [(["bm"], [("tp1", "turn")]), (["tp1"], [("bm", "check")])]


@pytest.mark.parametrize("separator", ["\t", ";", ",", "|"])
def test_cells_may_be_parted_in_several_ways_and_columns_stand_in_any_order(separator):
    rows = [
        ("Remarks", "F.S.", "I.F.S.", "B.S.", "Point", "R.L."),
        ("", "", "", "1.655", "BM", "100.000"),
        ("rim", "", "1.20", "", "s1", ""),
        ("", "0.912", "", "1.402", "TP1", ""),
        ("pin", "1.249", "", "", "BM", ""),
    ]
    page = read_field_book("\n".join(map(separator.join, rows)), "metric")

    assert kinds(page) == [(["bm"], [("s1", "side"), ("tp1", "turn")]), (["tp1"], [("bm", "check")])]
    assert page.shots == {"s1": {"place": {"by": "book"}, "code": "rim"}}


@pytest.mark.parametrize(
    ("cell", "unit", "metres"),
    [
        ("4.20", "ft", 4.20 * FOOT),
        ("4' 2 1/2\"", "ft-in", 4 * FOOT + 2.5 * 0.0254),
        ("4-2 1/2", None, None),
        ("165.5", "cm", 1.655),
        ("1655", "mm", 1.655),
        ("1.655", "m", 1.655),
        ("1.655 m", "ft", 1.655),
        ("-0.35", "m", -0.35),
    ],
)
def test_rods_are_read_in_tenths_inches_metres_and_centimetres(cell, unit, metres):
    page = read_field_book(f'pt;bs;fs\nbm;"{cell.replace(chr(34), chr(34) * 2)}";', "us", unit=unit)

    if metres is None:
        assert "back" in page.rows[0].errors
    else:
        assert page.rows[0].numbers["back"] == pytest.approx(metres)


def test_a_header_may_state_the_unit_of_its_readings():
    page = read_field_book("pt, BS (cm), FS, elev\nbm, 165.5, , 100\nrim, , 120, ", "us")

    assert [row.numbers.get("back", row.numbers.get("fore")) for row in page.rows] == pytest.approx(
        [1.655, 1.2]
    )
    assert page.rows[0].numbers["elevation"] == 100.0 and page.book["unit"] == "m"


def test_a_cell_that_cannot_be_read_says_so_and_its_set_up_stays():
    page = read_field_book("pt,bs,fs\nbm,oops,\ntp1,1.402,0.912\nrim,,x", "metric")

    assert [sorted(row.errors) for row in page.rows] == [["back"], [], ["fore"]]
    assert kinds(page) == [([], [("tp1", "turn")]), (["tp1"], [])]
    assert page.faults[0].startswith("line 2, back: `oops` cannot be read as a length")


@pytest.mark.parametrize(
    ("row", "column", "word"),
    [
        ("rim,,1.0,1.2,,", "inter", "beside a foresight"),
        (",,1.0,,,", "station", "is missing"),
        (f"{'x' * 41},,1.0,,,", "station", "40 letters"),
        ("rim,,25.0,,,", "inter", "at most 20 m"),
        ("rim,,1.0,,,0", "distance", "above 0"),
        ("rim,,1.0,,,2000", "distance", "at most 1000 m"),
        ("tp1,1.0,,1.2,,30", "distance", "BS dist"),
        ("rim,,1.0,,1e999,", "elevation", "1e999"),
    ],
)
def test_each_bad_cell_is_told(row, column, word):
    page = read_field_book(f"pt,bs,ifs,fs,elev,dist\nbm,1.5,,,100,\n{row}", "metric")

    assert word in page.rows[1].errors[column]
    assert taken(page).site.books["page"].set_ups


def test_a_height_of_instrument_that_is_not_elevation_and_backsight_is_told():
    page = read_field_book("pt,bs,hi,fs,elev\nbm,1.5,101.8,,100", "metric")

    assert "elevation and backsight" in page.rows[0].errors["instrument"]


def test_lengths_of_both_sights_have_their_own_columns():
    page = read_field_book("pt,bs,bs dist,fs,fs dist\nbm,1.5,30,,\ntp1,1.0,20,1.2,32", "metric")

    assert [
        reading["distance"]
        for set_up in page.book["set_ups"]
        for reading in (*set_up["backsights"], *set_up["readings"])
    ] == [30.0, 32.0, 20.0]


def test_names_lead_to_what_the_job_knows():
    page = read_field_book("pt,bs,fs\nBM-1,1.5,\nS 3,,1.2\nS 4,,1.3", "metric", marks=["bm1"], shots=["s3"])

    assert [row.point for row in page.rows] == ["bm1", "s3", "s_4"]
    assert list(page.shots) == ["s_4"] and page.marks == {}


def test_numbers_and_other_scripts_are_names_too():
    page = read_field_book("pt,bs,fs\n1,1.5,\n1-1,,1.2\n11,,1.2\nпень,,1.3\nÉtang,,1.3", "metric")

    assert len({row.point for row in page.rows}) == 5
    assert [row.point for row in page.rows][:3] == ["p1", "p1_1", "p11"] and page.rows[4].point == "etang"
    assert sorted(taken(page).site.shots) == sorted(page.shots)


def test_two_rows_of_backsights_are_one_set_up():
    assert kinds(read_field_book("pt,bs,fs\nbm,1.5,\npin,2.5,\nrim,,1.0", "metric"))[0][0] == ["bm", "pin"]


def test_readings_from_a_water_line_are_heights_over_it():
    page = read_field_book(
        "pt,bs,ifs,elev\nwl,0,,29.5\nrim,,+0.35,\nfloor,,-1.2,", "metric", reads="up", marks=["wl"]
    )
    run = api.compute(taken(page, job(marks={"wl": {"elevation": 29.5}})))

    assert api.show(run, "site.levels.heights.rim") == pytest.approx(29.85)
    assert api.show(run, "site.levels.heights.floor") == pytest.approx(28.3)


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("", "no rows"),
        ("\n \n", "no rows"),
        ("bm 1.5 100", "parted"),
        ("pt,bs,fs", "no row below"),
        ("bs,fs\n1,2", "station"),
        ("a,b", "put a header"),
        ("a,1,2\n" * (MOST_ROWS + 1), "at most"),
    ],
)
def test_a_page_that_is_none_is_refused_in_one_sentence(text, word):
    with pytest.raises(ImportRefused, match=word):
        read_field_book(text, "metric")


@st.composite
def pages(draw):
    """Pages with a header out of the known words and others, and any cells below."""
    words = [spelling for spellings in NAMES.values() for spelling in spellings]
    header = draw(
        st.lists(st.sampled_from([*words, "BS (ft)", "FS [cm]", "fs (foo)", "bs ()", "huh"]), max_size=9)
    )
    numbers = st.floats(-30.0, 1500.0).map(lambda value: f"{value:.3f}")
    cell = st.one_of(
        st.just(""),
        st.sampled_from(["bm", "tp1", "4' 2\"", "1/0", '"', "1e400", "nan", "+"]),
        numbers,
        st.text(max_size=6),
    )
    rows = draw(st.lists(st.lists(cell, max_size=10), max_size=12))
    separator = draw(st.sampled_from(["\t", ";", ",", "|"]))
    return "\n".join(separator.join(row) for row in [["station", "bs", "fs", *header], *rows])


@given(
    st.one_of(st.text(), pages()),
    st.sampled_from(["us", "us_inch", "metric"]),
    st.sampled_from(["up", "down"]),
)
@example('pt,bs,fs\n"a,1,', "metric", "down")
@example("pt,bs,fs\na\x00,1,", "metric", "down")
@example("pt,bs (foo),fs\na,1,", "metric", "down")
def test_any_page_is_refused_in_a_sentence_or_makes_a_sound_edit(text, shown, reads):
    try:
        page = read_field_book(text, shown, reads=reads)
    except ImportRefused as refused:
        assert len(str(refused)) > 10 and "\n" not in str(refused)
        return
    changed = taken(page)

    assert changed.site.books["page"].reads == reads
    told = sum(len(set_up.backsights) + len(set_up.readings) for set_up in changed.site.books["page"].set_ups)
    read = sum(
        column in row.numbers for row in page.rows if row.point for column in ("back", "fore", "inter")
    )
    assert told == read
    assert all(
        row.errors for row in page.rows if not row.point and row.numbers.keys() & {"back", "fore", "inter"}
    )


SPACED = """Sta     BS     HI       FS     Elev
BM-1    4.20   104.20          100.00
TP-1    5.15   106.85   2.50   101.70
TP-2    3.05   106.40   3.50   103.35
BM 2                    4.10   102.30
"""


def test_columns_parted_by_wide_spaces_are_told_by_the_words_above_them():
    spaced, parted = read_field_book(SPACED, "us"), read_field_book(GUIDE, "us")

    assert (spaced.book, spaced.marks, spaced.shots) == (parted.book, parted.marks, parted.shots)


def test_wide_spaces_need_no_place_where_every_line_is_whole():
    page = read_field_book("A  4.20  1.00  100.00\nB 1  5.15  2.50  101.70", "metric")

    assert [row.station for row in page.rows] == ["A", "B 1"] and page.faults == ()


def test_commas_before_decimals_do_not_part_cells_that_wide_spaces_part():
    page = read_field_book("Pt    BS     FS\nBM    1,25\nrim          0,85", "metric")

    assert page.rows[0].numbers == {"back": 1.25} and page.rows[1].numbers == {"fore": 0.85}


@pytest.mark.parametrize("row", ["BM1  4.20  104.20  100.00", "BM1  4.20  104.20   100.00"])
def test_wide_spaces_that_leave_open_which_cell_is_empty_are_refused(row):
    with pytest.raises(ImportRefused, match="line 2 has 4 cells where line 1 has 5, and between spaces"):
        read_field_book(f"Sta  BS  HI  FS  Elev\n{row}", "us")
