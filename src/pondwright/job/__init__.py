"""The job: one document that holds everything that is decided about one pond build.

It is a frozen value.  :func:`~pondwright.job.codec.loads` reads it from JSON with all its
faults at once, :func:`~pondwright.job.edits.apply` makes the next one and leaves untouched
sections the same objects, and what was *observed* on site stands beside it in
:class:`~pondwright.job.log.Log`.
"""

from pondwright.job.document import FORMAT, RESERVED, Job, new_job
from pondwright.job.fields import Default, Section, quantity, quantity_of, value_of

__all__ = [
    "FORMAT",
    "RESERVED",
    "Default",
    "Job",
    "Section",
    "new_job",
    "quantity",
    "quantity_of",
    "value_of",
]
