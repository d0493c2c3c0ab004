"""A frame's header with everything that the frames before it told, as the page puts it together."""

from typing import Any

Head = dict[str, Any]


def whole(head: Head, before: Head | None) -> Head:
    """The header with all figures and checks; ``before`` is the whole header before it, or None."""
    since = head.pop("since")
    known: Head = {"seq": since, "by_stage": {}, "checks": []} if since is None or before is None else before
    assert since == known["seq"], "a frame goes on from the one before it"
    stages = {**known["by_stage"], **head["figures"]}
    checks = [one if isinstance(one, dict) else known["checks"][one] for one in head["checks"]]
    figures = {path: value for told in stages.values() for path, value in told.items()}
    return {**head, "by_stage": stages, "figures": figures, "checks": checks}
