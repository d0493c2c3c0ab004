"""Set up everything that pondwright needs, once; nothing is done again while nothing changed.

    python -m tools.set_up run     what the tool needs to run
    python -m tools.set_up test    that, and what the tests and checks need

Only the standard library, so that it runs before anything is installed.
"""

from __future__ import annotations

import argparse
import platform
import subprocess
import sys

from tools import web
from tools.steps import (
    PYTHON,
    REQUIREMENTS,
    ROOT,
    UV,
    VENV,
    Effort,
    call,
    fingerprint,
    forget,
    is_fresh,
    mark_fresh,
)

EXPORTS = {"run": REQUIREMENTS / "run.txt", "test": REQUIREMENTS / "test.txt"}
START = REQUIREMENTS / "start.txt"
SUPPORTED = ((3, 11), (3, 14))

NO_PIP = (
    "Set-up needs pip once, to fetch the installer, and `{python} -m pip` does not run; "
    "on Debian and Ubuntu: sudo apt-get install -y python3-pip"
)
WRONG_PYTHON = "pondwright runs on CPython 3.11, 3.12 and 3.13, got {version}"


def check_python() -> None:
    """End with one sentence when this Python is not one of those supported."""
    first, beyond = SUPPORTED
    if not first <= sys.version_info < beyond:
        sys.exit(WRONG_PYTHON.format(version=platform.python_version()))


def make_venv() -> None:
    """Empty virtual environment, without pip, and the installer in it."""
    made_from = fingerprint([START])
    if is_fresh("venv", made_from) and PYTHON.exists() and UV.exists():
        return
    if subprocess.run([sys.executable, "-m", "pip", "--version"], capture_output=True).returncode != 0:
        sys.exit(NO_PIP.format(python=sys.executable))
    call(sys.executable, "-m", "venv", "--without-pip", "--clear", VENV)
    call(
        sys.executable, "-m", "pip", "--quiet", "--python", PYTHON, "--disable-pip-version-check",
        "install", "--require-hashes", "--only-binary", ":all:", "-r", START,
    )  # fmt: skip
    mark_fresh("venv", made_from)


def sync_packages(purpose: str) -> None:
    """Exactly the packages of the committed, hashed export, byte-compiled; the tests' hold all others too."""
    made_from = {name: fingerprint([export]) for name, export in EXPORTS.items()}
    if any(is_fresh(name, made_from[name]) for name in {purpose, "test"}):
        return
    for name in (*EXPORTS, "package"):
        forget(name)
    sync = (UV, "--quiet", "pip", "sync", "--python", PYTHON, "--require-hashes", "--compile-bytecode")
    call(*sync, EXPORTS[purpose])
    mark_fresh(purpose, made_from[purpose])


def install_package() -> None:
    """The package itself, from this checkout, byte-compiled."""
    made_from = fingerprint([ROOT / "pyproject.toml"])
    if is_fresh("package", made_from):
        return
    install = (UV, "--quiet", "pip", "install", "--python", PYTHON, "--no-deps", "--no-build-isolation")
    call(*install, "--editable", ROOT)
    call(PYTHON, "-m", "compileall", "-q", ROOT / "src")
    mark_fresh("package", made_from)


def set_up(purpose: str) -> None:
    """Everything that `purpose` (``run`` or ``test``) needs."""
    check_python()
    make_venv()
    sync_packages(purpose)
    install_package()
    if web.ENTRY.exists():
        web.build_page()


def main() -> None:
    """Set up for the purpose named on the command line and say what it took."""
    parser = argparse.ArgumentParser(description="Set up everything that pondwright needs.")
    parser.add_argument("purpose", choices=sorted(EXPORTS))
    purpose = parser.parse_args().purpose
    effort = Effort()
    set_up(purpose)
    print(f"set-up ({purpose}): {effort}")


if __name__ == "__main__":
    main()
