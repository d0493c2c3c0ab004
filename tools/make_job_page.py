"""Write the generated part of `docs/reference/job-document.md`: every model with its fields.

What stands above the mark in the page is written by hand and left alone.

python -m tools.make_job_page
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from pondwright.job.codec import job_schema

PAGE = Path(__file__).resolve().parent.parent / "docs/reference/job-document.md"
MARK = "<!-- from here on written by `python -m tools.make_job_page`; do not edit -->"
HEADER = "| field | holds | unit | what it is | if left out |\n| --- | --- | --- | --- | --- |\n"


def job_page() -> str:
    """Text of the page: the part by hand as it is, then a table for each model."""
    by_hand = PAGE.read_text(encoding="utf-8").partition(MARK)[0]
    return f"{by_hand}{MARK}\n\n" + "\n".join(_models())


def main() -> None:
    """Write the page."""
    PAGE.write_text(job_page(), encoding="utf-8")


def _models() -> Iterator[str]:
    schema = job_schema()
    for name, model in {"Job": schema, **schema["$defs"]}.items():
        says = " ".join(model.get("description", "").split())
        rows = "".join(_row(field, told, model) for field, told in model["properties"].items())
        yield f"## {name}\n\n{says}\n\n{HEADER}{rows}"


def _row(name: str, field: dict[str, Any], model: dict[str, Any]) -> str:
    cells = (
        f"`{name}`",
        _holds(field),
        field.get("unit", ""),
        field["description"],
        _left_out(name, field, model),
    )
    return f"| {' | '.join(cell.replace('|', chr(92) + '|') for cell in cells)} |\n"


def _left_out(name: str, field: dict[str, Any], model: dict[str, Any]) -> str:
    if name in model.get("required", ()):
        return "must be given"
    stated = field.get("stated_default")
    if not stated:
        return _plain(field.get("default"))
    unit = f" {field['unit']}" if field.get("unit", "-") != "-" else ""
    value = f"{stated['value']:g}{unit}: " if stated["value"] is not None else ""
    return f"{value}{stated['says']} ({stated['source']})"


def _plain(default: Any) -> str:
    words = {
        "None": "not known",
        "{}": "empty",
        "[]": "empty",
        "''": "empty",
        "True": "`true`",
        "False": "`false`",
    }
    return words.get(
        str(default) if default != "" else "''",
        "its own defaults" if isinstance(default, dict) else f"`{default}`",
    )


def _holds(field: dict[str, Any]) -> str:
    """What a field holds, in the words of JSON."""
    if "$ref" in field:
        return _link(field["$ref"])
    several = field.get("anyOf") or field.get("oneOf")
    if several:
        members = [member for member in several if member.get("type") != "null"]
        return " or ".join(_holds(member) for member in members)
    if "const" in field:
        return f"`{field['const']}`"
    if "enum" in field:
        return ", ".join(f"`{word}`" for word in field["enum"])
    if "patternProperties" in field:
        (row,) = field["patternProperties"].values()
        return f"by id: {_holds(row)}"
    if field["type"] == "array":
        return f"list of {_holds(field['items'])}" if "items" in field else "two ids"
    words = {
        "number": "number",
        "integer": "whole number",
        "boolean": "`true` or `false`",
        "object": "object",
    }
    return words.get(field["type"], _text(field)) + _range(field)


def _text(field: dict[str, Any]) -> str:
    if field.get("format"):
        return "day" if field["format"] == "date" else "time"
    if "pattern" in field:
        return "hash" if "64" in field["pattern"] else "id"
    return "text"


def _range(field: dict[str, Any]) -> str:
    signs = {"minimum": "≥", "exclusiveMinimum": ">", "maximum": "≤", "exclusiveMaximum": "<"}
    limits = [f"{sign} {field[name]:g}" for name, sign in signs.items() if name in field]
    return f" ({', '.join(limits)})" if limits else ""


def _link(reference: str) -> str:
    name = reference.rpartition("/")[2]
    return f"[{name}](#{name.lower()})"


if __name__ == "__main__":
    main()
