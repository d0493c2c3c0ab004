"""Where jobs are kept: one SQLite file in which every change is a row and nothing is overwritten.

An edit that was acknowledged is on the disk.  Undo, restore and merge are all new edits, so
the way back leads to the beginning.  The store knows the document but computes nothing.
"""

from pondwright.store.connection import Missing, Store, Unusable, open_store
from pondwright.store.edits import Accepted, KeptEdit, Refused, append_edit, edits_since, history, restore
from pondwright.store.files import file_body, keep_file
from pondwright.store.jobs import (
    STATES,
    JobCard,
    duplicate_job,
    job_card,
    job_cards,
    keep_job,
    loaded,
    set_card,
)
from pondwright.store.log import append_log, log_of
from pondwright.store.past_jobs import (
    PastJobRow,
    keep_past_job,
    past_jobs,
    price_band_of,
    read_past_job,
    remove_past_job,
)
from pondwright.store.versions import Version, keep_version, versions

__all__ = [
    "STATES",
    "Accepted",
    "JobCard",
    "KeptEdit",
    "Missing",
    "PastJobRow",
    "Refused",
    "Store",
    "Unusable",
    "Version",
    "append_edit",
    "append_log",
    "duplicate_job",
    "edits_since",
    "file_body",
    "history",
    "job_card",
    "job_cards",
    "keep_file",
    "keep_job",
    "keep_past_job",
    "keep_version",
    "loaded",
    "log_of",
    "open_store",
    "past_jobs",
    "price_band_of",
    "read_past_job",
    "remove_past_job",
    "restore",
    "set_card",
    "versions",
]
