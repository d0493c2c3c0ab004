"""Past jobs of the firm: kept once, read back as they were typed, and never of two monies at once."""

import sys

import pytest

from pondwright.base.errors import DocumentError, DomainError, StoreError
from pondwright.rooms.site.ballpark import Traits
from pondwright.store import (
    Missing,
    PastJobRow,
    keep_past_job,
    past_jobs,
    price_band_of,
    read_past_job,
    remove_past_job,
)

ROW = PastJobRow(name="Mill Lane", area=80.0, price=24_000.0, currency="USD", rocky=True, year=2024)


def test_a_past_job_comes_back_as_it_was_typed(store):
    keep_past_job(store, "mill", ROW)

    assert past_jobs(store) == {"mill": ROW}


def test_a_past_job_of_the_same_id_takes_the_place_of_the_first(store):
    keep_past_job(store, "mill", ROW)
    keep_past_job(store, "mill", ROW.model_copy(update={"price": 25_000.0}))

    assert [row.price for row in past_jobs(store).values()] == [25_000.0]


def test_a_past_job_that_was_taken_out_is_gone_and_not_there_twice(store):
    keep_past_job(store, "mill", ROW)
    remove_past_job(store, "mill")

    assert past_jobs(store) == {}
    with pytest.raises(Missing, match="no past job 'mill'"):
        remove_past_job(store, "mill")


def test_one_too_many_is_refused_and_one_in_the_place_of_another_is_not(store, monkeypatch):
    monkeypatch.setattr(sys.modules["pondwright.store.past_jobs"], "MOST_PAST_JOBS", 1)
    keep_past_job(store, "mill", ROW)
    keep_past_job(store, "mill", ROW)

    with pytest.raises(StoreError, match="at most 1 past jobs are kept"):
        keep_past_job(store, "other", ROW)
    assert list(past_jobs(store)) == ["mill"]


@pytest.mark.parametrize(
    ("text", "paths"),
    [
        ('{"area": 0, "price": 1}', ["area"]),
        ('{"area": 5, "price": -1}', ["price"]),
        ('{"area": 5}', ["price"]),
        ('{"area": 5, "price": 1, "colour": "blue"}', ["colour"]),
        ("[]", []),
        ('{"area": NaN, "price": 1}', []),
    ],
)
def test_a_past_job_with_a_fault_is_refused_with_its_place(text, paths):
    with pytest.raises(DocumentError) as refusal:
        read_past_job(text)
    assert [fault.path for fault in refusal.value.faults] == paths


def test_monies_are_never_mixed():
    rows = [ROW, ROW.model_copy(update={"currency": "EUR", "price": 1.0})]

    with pytest.raises(DomainError, match="the past jobs are in EUR, USD"):
        price_band_of(80.0, Traits(), rows)
    with pytest.raises(DomainError, match="must be that of a past job, got 'GBP'"):
        price_band_of(80.0, Traits(), rows, "GBP")
    assert price_band_of(80.0, Traits(), rows, "USD").likely == pytest.approx(24_000.0)
