"""What ``pondwright banks`` prints: banks to begin with, and one of them put into a job."""

from __future__ import annotations

from pathlib import Path

from pondwright.base.errors import DomainError
from pondwright.base.findings import Op
from pondwright.base.kinds import LENGTH
from pondwright.cli import output
from pondwright.flow.words import in_words
from pondwright.job.document import Job
from pondwright.job.edits import Edit
from pondwright.job.shape import ready_bank_types


def print_banks(job: Job, *, as_json: bool) -> None:
    """Print the banks to begin with: depth and zone at each corner, in the units of a job.

    Parameters
    ----------
    job : Job
    as_json : bool
    """
    banks = ready_bank_types()
    if as_json:
        output.print_json({name: bank.model_dump(mode="json") for name, bank in banks.items()})
        return
    rows: list[tuple[str, ...]] = [("bank", "", "from the edge", "depth", "then")]
    for name, bank in banks.items():
        for at, (point, zone) in enumerate(zip(bank.points, bank.zone_names, strict=True)):
            told = (in_words(value, LENGTH, job.shown_units) for value in (point.distance, point.depth))
            rows.append((name if at == 0 else "", bank.name if at == 0 else "", *told, zone))
    table = output.columns(rows, right=frozenset({2, 3}))
    advice = "Common practice, no source: bend them to the stone and the plants."
    output.answer(None, f"{table}\n\n{advice}", as_json=False)


def added(job: Job, name: str, out: Path | None) -> Job:
    """Job with one of the banks among its bank types, written to a file.

    Parameters
    ----------
    job : Job
    name : str
    out : Path or None
        Where the job is written.

    Returns
    -------
    Job

    Raises
    ------
    DomainError
        If there is no such bank, the job has one of that id, or nobody tells where to write the job.
    """
    if out is None:
        raise DomainError("`--add` must come with `--out`, the file for the job with the bank in it")
    banks = ready_bank_types()
    if name not in banks:
        raise DomainError(f"`--add` must be one of {', '.join(banks)}, got `{name}`")
    if name in job.shape.bank_types:
        raise DomainError(f"`--add {name}`: the job has a bank type `{name}` already")
    row = banks[name].model_dump(mode="json", exclude_defaults=True)
    edit = Edit("bank", 0, (Op("add", f"/shape/bank_types/{name}", row),), "Add a bank type")
    return output.written(job, edit, out)
