"""Set up, then open the example job: its numbers, its checks, its plan on paper, and the page on it.

python -m tools.run
"""

from __future__ import annotations

import os

from tools.set_up import set_up
from tools.steps import BIN, ROOT, Effort, call

EXAMPLE = ROOT / "src/pondwright/examples/larkmeadow.pond.json"
PAPERS = ROOT / "out"
PONDWRIGHT = BIN / "pondwright"
A_CHECK_STOPS = 1


def main() -> None:
    """Set up, warm the kernels, compute the example, write its plan, say what it took, and serve the page."""
    effort = Effort()
    print("setting up: the first time this fetches the packages and compiles the kernels ...", flush=True)
    set_up("run")
    call(PONDWRIGHT, "warm")
    call(PONDWRIGHT, "check", EXAMPLE, fine=(0, A_CHECK_STOPS))
    call(PONDWRIGHT, "papers", EXAMPLE, "--out", PAPERS)
    print(f"done in {effort}", flush=True)
    # The server takes this process's place, so that Ctrl+C reaches it and nothing is left behind.
    os.execv(PONDWRIGHT, [str(PONDWRIGHT), "serve", "--open-example"])


if __name__ == "__main__":
    main()
