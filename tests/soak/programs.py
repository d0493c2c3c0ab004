"""Programs that are killed in the middle of their work."""

from itertools import count

from pondwright.base.findings import Op
from pondwright.job.edits import Edit
from pondwright.server.run import run_server
from pondwright.store import Accepted, append_edit, loaded, open_store


def write_edits(file, job_id, name, acknowledged):
    """Keep one edit after the other, and tell each that is kept."""
    store = open_store(file)
    _job, rev = loaded(store, job_id)
    for number in count(1):
        edit = Edit(f"{name}-{number}", rev, (Op("replace", "/brief/client", f"{name} {number}"),), "soak")
        outcome = append_edit(store, job_id, edit, name, float(number))
        assert isinstance(outcome, Accepted)
        rev = outcome.rev
        acknowledged.send(edit.id)


def serve(file, _job_id, _name, ready):
    """Serve a store on a free port, and tell the address."""
    run_server(file, 0, ready.send)
