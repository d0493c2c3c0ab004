"""Two windows edit one job in any order: nothing that was acknowledged is lost, nothing vanishes unsaid."""

import tempfile
from pathlib import Path

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule

from pondwright.base.findings import Op
from pondwright.job.edits import Edit, apply, overlaps
from pondwright.store import (
    Accepted,
    Refused,
    append_edit,
    edits_since,
    history,
    keep_job,
    loaded,
    open_store,
)
from tests.store.edits import NOW, small_job

OPS = st.one_of(
    st.builds(Op, st.just("replace"), st.just("/shape/bodies/pond/level"), st.floats(90, 110)),
    st.builds(Op, st.just("replace"), st.just("/brief/client"), st.text("ab", max_size=3)),
    st.builds(Op, st.just("replace"), st.just("/brief"), st.just({"client": "whole"})),
    st.builds(
        Op, st.just("add"), st.sampled_from(["/catalogue/gravel", "/catalogue/sand"]), st.just({"kind": "g"})
    ),
    st.builds(Op, st.just("remove"), st.just("/catalogue/gravel"), st.none()),
    st.builds(Op, st.just("replace"), st.just("/shape/bodies/pond/level"), st.just("no number")),
)
WINDOWS = st.sampled_from(["one", "two"])


class TwoWindows(RuleBasedStateMachine):
    """Each window knows a revision, makes edits on it, sends some twice, and catches up now and then."""

    def __init__(self):
        super().__init__()
        self.folder = tempfile.TemporaryDirectory()
        self.file = Path(self.folder.name) / "jobs.sqlite"
        self.store = open_store(self.file)
        self.job_id = keep_job(self.store, small_job(), NOW)
        self.known = {"one": 0, "two": 0}
        self.made = {"one": [], "two": []}
        self.acknowledged = {}
        self.replayed, self.replayed_rev = small_job(), 0

    @rule(window=WINDOWS, ops=st.lists(OPS, min_size=1, max_size=3))
    def edit(self, window, ops):
        number = len(self.made[window]) + 1
        edit = Edit(f"{window}-{number}", self.known[window], tuple(ops), f"{window} {number}")
        self.made[window].append(edit)
        self.send(window, edit)

    @rule(window=WINDOWS)
    def send_the_last_one_again(self, window):
        if self.made[window]:
            self.send(window, self.made[window][-1])

    @rule(window=WINDOWS)
    def catch_up(self, window):
        self.known[window] = loaded(self.store, self.job_id)[1]

    @rule()
    def open_again(self):
        self.store.close()
        self.store = open_store(self.file)

    def send(self, window, edit):
        head, rev = loaded(self.store, self.job_id)
        since = edits_since(self.store, self.job_id, edit.base)
        outcome = append_edit(self.store, self.job_id, edit, window, NOW)
        if edit.id in self.acknowledged:
            assert outcome.rev == self.acknowledged[edit.id] and loaded(self.store, self.job_id)[1] == rev
        elif isinstance(outcome, Accepted):
            assert outcome.rev == rev + 1
            self.acknowledged[edit.id] = outcome.rev
        else:
            assert isinstance(outcome, Refused) and outcome.why
            assert outcome.since == since
            theirs = [op for kept in since if not kept.id.startswith(window) for op in kept.ops]
            assert outcome.faults or overlaps(edit.ops, theirs)
            assert loaded(self.store, self.job_id) == (head, rev)

    @invariant()
    def every_acknowledged_edit_is_in_the_history_once(self):
        assert {kept.id: kept.rev for kept in history(self.store, self.job_id)} == self.acknowledged

    @invariant()
    def the_history_replayed_is_the_head(self):
        for kept in edits_since(self.store, self.job_id, self.replayed_rev):
            self.replayed = apply(self.replayed, Edit(kept.id, kept.base, kept.ops, kept.label))
            self.replayed_rev = kept.rev
        assert self.replayed == loaded(self.store, self.job_id)[0]

    def teardown(self):
        self.store.close()
        self.folder.cleanup()


TestTwoWindows = TwoWindows.TestCase
TestTwoWindows.settings = settings(
    max_examples=min(settings().max_examples // 3, 300), stateful_step_count=20
)
