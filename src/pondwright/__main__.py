"""``python -m pondwright`` is the command ``pondwright``."""

from __future__ import annotations

import sys

from pondwright.cli.main import main

if __name__ == "__main__":
    sys.exit(main())
