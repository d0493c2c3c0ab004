"""Data tables that ship with the package."""

import pytest

from pondwright.base import tables
from pondwright.base.errors import DomainError
from pondwright.base.sources import PRACTICE, Source, Standing
from pondwright.base.tables import read_table


def test_a_table_gives_its_source_and_its_rows():
    table = read_table("pondwright.base", "units.csv")

    assert table.source.standing is Standing.MEMORY
    assert table.rows[0]["unit"] == "m"


def test_rows_cannot_be_changed():
    row = read_table("pondwright.base", "units.csv").rows[0]

    with pytest.raises(TypeError):
        row["unit"] = "ell"


def test_a_source_has_a_document_a_place_and_a_standing():
    table = tables._table("t.csv", '# source: A handbook | table 3 | from memory\n# a note\na,b\n1,"2, 3"\n')

    assert table.source == Source("A handbook", "table 3", Standing.MEMORY)
    assert dict(table.rows[0]) == {"a": "1", "b": "2, 3"}


def test_a_source_is_taken_as_confirmed_unless_it_says_otherwise():
    assert tables._table("t.csv", "# source: A handbook\na\n1\n").source == Source("A handbook")


def test_common_practice_needs_no_document():
    assert tables._table("t.csv", "# source: common practice, no source\na\n1\n").source is PRACTICE


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("a\n1\n", "must state its source in one line, got 0"),
        ("# source: A\n# source: B\na\n1\n", "got 2"),
        ("# source: A | | rumour\na\n1\n", "known standing of its source, got `rumour`"),
        ("# source: A\na,b\n1\n", "must have 2 cells in the row `1`, got 1"),
        ("# source: A\n", "must have a line of column names"),
    ],
)
def test_a_table_that_breaks_the_rules_is_refused(text, says):
    with pytest.raises(DomainError, match=says):
        tables._table("t.csv", text)


def test_a_table_that_is_not_there_is_refused():
    with pytest.raises(DomainError, match="table `none.csv` must lie in the package"):
        read_table("pondwright.base", "none.csv")
