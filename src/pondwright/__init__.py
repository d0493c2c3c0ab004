"""pondwright: from a dozen shots and a shoreline to a pond that holds.

The public face is :mod:`pondwright.api`; nothing else is promised.
"""

__version__ = "0.1.0"
