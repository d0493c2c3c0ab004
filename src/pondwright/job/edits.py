"""Edits: one kind for every change, with its exact inverse.

An edit is a few RFC 6902 operations on rows and properties; lists (a ring, the points of a
bank) are replaced whole.  What an edit does not touch stays the same objects, so that a stage
that reads only those has nothing to do; and only what it touches is validated.

See Also
--------
:mod:`pondwright.job.references`  what rows name must still be there after an edit.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import Any

from pydantic import ValidationError, create_model
from pydantic_core import to_jsonable_python

from pondwright.base.errors import DocumentError, Fault
from pondwright.base.findings import Op
from pondwright.job.document import Job
from pondwright.job.faults import faults_of, shown
from pondwright.job.fields import Rows, Section
from pondwright.job.references import reference_faults, within

MOST_OPS = 10_000
LONGEST_ID = 64
LONGEST_LABEL = 200
OPS = ("add", "remove", "replace", "test")


@dataclass(frozen=True, slots=True)
class Edit:
    """One change of a job, as one step of undo.

    ``id`` is made by whoever makes the edit, ``base`` is the revision that it was made on,
    ``label`` says in words what it does.
    """

    id: str
    base: int
    ops: tuple[Op, ...] = field(default=())
    label: str = ""


def apply(job: Job, edit: Edit) -> Job:
    """Next job: all operations of an edit, or none.

    Parameters
    ----------
    job : Job
    edit : Edit

    Returns
    -------
    Job in which everything that no operation touches is the same object as before.

    Raises
    ------
    DocumentError   If an operation does not fit, or the job would break its rules.
    """
    changed, _ = _carried_out(job, edit)
    _refuse_if_any([*_broken_rules(changed, edit), *reference_faults(changed, job)], edit)
    return changed


def inverse(job: Job, edit: Edit) -> Edit:
    """Edit that takes another one back.

    Parameters
    ----------
    job : Job     The job *before* the edit.
    edit : Edit   The edit to take back.

    Returns
    -------
    Edit for which ``apply(apply(job, edit), inverse(job, edit)) == job``.
    """
    _, undo = _carried_out(job, edit)
    return replace(edit, id=f"{edit.id[: LONGEST_ID - 5]}_undo", ops=undo, label=f"Undo: {edit.label}")


def overlaps(first: Iterable[Op], second: Iterable[Op]) -> bool:
    """Whether two lists of operations touch the same, or one what is inside the other's."""
    theirs = [op.path for op in second]
    return any(_one_in_other(op.path, path) for op in first for path in theirs)


def read_edit(plain: Any) -> Edit:
    """Edit from plain JSON values, as a screen sends it.

    Raises
    ------
    DocumentError   If it has not the form of an edit.
    """
    _refuse_if_any(_form_faults(plain), None)
    ops = tuple(Op(op["op"], op["path"], op.get("value")) for op in plain["ops"])
    return Edit(plain["id"], plain["base"], ops, plain.get("label", ""))


def plain_edit(edit: Edit) -> dict[str, Any]:
    """Plain JSON values of an edit, the form that :func:`read_edit` takes."""
    return {"id": edit.id, "base": edit.base, "ops": [_plain_op(op) for op in edit.ops], "label": edit.label}


@dataclass(frozen=True, slots=True)
class _Slot:
    """Where an operation lands: a field of a section, or a row of one of its maps."""

    owner: type[Section]
    name: str
    path: str
    row: str | None = None

    def validated(self, value: Any) -> Any:
        """Value for this slot, checked like the same value in a file."""
        one = _one_field(self.owner, self.name)
        held = value if self.row is None else {self.row: value}
        try:
            model = one.model_validate_json(json.dumps({self.name: held}))
        except (ValidationError, TypeError, ValueError, RecursionError) as error:
            raise _refused(within(self._owner_path, _value_faults(error, one, self))) from None
        result = getattr(model, self.name)
        return result if self.row is None else result[self.row]

    def fault(self, rule: str, found: str = "") -> DocumentError:
        """Refusal of an operation at this slot."""
        return _refused([Fault(self.path, rule, found)])

    @property
    def _owner_path(self) -> str:
        own = self.name if self.row is None else f"{self.name}.{self.row}"
        return self.path.removesuffix(own).rstrip(".")


_ABSENT: Any = object()


def _carried_out(job: Job, edit: Edit) -> tuple[Job, tuple[Op, ...]]:
    """Job after the operations, and the operations that take them back, last one first."""
    undo: list[Op] = []
    for op in edit.ops:
        tokens = _tokens(op.path)
        if op.op not in OPS:
            rule = f"must be changed by one of {', '.join(OPS)}"
            raise _refused([Fault(".".join(tokens), rule, shown(op.op))])
        job, back = _section_changed(job, tokens, op, "")
        undo[:0] = back
    return job, tuple(undo)


def _section_changed(section: Any, tokens: Sequence[str], op: Op, path: str) -> tuple[Any, list[Op]]:
    name, *rest = tokens
    slot = _Slot(type(section), name, _joined(path, name))
    if name not in type(section).model_fields:
        raise slot.fault("is not known here")
    old = getattr(section, name)
    new, back = _inside(old, rest, op, slot) if rest else _field_changed(old, op, slot)
    return (section if new is old else section.model_copy(update={name: new})), back


def _inside(old: Any, tokens: Sequence[str], op: Op, slot: _Slot) -> tuple[Any, list[Op]]:
    if isinstance(old, Section):
        return _section_changed(old, tokens, op, slot.path)
    if isinstance(old, Rows):
        return _rows_changed(old, tokens, op, slot)
    raise slot.fault("must be replaced whole: an edit cannot reach inside it")


def _rows_changed(rows: Rows[Any], tokens: Sequence[str], op: Op, slot: _Slot) -> tuple[Any, list[Op]]:
    name, *rest = tokens
    old = rows.get(name, _ABSENT)
    slot = replace(slot, row=name, path=_joined(slot.path, name))
    if old is _ABSENT and (rest or op.op != "add"):
        raise slot.fault("is not there")
    new, back = _inside(old, rest, op, slot) if rest else _row_changed(old, op, slot)
    if new is old:
        return rows, back
    return (rows.without(name) if new is _ABSENT else rows.with_row(name, new)), back


def _field_changed(old: Any, op: Op, slot: _Slot) -> tuple[Any, list[Op]]:
    if op.op == "test":
        return _tested(old, op, slot)
    back = [Op("replace", op.path, to_jsonable_python(old))]
    if op.op != "remove":
        return slot.validated(op.value), back
    declared = slot.owner.model_fields[slot.name]
    if declared.is_required():
        raise slot.fault("must be there: it can only be replaced")
    return (Rows() if isinstance(old, Rows) else declared.get_default()), back


def _row_changed(old: Any, op: Op, slot: _Slot) -> tuple[Any, list[Op]]:
    if op.op == "test":
        return _tested(old, op, slot)
    if op.op == "remove":
        return _ABSENT, [Op("add", op.path, to_jsonable_python(old))]
    new = slot.validated(op.value)
    if old is _ABSENT:
        return new, [Op("remove", op.path)]
    return new, [Op("replace", op.path, to_jsonable_python(old))]


def _tested(old: Any, op: Op, slot: _Slot) -> tuple[Any, list[Op]]:
    if slot.validated(op.value) != old:
        raise slot.fault(f"must still be {shown(op.value)}", shown(to_jsonable_python(old)))
    return old, []


@lru_cache(maxsize=1024)
def _one_field(owner: type[Section], name: str) -> type[Section]:
    """Model with one field of another, so that one property is validated by itself."""
    declared = owner.model_fields[name]
    fields: Any = {name: (declared.annotation, declared)}
    return create_model(f"{owner.__name__}_{name}", __base__=Section, **fields)


def _value_faults(error: Exception, one: type[Section], slot: _Slot) -> tuple[Fault, ...]:
    own = slot.name if slot.row is None else f"{slot.name}.{slot.row}"
    if not isinstance(error, ValidationError):
        return (Fault(own, "must be a plain JSON value"),)
    if error.errors(include_url=False)[0]["type"] == "json_invalid":
        return (Fault(own, "must be plain text and numbers, not nested without end"),)
    return faults_of(error, one)


def _broken_rules(job: Job, edit: Edit) -> Iterator[Fault]:
    """Faults between fields of the models that an edit touched, from the root inward."""
    seen: dict[int, Section] = {}
    for op in edit.ops:
        node: Any = job
        path = ""
        for token in _tokens(op.path):
            node, path = _child(node, token), _joined(path, token)
            if isinstance(node, Section) and id(node) not in seen:
                seen[id(node)] = node
                yield from within(path, node.broken_rules())


def _child(node: Any, token: str) -> Any:
    return node.get(token) if isinstance(node, Rows) else getattr(node, token, None)


def _tokens(pointer: Any) -> list[str]:
    names = pointer.split("/") if isinstance(pointer, str) else [""]
    if names[0] or len(names) == 1 or not all(names[1:]):
        raise _refused([Fault(str(pointer) or "path", "must be a path such as /shape/bodies/pond/level")])
    return [name.replace("~1", "/").replace("~0", "~") for name in names[1:]]


def _joined(path: str, name: str) -> str:
    return f"{path}.{name}" if path else name


def _one_in_other(first: str, second: str) -> bool:
    return f"{first}/".startswith(f"{second}/") or f"{second}/".startswith(f"{first}/")


def _plain_op(op: Op) -> dict[str, Any]:
    held = {} if op.op == "remove" else {"value": op.value}
    return {"op": op.op, "path": op.path, **held}


def _form_faults(plain: Any) -> Iterator[Fault]:
    if not isinstance(plain, dict):
        yield Fault("edit", "must be an object in braces { }", shown(plain))
        return
    name, base, ops, label = plain.get("id"), plain.get("base"), plain.get("ops"), plain.get("label", "")
    if not isinstance(name, str) or not 1 <= len(name) <= LONGEST_ID:
        yield Fault("id", f"must be text of 1 to {LONGEST_ID} characters", shown(name))
    if not isinstance(base, int) or isinstance(base, bool) or base < 0:
        yield Fault("base", "must be a revision: a whole number from 0", shown(base))
    if not isinstance(label, str) or len(label) > LONGEST_LABEL:
        yield Fault("label", f"must be text of at most {LONGEST_LABEL} characters", shown(label))
    if not isinstance(ops, list) or not 1 <= len(ops) <= MOST_OPS:
        yield Fault("ops", f"must be a list of 1 to {MOST_OPS} operations", shown(ops))
        return
    for index, op in enumerate(ops):
        yield from within(f"ops.{index}", _op_faults(op))


def _op_faults(op: Any) -> Iterator[Fault]:
    if not isinstance(op, dict):
        yield Fault("", "must be an object in braces { }", shown(op))
        return
    if op.get("op") not in OPS:
        yield Fault("op", f"must be one of {', '.join(OPS)}", shown(op.get("op")))
    if not isinstance(op.get("path"), str) or not op["path"].startswith("/"):
        yield Fault("path", "must be a path such as /shape/bodies/pond/level", shown(op.get("path")))
    if op.get("op") != "remove" and "value" not in op:
        yield Fault("value", "is missing")


def _refused(faults: Iterable[Fault]) -> DocumentError:
    return DocumentError("the edit does not fit this job", tuple(faults))


def _refuse_if_any(faults: Iterable[Fault], edit: Edit | None) -> None:
    found = tuple(faults)
    if found and edit is None:
        raise DocumentError("this is not an edit", found)
    if found:
        raise _refused(found)
