"""Set up, then open the example job: its headline numbers, its checks, and its plan on paper.

python -m tools.run
"""

from __future__ import annotations

from tools.set_up import set_up
from tools.steps import BIN, ROOT, Effort, call

EXAMPLE = ROOT / "src/pondwright/examples/larkmeadow.pond.json"
PAPERS = ROOT / "out"
PONDWRIGHT = BIN / "pondwright"
A_CHECK_STOPS = 1


def main() -> None:
    """Set up, warm the kernels, compute the example, write its plan, and say what it took."""
    effort = Effort()
    print("setting up: the first time this fetches the packages and compiles the kernels ...", flush=True)
    set_up("run")
    call(PONDWRIGHT, "warm")
    call(PONDWRIGHT, "check", EXAMPLE, fine=(0, A_CHECK_STOPS))
    call(PONDWRIGHT, "papers", EXAMPLE, "--out", PAPERS)
    print(f"done in {effort}")


if __name__ == "__main__":
    main()
