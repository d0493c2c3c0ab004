"""What may not stand in any file of the repository, and what the exports must hold."""

import json
import re
import subprocess
import tomllib
from pathlib import Path

import pytest
from packaging.markers import Marker
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name
from packaging.version import Version

ROOT = Path(__file__).resolve().parents[2]
EXPORTS = sorted((ROOT / "requirements").glob("*.txt"))
WEB_LOCK = ROOT / "web/package-lock.json"

# Written in pieces, so that this file does not hold what it looks for.
HOSTS = {"pypi": "org", "pythonhosted": "org", "npmjs": "org", "debian": "org"}
PACKAGE_HOSTS = tuple(f"{name}.{ending}" for name, ending in HOSTS.items())
MACHINE_PATH = re.compile(r"(?<![\w.$}/-])/(?:home|root|Users|work|workspace)/\w")


def kept_files() -> list[Path]:
    """Files that are tracked, or would be if they were added now."""
    listed = subprocess.run(
        ["git", "ls-files", "--cached", "--others", "--exclude-standard"],
        cwd=ROOT,
        capture_output=True,
        text=True,
    )
    if listed.returncode != 0:
        pytest.skip("not a git checkout")
    return [ROOT / name for name in listed.stdout.splitlines() if (ROOT / name).is_file()]


def kept_texts() -> dict[str, str]:
    """Text of each kept file that is text, by its name."""
    texts = {}
    for path in kept_files():
        raw = path.read_bytes()
        if b"\0" not in raw:
            texts[path.relative_to(ROOT).as_posix()] = raw.decode("utf-8", errors="replace")
    return texts


def test_no_file_names_a_package_host():
    named = {name for name, text in kept_texts().items() if any(host in text for host in PACKAGE_HOSTS)}

    assert named == set()


def test_no_file_names_a_path_of_somebodys_machine():
    named = {name: found[0] for name, text in kept_texts().items() if (found := MACHINE_PATH.findall(text))}

    assert named == {}


def test_no_lock_file_with_download_addresses_is_kept():
    locks = [path.name for path in kept_files() if path.name == "uv.lock" or path.match("pylock*.toml")]

    assert locks == []


@pytest.mark.skipif(not WEB_LOCK.exists(), reason="there is no web page yet")
def test_the_web_lock_file_has_no_addresses():
    packages = json.loads(WEB_LOCK.read_text(encoding="utf-8"))["packages"]

    assert [name for name, package in packages.items() if "resolved" in package] == []


def test_file_names_say_what_is_in_them():
    empty_words = {"utils", "util", "helpers", "helper", "manager", "data", "process", "misc", "common"}
    modules = (ROOT / "src/pondwright").rglob("*.py")

    assert [path.name for path in modules if path.stem in empty_words] == []


def pinned(export: Path) -> list[Requirement]:
    """Requirements of an export, hashes left out."""
    lines = export.read_text(encoding="utf-8").splitlines()
    return [Requirement(line.rstrip(" \\")) for line in lines if line and not line.startswith((" ", "#"))]


@pytest.mark.parametrize("export", EXPORTS, ids=lambda path: path.name)
def test_an_export_holds_only_versions_with_hashes(export):
    lines = export.read_text(encoding="utf-8").splitlines()

    assert {line.startswith("    --hash=sha256:") for line in lines if line.startswith(" ")} == {True}
    for line, after in zip(lines, [*lines[1:], ""], strict=True):
        if not line.startswith(" "):
            assert "==" in line and after.startswith("    --hash=sha256:"), line


def declared(purpose: str) -> list[Requirement]:
    """Requirements that pyproject.toml declares for running, or for testing too."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    groups = project["dependency-groups"]
    extras = project["project"]["optional-dependencies"]
    lines = [*project["project"]["dependencies"], *extras["geo"], *extras["plan"], *groups["build"]]
    if purpose == "test":
        lines += [*groups["test"], *groups["check"]]
    return [Requirement(line) for line in lines]


@pytest.mark.parametrize("purpose", ["run", "test"])
@pytest.mark.parametrize("python", ["3.11.9", "3.12.9", "3.13.9"])
def test_the_exports_agree_with_what_is_declared(purpose, python):
    here = {"python_full_version": python, "python_version": python.rpartition(".")[0]}
    versions = {
        canonicalize_name(found.name): Version(str(found.specifier).removeprefix("=="))
        for found in pinned(ROOT / f"requirements/{purpose}.txt")
        if Marker(str(found.marker or "python_version > '3'")).evaluate(here)
    }

    disagreeing = [
        str(wanted)
        for wanted in declared(purpose)
        if versions.get(canonicalize_name(wanted.name)) not in wanted.specifier
    ]
    assert disagreeing == []
