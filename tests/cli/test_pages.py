"""The generated pages of the reference are as their generator writes them now."""

from pathlib import Path

from pondwright.cli.pages import checks_page, cli_page, limits

REFERENCE = Path(__file__).resolve().parents[2] / "docs/reference"


def test_the_page_of_commands_is_current():
    assert (REFERENCE / "cli.md").read_text(encoding="utf-8") == cli_page()


def test_the_page_of_limits_is_current():
    assert (REFERENCE / "checks.md").read_text(encoding="utf-8") == checks_page()


def test_every_limit_has_its_own_code():
    codes = [limit.code for limit in limits()]

    assert len(set(codes)) == len(codes)
