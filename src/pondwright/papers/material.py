"""What papers are written from: a job, its results and checks, its log, and the photos that are at hand."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from pondwright.base.findings import Finding, Grade
from pondwright.base.kinds import ELEVATION, LENGTH, Kind
from pondwright.base.units import format_value, format_wind
from pondwright.flow.engine import Run, Status
from pondwright.flow.findings import checks_of
from pondwright.job.document import Job
from pondwright.job.log import Log, PhotoEntry

INVENTED = "Invented example: nobody and nothing in it is real."
NOT_TOLD = "not told"
UNBROKEN = "\u00a0"  # keeps a number and its unit on one line


@dataclass(frozen=True, slots=True)
class Material:
    """A job with everything that may be printed about it.

    ``results`` are by the name of their stage, None for one without an answer; ``files`` are bytes by hash.
    """

    job: Job
    results: Mapping[str, Any]
    findings: Sequence[Finding] = ()
    log: Log = Log()
    files: Mapping[str, bytes] = field(default_factory=dict)

    @property
    def note(self) -> str:
        """What a sheet of an example says about itself."""
        return INVENTED if self.job.demo else ""

    def result(self, stage: str) -> Any:
        """Result of a stage, or None while it has no answer."""
        return self.results.get(stage)

    def told(self, value: float | None, kind: Kind = LENGTH, digits: int | None = None) -> str:
        """A value in the units of the job, or that nobody told it."""
        if value is None:
            return NOT_TOLD
        words = format_value(float(value), kind, self.job.shown_units, digits=digits)
        return words.replace(" ", UNBROKEN)

    def wind(self, value: float) -> str:
        """A wind as weather reports tell it."""
        return format_wind(value, self.job.shown_units).replace(" ", UNBROKEN)

    def level(self, value: float | None) -> str:
        """An elevation in the units of the job."""
        return self.told(value, ELEVATION)

    def fine(self, value: float | None) -> str:
        """A small length, to the millimetre or the thousandth of a foot."""
        return self.told(value, LENGTH, digits=3)

    def raised(self, *begins: str) -> list[Finding]:
        """Checks that are not good, by the beginnings of their codes, stops first."""
        found = [one for one in self.findings if one.grade is not Grade.GOOD and one.code.startswith(begins)]
        return sorted(found, key=lambda one: (bool(one.accepted), one.grade is not Grade.STOP))

    def photos(self) -> tuple[PhotoEntry, ...]:
        """Photos of the log, in the order in which they were taken."""
        return tuple(sorted(self._photos(), key=lambda one: (one.time, one.id)))

    def numbered_photos(self) -> list[tuple[int, PhotoEntry]]:
        """Photos with the numbers by which plan and report name them."""
        return list(enumerate(self.photos(), start=1))

    def _photos(self) -> Iterator[PhotoEntry]:
        yield from (entry for entry in self.log.entries if isinstance(entry, PhotoEntry))


def material_of(run: Run, files: Mapping[str, bytes] | None = None) -> Material:
    """What papers are written from, out of a run; a stage without an answer of its own has none here.

    Parameters
    ----------
    run : Run
    files : mapping or None
        Bytes of the photos that are at hand, by hash.

    Returns
    -------
    Material
    """
    found = checks_of(run)
    unanswered = (Status.BLOCKED, Status.WAITING)
    results = {
        name: None if state.status in unanswered else state.result for name, state in run.stages.items()
    }
    return Material(run.job, results, (*found.stop, *found.look, *found.good), run.log, files or {})
