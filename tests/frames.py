"""A frame's header with everything that the frames before it told, as the page puts it together."""


def whole(head, before):
    """The header with all figures and checks; ``before`` is the whole header before it, or None."""
    since = head.pop("since")
    known = before if since is not None else None
    assert since is None or since == before["seq"], "a frame goes on from the one before it"
    stages = {**(known["by_stage"] if known else {}), **head["figures"]}
    checks = [one if isinstance(one, dict) else known["checks"][one] for one in head["checks"]]
    figures = {path: value for told in stages.values() for path, value in told.items()}
    return {**head, "by_stage": stages, "figures": figures, "checks": checks}
