"""Write the generated pages of `docs/reference/`: the kinds of quantity and their units.

python -m tools.make_reference
"""

from __future__ import annotations

from pathlib import Path

from pondwright.base.kinds import KINDS

PAGE = Path(__file__).resolve().parent.parent / "docs/reference/kinds.md"
HEAD = """\
<!-- written by `make docs` from pondwright.base.kinds; do not edit -->
# Kinds of quantity and their house units

Inside pondwright every number of a kind is in the one unit of this table.

| kind | house unit |
| --- | --- |
"""


def kinds_page() -> str:
    """Text of the page: one row a kind, in the order of the module."""
    return HEAD + "".join(f"| {kind.name} | {kind.unit} |\n" for kind in KINDS.values())


def main() -> None:
    """Write the page."""
    PAGE.write_text(kinds_page(), encoding="utf-8")


if __name__ == "__main__":
    main()
