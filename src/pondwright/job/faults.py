"""Faults in a builder's words: what the validator found, with the path as it stands in the file.

The validator speaks of tags, literals and tuples; a person needs the place in the file, the
rule and what was found there.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterator, Mapping, Sequence
from difflib import get_close_matches
from types import NoneType, UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from pondwright.base.errors import Fault
from pondwright.job import fields
from pondwright.job.fields import Quantity, Section, quantity_of
from pondwright.job.references import within

RULES = {
    "missing": "is missing",
    "float_type": "must be a number",
    "finite_number": "must be a finite number",
    "int_type": "must be a whole number",
    "int_from_float": "must be a whole number",
    "int_parsing_size": "must be a smaller whole number",
    "bool_type": "must be true or false",
    "string_type": "must be text",
    "dict_type": "must be an object in braces {{ }}",
    "model_type": "must be an object in braces {{ }}",
    "model_attributes_type": "must be an object in braces {{ }}",
    "tuple_type": "must be a list in brackets [ ]",
    "literal_error": "must be {expected}",
    "greater_than": "must be more than {gt:g}{unit}",
    "greater_than_equal": "must be at least {ge:g}{unit}",
    "less_than": "must be less than {lt:g}{unit}",
    "less_than_equal": "must be at most {le:g}{unit}",
    "string_too_long": "must have at most {max_length} characters",
    "too_long": "must have at most {max_length} entries",
    "date_type": "must be a day such as 2026-03-12",
    "date_parsing": "must be a day such as 2026-03-12",
    "date_from_datetime_parsing": "must be a day such as 2026-03-12",
    "date_from_datetime_inexact": "must be a day such as 2026-03-12",
    "datetime_type": "must be a time such as 2026-03-12T14:30:00Z",
    "datetime_parsing": "must be a time such as 2026-03-12T14:30:00Z",
    "datetime_from_date_parsing": "must be a time such as 2026-03-12T14:30:00Z",
    "timezone_aware": "must be a time with its zone, such as 2026-03-12T14:30:00Z",
}
PATTERNS = {
    fields.ID_PATTERN: "must be small letters, digits and _, a letter first, 40 at most",
    fields.CODE_PATTERN: "must be small letters, digits and _, with dots between the parts",
    fields.ENTRY_PATTERN: "must be letters, digits, - and _, 64 at most",
    fields.HASH_PATTERN: "must be the SHA-256 of a file, 64 digits of 0-9 and a-f",
}
NOTHING_FOUND = frozenset({"missing", "extra_forbidden"})
LONGEST_FOUND = 60


def faults_of(error: ValidationError, root: Any) -> tuple[Fault, ...]:
    """Faults of a validation, each told once.

    Parameters
    ----------
    error : ValidationError   What the validator found.
    root : type               The model, or union of models, that was validated.
    """
    details = error.errors(include_url=False)
    return tuple(dict.fromkeys(fault for detail in details for fault in _told(detail, root)))


def shown(value: Any) -> str:
    """Value as it would stand in a file, short enough for a sentence."""
    if isinstance(value, Mapping):
        return "an object" if value else "{}"
    if isinstance(value, Sequence) and not isinstance(value, str):
        return f"a list of {len(value)}"
    text = json.dumps(value, ensure_ascii=False, default=str)
    return text if len(text) <= LONGEST_FOUND else f"{text[:LONGEST_FOUND]}…"


def _told(detail: ErrorDetails, root: Any) -> Iterator[Fault]:
    trail = _Trail(root)
    for step in detail["loc"]:
        trail.follow(step)
    if detail["type"] == fields.BROKEN_RULES:
        yield from within(trail.path, detail["ctx"]["faults"])
        return
    found = "" if detail["type"] in NOTHING_FOUND else f"{shown(detail['input'])}{_unit_of(detail, trail)}"
    if detail["type"].startswith("union_tag"):
        path, rule, found = _tag_rule(detail, trail)
        yield Fault(path, rule, found)
        return
    yield Fault(trail.path, _rule(detail, trail), found)


def _rule(detail: ErrorDetails, trail: _Trail) -> str:
    kind = detail["type"]
    context = detail.get("ctx", {})
    if trail.loose_union:
        return "must be a finite number, or text of 200 characters at most"
    if kind == "extra_forbidden":
        return _not_known(trail)
    if kind == "string_pattern_mismatch":
        return PATTERNS.get(context["pattern"], "must have another form")
    return RULES.get(kind, detail["msg"].lower()).format(unit=trail.unit, **context)


def _not_known(trail: _Trail) -> str:
    name = trail.path.rsplit(".")[-1]
    known = list(trail.owner.model_fields) if trail.owner else []
    near = get_close_matches(name, known, n=1)
    return f"is not known here: is it `{near[0]}`?" if near else "is not known here"


def _tag_rule(detail: ErrorDetails, trail: _Trail) -> tuple[str, str, str]:
    tag = detail["ctx"]["discriminator"].strip("'")
    known = " or ".join(f"'{name}'" for name in _members(trail.declared))
    path = f"{trail.path}.{tag}" if trail.path else tag
    if detail["type"] == "union_tag_not_found":
        return path, f"is missing: it must be {known}", ""
    return path, f"must be {known}", shown(detail["ctx"]["tag"])


def _unit_of(detail: ErrorDetails, trail: _Trail) -> str:
    value = detail["input"]
    number = isinstance(value, int | float) and not isinstance(value, bool)
    return trail.unit if number and abs(value) < math.inf else ""


class _Trail:
    """Where the validator's location leads, step by step, in the declared models."""

    def __init__(self, root: Any) -> None:
        self.declared = root
        self.owner: type[Section] | None = None
        self.quantity: Quantity | None = None
        self.loose_union = False
        self._names: list[str] = []

    @property
    def path(self) -> str:
        return ".".join(self._names)

    @property
    def unit(self) -> str:
        kind = self.quantity.kind if self.quantity else None
        return f" {kind.unit}" if kind and kind.unit != "-" else ""

    def follow(self, step: str | int) -> None:
        """Go one step on; a step that names a member of a union is no part of the path."""
        declared, self.quantity = _bare(self.declared), None
        members = _members(declared)
        if step in members:
            self.declared = members[str(step)]
        elif get_origin(declared) in (Union, UnionType):
            self.loose_union = True
        elif step != "[key]":
            self._names.append(str(step))
            self._enter(declared, step)

    def _enter(self, declared: Any, step: str | int) -> None:
        if isinstance(declared, type) and issubclass(declared, Section):
            self.owner = declared
            field = declared.model_fields.get(str(step))
            self.declared = field.annotation if field else None
            self.quantity = quantity_of(declared, str(step)) if field else None
        else:
            items = [item for item in get_args(declared) if item is not Ellipsis]
            self.declared = items[-1] if items else None


def _bare(declared: Any) -> Any:
    """Declared type without its annotations and without ``None`` beside it."""
    while get_origin(declared) is Annotated:
        declared = get_args(declared)[0]
    if get_origin(declared) in (Union, UnionType):
        others = [member for member in get_args(declared) if member is not NoneType]
        if len(others) == 1:
            return _bare(others[0])
    return declared


def _members(declared: Any) -> dict[str, type[Section]]:
    """Models of a tagged union by their tags; empty for anything else."""
    union = _bare(declared)
    if get_origin(union) not in (Union, UnionType):
        return {}
    return {
        tag: model
        for model in map(_bare, get_args(union))
        if isinstance(model, type) and issubclass(model, Section)
        for tag in _tags(model)
    }


def _tags(model: type[Section]) -> tuple[str, ...]:
    for name in ("at", "by", "form", "kind"):
        field = model.model_fields.get(name)
        if field and get_origin(field.annotation) is Literal:
            return get_args(field.annotation)
    return ()
