"""What ``pondwright serve`` does: where the jobs are kept, who may ask, and the address that is printed."""

from __future__ import annotations

import os
import time
from pathlib import Path

import typer

from pondwright.base.errors import DomainError
from pondwright.examples import LARKMEADOW, example_text
from pondwright.job.codec import loads
from pondwright.server.run import LOOPBACK, run_server
from pondwright.store import job_cards, keep_job, open_store

DATA = "PONDWRIGHT_DATA"
STORE = "jobs.sqlite"


def serve(data: Path | None, host: str, port: int, *, open_example: bool) -> None:
    """Serve the jobs of a folder on this machine until the process is told to end.

    Parameters
    ----------
    data : Path or None
        Folder of the jobs; None for the usual one.
    host : str
        A name of this machine.
    port : int
    open_example : bool
        Whether the example is put on an empty shelf, and the address of a plan is printed.

    Raises
    ------
    DomainError
        If the host is another than this machine.
    StoreError
        If the port is taken or the store cannot be opened.
    """
    if host not in LOOPBACK:
        raise DomainError(
            f"`--host` must be one of {', '.join(LOOPBACK)}, got {host!r}: pondwright has no passwords yet, "
            "so it answers this machine only"
        )
    store_file = (data or data_folder()) / STORE
    page = f"/#/job/{_example_on_shelf(store_file)}/plan" if open_example else ""

    def ready(address: str) -> None:
        typer.echo(f"pondwright is at {address}{page or '/'}  (jobs in {store_file}; end with Ctrl+C)")

    run_server(store_file, port, ready)


def data_folder() -> Path:
    """Folder of the jobs: ``PONDWRIGHT_DATA``, or one in the user's own data folder.

    Returns
    -------
    Path
    """
    told = os.environ.get(DATA)
    if told:
        return Path(told)
    return Path(os.environ.get("XDG_DATA_HOME") or Path.home() / ".local" / "share") / "pondwright"


def _example_on_shelf(store_file: Path) -> str:
    """The job last changed; the example, on a shelf that was never used."""
    store = open_store(store_file)
    try:
        cards = job_cards(store) or job_cards(store, archived=True)
        return cards[0].id if cards else keep_job(store, loads(example_text(LARKMEADOW)), time.time())
    finally:
        store.close()
