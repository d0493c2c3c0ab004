"""The fold that recomputes: the next run is made from the last run and the next job.

A stage runs only when an input *is not* the object that it last saw; a result that equals the old one
leaves the old object in place, so that later stages rest.  A :class:`Run` is a frozen value: keeping the old
one is a fork, dropping the new one cancels it.

See Also
--------
:mod:`pondwright.flow.stages`  the table of the stages of this tool.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import cache
from operator import is_
from time import perf_counter
from types import MappingProxyType
from typing import Any, Literal

from pondwright.base.errors import DomainError, StageError
from pondwright.base.findings import Finding, Grade, Where
from pondwright.flow.equality import getter, same, sealed
from pondwright.job.document import Job
from pondwright.job.log import Log

Tier = Literal["drag", "settle", "background"]
TIERS: tuple[Tier, ...] = ("drag", "settle", "background")
"""How soon a stage must answer: with each frame, after the drop, or behind the scenes."""

LOG = "log"
"""What a stage reads that reads the log of what was observed."""

_BLOCKED = ".blocked"

Sections = Mapping[str, Any]
Results = Mapping[str, Any]
StageFunction = Callable[..., tuple[Any, tuple[Finding, ...]]]
"""Function of a stage: of the sections it reads and the results it needs, and of a :class:`Last` if it has
`hint`; gives its result and its checks."""


@dataclass(frozen=True, slots=True, eq=False)
class Last:
    """What a stage saw and gave last time, a hint to spare work: the answer is the same bits without it."""

    view: Sections
    results: Results
    result: Any


class Status(StrEnum):
    """How far a stage's result can be trusted.

    ``stale`` is of an earlier job and comes with a later tier; ``blocked`` had no answer; ``waiting``
    needs a stage that had none.  The last good result stays visible in all of them.
    """

    FRESH = "fresh"
    STALE = "stale"
    BLOCKED = "blocked"
    WAITING = "waiting"


@dataclass(frozen=True, slots=True)
class Stage:
    """One row of the table: what a stage reads and needs, its function, and when it runs.

    ``reads`` are dotted paths of sections of the job (or ``log``), ``needs`` are earlier stages, ``budget``
    is the time that it may take [s]; it is a goal of the bench and never enforced.  With ``hint`` the
    function also gets what it saw and gave last time; with ``warm`` too it gets that in a drag only, where
    its answer may be only near, and it runs again without it as soon as the drag is over.
    """

    name: str
    reads: tuple[str, ...]
    needs: tuple[str, ...]
    function: StageFunction
    result: type
    tier: Tier = "drag"
    budget: float = 0.010
    hint: bool = False
    warm: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class StageState:
    """What one stage saw and gave: its last try, and its last good result.

    ``seen`` is None before the first try; ``failed`` tells that the last one had no answer, ``near`` that
    it was begun from the one before in a drag and is only near.
    """

    seen: tuple[Any, ...] | None = None
    result: Any = None
    findings: tuple[Finding, ...] = ()
    status: Status = Status.STALE
    milliseconds: float = 0.0
    failed: bool = False
    near: bool = False

    def saw(self, inputs: tuple[Any, ...]) -> bool:
        """Whether these very objects are the ones that the stage last saw."""
        return self.seen is not None and len(self.seen) == len(inputs) and all(map(is_, self.seen, inputs))


_UNTRIED = StageState()
_FRESH = Status.FRESH


@dataclass(frozen=True, slots=True, eq=False)
class Branch:
    """Results by the names of their stages, or those whose names go on below one name."""

    below: Mapping[str, Any]

    def __getattr__(self, name: str) -> Any:
        """Result of a stage, or the branch of the stages below a name."""
        if name in self.below:
            return self.below[name]
        inside = {
            stage.removeprefix(f"{name}."): result
            for stage, result in self.below.items()
            if stage.startswith(f"{name}.")
        }
        if not inside:
            raise AttributeError(f"`{name}` is no stage: there are {', '.join(self.below)}")
        return Branch(inside)


@dataclass(frozen=True, slots=True, eq=False)
class Run:
    """A job with everything computed from it: one state for each stage of the table."""

    job: Job
    log: Log
    stages: Mapping[str, StageState]

    @property
    def results(self) -> Branch:
        """Last good results as one tree: ``run.results.site.ground.lowest``."""
        return Branch({name: state.result for name, state in self.stages.items()})

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What the stages found, in their order.

        A stage that waits says nothing: its last checks are of another design.
        """
        heard = (state for state in self.stages.values() if state.status is not Status.WAITING)
        return tuple(finding for state in heard for finding in state.findings)


def never() -> bool:
    """Nobody cancels."""
    return False


def advance(
    table: Sequence[Stage],
    run: Run | None,
    job: Job,
    log: Log,
    tier: Tier,
    *,
    cancelled: Callable[[], bool] = never,
    clock: Callable[[], float] = perf_counter,
) -> Run:
    """Next run: what changed since the last run is computed again, as far as the tier goes.

    Parameters
    ----------
    table : sequence of Stage
        The stages, in an order in which each needs only earlier ones.
    run : Run or None
        The run to go on from; it stays as it is.  None to begin.
    job : Job
        The job to compute.
    log : Log
        What was observed on its site.
    tier : Tier
        Stages of later tiers are left, and marked stale where an input changed.
    cancelled : callable
        Asked before each stage; once true, the rest is left and marked stale.
    clock : callable
        Seconds from any start, to tell how long each stage took.

    Returns
    -------
    Run
        The same job, with a state for each stage of the table.

    Raises
    ------
    StageError
        If a stage reads what it did not declare, or gives another result than it declared.
    """
    last = run.stages if run else {}
    reach = TIERS.index(tier)
    dragging = tier == "drag"
    stages: dict[str, StageState] = {}
    following = Run(job, log, MappingProxyType(stages))
    for stage in table:
        old = last.get(stage.name, _UNTRIED)
        needed = [stages[need] for need in stage.needs]
        read = _sections(stage.reads)(following)
        results = tuple([state.result for state in needed])
        again = old.near and not dragging
        state = _without_running(old, read + results, [state.status for state in needed], again)
        if state is None and TIERS.index(stage.tier) <= reach and not cancelled():
            state = _computed(stage, old, read, results, clock, dragging)
        stages[stage.name] = state or _known_as(old, Status.STALE)
    return following


def section(job: Job, log: Log, path: str) -> Any:
    """Section of the job by its dotted path, or the log.

    Parameters
    ----------
    job : Job
    log : Log
    path : str
        For example ``site.shots``, or ``log``.

    Returns
    -------
    object
        The very object that the job holds.

    Raises
    ------
    StageError
        If the job has no such section.
    """
    return _sections((path,))(Run(job, log, {}))[0]


@cache
def _sections(paths: tuple[str, ...]) -> Callable[[Run], tuple[Any, ...]]:
    """Getter of the sections at some paths, once every name on them is known to be one of a field."""
    return getter([LOG if path == LOG else f"job.{_checked(path)}" for path in paths])


def _checked(path: str) -> str:
    """The path, if the job has such a section."""
    model: Any = Job
    for name in path.split("."):
        fields = getattr(model, "model_fields", {})
        if name not in fields:
            raise StageError(f"`{path}` must be a section of the job, and `{name}` is none")
        model = fields[name].annotation
    return path


def broken_rows(table: Sequence[Stage]) -> Iterator[str]:
    """What is wrong with a table of stages, one sentence each.

    Parameters
    ----------
    table : sequence of Stage

    Yields
    ------
    str
        A name that stands twice, a need that no earlier stage meets, or a need of a later tier.
    """
    earlier: dict[str, Stage] = {}
    for stage in table:
        if stage.name in earlier:
            yield f"`{stage.name}` stands twice"
        for need in stage.needs:
            if need not in earlier:
                yield f"`{stage.name}` needs `{need}`, which is no earlier stage"
            elif TIERS.index(earlier[need].tier) > TIERS.index(stage.tier):
                yield f"`{stage.name}` runs in {stage.tier} and needs `{need}` of {earlier[need].tier}"
        earlier[stage.name] = stage


class _Declared(Mapping[str, Any]):
    """What a stage declared, and nothing else: any other read is a fault of the stage."""

    def __init__(self, stage: str, verb: str, paths: Sequence[str], values: Sequence[Any]) -> None:
        self._stage = stage
        self._verb = verb
        self._values = dict(zip(paths, values, strict=True))

    def __getitem__(self, path: str) -> Any:
        if path not in self._values:
            raise StageError(f"stage `{self._stage}` {self._verb} `{path}` and did not declare it")
        return self._values[path]

    def __iter__(self) -> Iterator[str]:
        return iter(self._values)

    def __len__(self) -> int:
        return len(self._values)


def is_blocked(finding: Finding) -> bool:
    """Whether a finding tells that a stage had no answer at all."""
    return finding.code.endswith(_BLOCKED)


def _without_running(
    old: StageState, inputs: tuple[Any, ...], needed: Sequence[Status], again: bool
) -> StageState | None:
    """State of a stage that cannot or need not run, or None if it has something to do."""
    # Most of what is needed is fresh: one look at it in place of three.
    if needed.count(_FRESH) < len(needed):
        missing = Status.BLOCKED in needed or Status.WAITING in needed
        return _known_as(old, Status.WAITING if missing else Status.STALE)
    if old.saw(inputs) and not again:
        return _known_as(old, Status.BLOCKED if old.failed else _FRESH)
    return None


def _known_as(state: StageState, status: Status) -> StageState:
    """A state with another status; most of those that rest keep theirs."""
    return state if state.status is status else replace(state, status=status)


def _computed(
    stage: Stage,
    old: StageState,
    read: tuple[Any, ...],
    results: tuple[Any, ...],
    clock: Callable[[], float],
    dragging: bool,
) -> StageState:
    seen = (*read, *results)
    last = _last(stage, old) if stage.hint and (dragging or not stage.warm) else None
    began = clock()
    try:
        result, findings = stage.function(
            _Declared(stage.name, "reads", stage.reads, read),
            _Declared(stage.name, "needs", stage.needs, results),
            *((last,) if stage.hint else ()),
        )
    except DomainError as reason:
        took = 1e3 * (clock() - began)
        return StageState(seen, old.result, (_stop(stage, reason),), Status.BLOCKED, took, failed=True)
    except Exception as error:
        error.add_note(f"while computing the stage `{stage.name}`")
        raise
    took = 1e3 * (clock() - began)
    if not isinstance(result, stage.result):
        raise StageError(
            f"stage `{stage.name}` must give a {stage.result.__name__}, got a {type(result).__name__}"
        )
    if same(result, old.result):
        result = old.result
    else:
        sealed(result, old.result)
    near = stage.warm and last is not None
    return StageState(seen, result, tuple(findings), Status.FRESH, took, near=near)


def _last(stage: Stage, old: StageState) -> Last | None:
    """What a stage saw and gave last time, if that was an answer to what it saw."""
    if old.seen is None or old.failed:
        return None
    count = len(stage.reads)
    return Last(
        dict(zip(stage.reads, old.seen[:count], strict=True)),
        dict(zip(stage.needs, old.seen[count:], strict=True)),
        old.result,
    )


def _stop(stage: Stage, reason: DomainError) -> Finding:
    """Check that tells why a stage had no answer; a reason that names no value is told on its own."""
    why = str(reason)
    says = f"{stage.name} has no answer: {why}." if why.startswith("`") else f"{why[0].upper()}{why[1:]}."
    return Finding(
        code=f"{stage.name}{_BLOCKED}",
        grade=Grade.STOP,
        says=says,
        where=Where(paths=stage.reads),
    )
