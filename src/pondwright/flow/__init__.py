"""Recompute: the table of stages, the fold that runs it, the tree of results, and where a number comes from.

:mod:`~pondwright.flow.stages` is the table of contents of the whole tool,
:mod:`~pondwright.flow.engine` runs it, :mod:`~pondwright.flow.results` finds a value by its dotted path,
:mod:`~pondwright.flow.explain` tells where it comes from.
"""
