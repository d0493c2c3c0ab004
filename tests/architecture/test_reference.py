"""The generated pages of the reference are as their generators write them now."""

from tools import make_reference, make_schema


def test_the_table_of_kinds_is_current():
    assert make_reference.PAGE.read_text(encoding="utf-8") == make_reference.kinds_page()


def test_the_schema_of_the_document_is_current():
    assert make_schema.SCHEMA.read_text(encoding="utf-8") == make_schema.schema_text()
