"""Rules of this job: limits that it replaces, and checks that someone accepted."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from pydantic import Field

from pondwright.base.errors import Fault
from pondwright.base.findings import Limit, replaced_limits
from pondwright.job.fields import Line, Section, Text
from pondwright.job.places import Place


class Rule(Section):
    """What this job decides about one check: another limit, or that it is accepted as it is."""

    limit: float | None = Field(
        default=None, description="Limit in place of the general one, in the house unit of the check"
    )
    accepted: bool = Field(default=False, description="The check is seen and accepted")
    place: Place | None = Field(default=None, description="Where this holds; none is everywhere")
    reason: Text = Field(description="Why, in a sentence")
    by: Line = Field(description="Who decided it")

    def broken_rules(self) -> Iterator[Fault]:
        """A rule decides something, and gives its reason and its name."""
        if self.limit is None and not self.accepted:
            yield Fault("", "must set a `limit` or be `accepted`")
        for name in ("reason", "by"):
            if not getattr(self, name).strip():
                yield Fault(name, "must not be empty: a decision has a reason and a name")


def limits_in(rules: Mapping[str, Rule], limits: tuple[Limit, ...]) -> dict[str, Limit]:
    """Limits by code as this job has them: those that its rules replace, and the general ones."""
    return replaced_limits(
        limits, {code: rule.limit for code, rule in rules.items() if rule.limit is not None}
    )
