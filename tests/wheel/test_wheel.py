"""The wheel works by itself: in an empty environment, outside the checkout, with no Node at hand."""

import os
import re
import subprocess
import sys
from pathlib import Path

import httpx
import pytest

ROOT = Path(__file__).resolve().parents[2]
UV = Path(sys.executable).with_name("uv")

pytestmark = pytest.mark.wheel


def called(*words: str | Path, **places: object) -> str:
    """What a command printed; its own complaint is the failure's text."""
    finished = subprocess.run([str(word) for word in words], capture_output=True, text=True, **places)
    assert finished.returncode == 0, finished.stdout + finished.stderr
    return finished.stdout


@pytest.fixture(scope="module")
def empty_environment(tmp_path_factory) -> Path:
    """A new environment that holds the wheel and what it asks for, and nothing of the checkout."""
    folder = tmp_path_factory.mktemp("wheel")
    called(UV, "build", "--quiet", "--wheel", "--no-build-isolation", "--out-dir", folder, ROOT)
    (wheel,) = folder.glob("*.whl")
    place = folder / "environment"
    called(UV, "venv", "--quiet", "--python", sys.executable, place)
    python = place / "bin/python"
    export = ROOT / "requirements/run.txt"
    called(UV, "pip", "install", "--quiet", "--python", python, "--require-hashes", "-r", export)
    called(UV, "pip", "install", "--quiet", "--python", python, "--no-deps", wheel)
    return place


def test_the_installed_wheel_computes_the_example_that_it_carries(empty_environment, tmp_path):
    bare = {"PATH": str(empty_environment / "bin"), "HOME": os.environ["HOME"]}
    where = "from importlib.resources import files; print(files('pondwright') / 'examples')"
    examples = called(empty_environment / "bin/python", "-c", where, env=bare, cwd=tmp_path).strip()

    printed = called(
        empty_environment / "bin/pondwright",
        "show",
        Path(examples) / "larkmeadow.pond.json",
        "shape.storage",
        env=bare,
        cwd=tmp_path,
    )

    assert "site-packages" in examples
    assert printed.strip() != ""


def test_the_installed_wheel_serves_the_page_that_it_carries_without_node(empty_environment, tmp_path):
    bare = {"PATH": str(empty_environment / "bin"), "HOME": os.environ["HOME"]}
    command = [
        str(empty_environment / "bin/pondwright"), "serve", "--port", "0", "--data", str(tmp_path / "jobs")
    ]  # fmt: skip
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=bare, cwd=tmp_path) as server:
        assert server.stdout is not None
        address = next(word for line in server.stdout for word in line.split() if word.startswith("http://"))
        page = httpx.get(address)
        assets = re.findall(r'(?:src|href)="\./(assets/[^"]+)"', page.text)
        found = [httpx.get(f"{address.rstrip('/')}/{asset}") for asset in assets]
        server.terminate()

    assert page.status_code == 200
    assert assets and all(one.status_code == 200 and one.content for one in found)
    assert not any("html" in one.headers["content-type"] for one in found)
    assert sum(len(one.content) for one in found) > 100_000
