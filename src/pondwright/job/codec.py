"""Read and write a job: JSON only, all faults at once, one canonical text.

Numbers in the file are in house units (SI; see the schema for the unit of each field).
"""

from __future__ import annotations

import json
import os
import tempfile
from collections import Counter
from collections.abc import Iterable
from importlib.resources import files
from pathlib import Path
from typing import Any, NoReturn

from pydantic import ValidationError

from pondwright.base.errors import DocumentError, Fault
from pondwright.job.document import RESERVED, Job
from pondwright.job.faults import faults_of
from pondwright.job.migrate import migrated
from pondwright.job.references import reference_faults

LARGEST = 32 * 1024 * 1024
LONGEST_LINE = 110
MOST_ON_A_LINE = 20
LONGEST_NAME = 40
MOST_ENTRIES = 1_000_000
MOST_FAULTS = 10_000


def loads(text: str | bytes) -> Job:
    """Job from its JSON text.

    Parameters
    ----------
    text : str or bytes   The whole file; bytes must be UTF-8.

    Returns
    -------
    Job

    Raises
    ------
    DocumentError   If it is no sound job; carries every fault that was found.
    """
    plain = _decoded(text)
    tree = parsed(plain, "a job")
    current = migrated(tree)
    return _validated(plain if current is tree else json.dumps(current))


def dumps(job: Job) -> str:
    """Canonical JSON text of a job: sorted keys, shortest floats, defaults left out.

    Two equal jobs have the same text, and each row of a map has a line of its own.
    """
    return _written(job.model_dump(mode="json", exclude_defaults=True), "") + "\n"


def read_job(path: Path) -> Job:
    """Job of a file.

    Raises
    ------
    DocumentError   If the file cannot be read or is no sound job; names the file.
    """
    try:
        if path.stat().st_size > LARGEST:
            raise DocumentError(_too_large(path.stat().st_size))
        return loads(path.read_bytes())
    except OSError as error:
        raise DocumentError(f"`{path.name}` cannot be read: {error.strerror}") from error
    except DocumentError as error:
        raise DocumentError(f"`{path.name}`: {error.says}", error.faults) from error


def write_job(path: Path, job: Job) -> None:
    """Write a job to a file, whole or not at all: a crash leaves the old file in place."""
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=".part")
    part = Path(name)
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as file:
            file.write(dumps(job))
            file.flush()
            os.fsync(file.fileno())
        part.replace(path)
    except BaseException:
        part.unlink(missing_ok=True)
        raise


def job_schema() -> dict[str, Any]:
    """JSON Schema of the job document, Draft 2020-12, with an example."""
    schema = Job.model_json_schema()
    example = json.loads(smallest_job())
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema, "examples": [example]}


def smallest_job() -> str:
    """Text of a small job as one would write it by hand."""
    return files("pondwright.job").joinpath("smallest.pond.json").read_text(encoding="utf-8")


def parsed(text: str, thing: str) -> dict[str, Any]:
    """Object of a JSON text without double keys, NaN, or numbers and nesting without end.

    Raises
    ------
    DocumentError   In one sentence that says what is wrong with the text.
    """
    try:
        tree = json.loads(text, object_pairs_hook=_Objects(), parse_constant=_refuse_constant)
    except json.JSONDecodeError as error:
        what = error.msg.lower().removesuffix(" at")
        where = f"line {error.lineno}, column {error.colno}"
        raise DocumentError(_json_sentence(f"{what} at {where}", text, thing)) from error
    except RecursionError as error:
        raise DocumentError(_TOO_DEEP) from error
    except ValueError as error:  # Python's own guard against numbers of thousands of digits
        raise DocumentError("a number in the file has too many digits") from error
    if not isinstance(tree, dict):
        raise DocumentError(f"this is not {thing}: it must be an object in braces {{ }}")
    return tree


_ENCODER = json.JSONEncoder(ensure_ascii=False, sort_keys=True, allow_nan=False)
_TOO_DEEP = "the file is nested too deep to be a job"


def _decoded(text: str | bytes) -> str:
    try:
        coded = text.encode("utf-8") if isinstance(text, str) else text
        plain = coded.decode("utf-8-sig")
    except UnicodeError as error:
        raise DocumentError("the file is not UTF-8 text: save it again as UTF-8") from error
    if len(coded) > LARGEST:
        raise DocumentError(_too_large(len(coded)))
    return plain


def _too_large(size: int) -> str:
    return (
        f"the file is too large for a job: {size / 2**20:.1f} MB, at most {LARGEST / 2**20:.0f} MB "
        "(clouds and photos are files of their own)"
    )


class _Objects:
    """Makes the objects of one file: no name twice in one, and not entries without end in all.

    The end is there because the validator keeps every fault: a file of millions would fill the memory.
    """

    def __init__(self) -> None:
        self.entries = 0

    def __call__(self, pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        self.entries += len(pairs) + sum(len(value) for _, value in pairs if isinstance(value, list))
        if self.entries > MOST_ENTRIES:
            says = f"the file has more than {MOST_ENTRIES:,} entries: too many for a job"
            raise DocumentError(f"{says} (clouds are files of their own)")
        tree = dict(pairs)
        if len(tree) < len(pairs):
            double = Counter(name for name, _ in pairs).most_common(1)[0][0]
            raise DocumentError(f"the name {json.dumps(double[:LONGEST_NAME])} stands twice in one object")
        return tree


def _refuse_constant(word: str) -> NoReturn:
    raise DocumentError(f"{word} is not a number that a job can hold")


def _validated(text: str) -> Job:
    try:
        job = Job.model_validate_json(text)
    except ValidationError as error:
        if error.error_count() > MOST_FAULTS:
            raise DocumentError(f"the file has {error.error_count():,} faults: it is hardly a job") from None
        first = error.errors(include_url=False, include_input=False)[0]
        if first["type"] == "json_invalid":
            raise DocumentError(_json_sentence(first["ctx"]["error"], text, "a job")) from None
        raise _refusal(map(_of_newer_sections, faults_of(error, Job))) from None
    faults = tuple(reference_faults(job))
    if faults:
        raise _refusal(faults)
    return job


def _refusal(faults: Iterable[Fault]) -> DocumentError:
    found = tuple(faults)
    count = "one fault" if len(found) == 1 else f"{len(found):,} faults"
    return DocumentError(f"the job has {count}", found)


def _json_sentence(found: str, text: str, thing: str) -> str:
    if not text.strip():
        return f"there is nothing in it: it must hold {thing}"
    if "recursion" in found:
        return _TOO_DEEP
    curved = (
        "" if not set("“”„‟") & set(text) else ' (it has curved quotes where JSON needs straight ones: ")'
    )
    return f"this is not JSON: {found}{curved}"


def _of_newer_sections(fault: Fault) -> Fault:
    if fault.path in RESERVED:
        return Fault(fault.path, "is a section of a newer pondwright: open the job with that version")
    return fault


def _written(value: Any, indent: str) -> str:
    """Text of a value: on one line if it fits, else an entry a line."""
    held = isinstance(value, dict | list) and len(value)
    if held < MOST_ON_A_LINE:
        line = _ENCODER.encode(value)
        if not held or len(indent) + len(line) <= LONGEST_LINE:
            return line
    deeper = indent + " "
    if isinstance(value, list):
        entries = [_written(item, deeper) for item in value]
        opened, closed = "[", "]"
    else:
        entries = [f"{_ENCODER.encode(name)}: {_written(value[name], deeper)}" for name in sorted(value)]
        opened, closed = "{", "}"
    return f"{opened}\n{deeper}" + f",\n{deeper}".join(entries) + f"\n{indent}{closed}"
