"""A table of past jobs is read, or refused in one sentence that names the line."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pondwright.base.errors import ImportRefused
from pondwright.exchange.past_jobs import MOST_ROWS, read_past_jobs
from pondwright.rooms.site.ballpark import Traits


def test_a_table_with_all_columns_is_read_in_its_units():
    head = "\ufeffname,Area,Price,Rocky,Falls,Hard access,Wet"
    text = f"{head}\nA,0.25 acre,$120 000,yes,x,,WET\n\nB,120 m2,9500,no,,easy,dry\n"

    first, second = read_past_jobs(text, "us")

    assert (round(first.area, 1), first.price) == (1011.7, 120_000.0)
    assert first.traits == Traits(True, True, False, True)
    assert (second.area, second.price, second.traits) == (pytest.approx(120.0), 9_500.0, Traits())


def test_a_bare_area_takes_the_units_that_are_shown():
    (us,), (metric,) = (read_past_jobs("area,price\n100,5000", shown) for shown in ("us", "metric"))

    assert (us.area, metric.area) == (pytest.approx(9.290304), 100.0)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "must have a column `area`"),
        ("area\n5", "must have a column `price`"),
        ("area,price", "a header but no row below it"),
        ("area,price\n5,6\nten,6", "line 3 of the past jobs"),
        ("area,price\n5,six", "line 2 of the past jobs: `six` is no price"),
        ("area,price\n5,-6", "line 2 of the past jobs: `-6` is no price"),
        ("area,price\n5,0", "must be above zero"),
        ("area,price\n5", "line 2 of the past jobs"),
        ("area,price,wet\n5,6,maybe", "`wet` must be yes or no, got `maybe`"),
        ('area,price\n"5,6', "cannot be read"),
        ("area,price\n5,1e999", "line 2 of the past jobs"),
        ("area,price\n" + "5,6\n" * (MOST_ROWS + 1), "at most"),
    ],
)
def test_what_is_no_table_of_past_jobs_is_refused_in_one_sentence(text, says):
    with pytest.raises(ImportRefused) as refusal:
        read_past_jobs(text, "us")
    assert says in str(refusal.value) and "\n" not in str(refusal.value)


CELLS = st.sampled_from(
    ["", "5", "12.5 m2", "1e999", "nan", "-3", "yes", '"', "24,000", "\x00", "½", "x" * 200]
)


@given(
    st.text()
    | st.lists(st.lists(CELLS, max_size=5), max_size=5).map(
        lambda rows: "area,price,rocky,wet\n" + "\n".join(",".join(row) for row in rows)
    ),
    st.sampled_from(["us", "metric"]),
)
def test_any_text_is_a_table_or_refused_in_one_sentence(text, shown):
    try:
        jobs = read_past_jobs(text, shown)
    except ImportRefused as error:
        assert str(error) and "\n" not in str(error)
    else:
        assert jobs and all(job.area > 0.0 and 0.0 < job.price < float("inf") for job in jobs)
