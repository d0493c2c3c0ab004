"""Kernels are compiled once, kept in the user's cache, and never compiled in a warm frame."""

import os
import subprocess
import sys
from pathlib import Path

import numba
import numpy as np
import pytest

from pondwright.geometry.coverage import ring_coverage
from pondwright.geometry.distance import signed_distance
from pondwright.geometry.grid import Grid
from pondwright.geometry.kernels import compile as compiling
from pondwright.geometry.polygon import longest_fetch, self_crossings

KERNEL = """
import numba
from pondwright.geometry.kernels.compile import READ_1D, cache_folder, compiled_count, float64, kernel

numba.config.CACHE_DIR = "of somebody else"

@kernel(float64(READ_1D, float64))
def total(depths, area):
    return depths.sum() * area
"""
REPORT = """
print(compiled_count(), cache_folder(), numba.config.CACHE_DIR, sep="|")
"""


@pytest.fixture
def run(tmp_path):
    """Run a module with one kernel in a process of its own; gives what it reports."""
    module = tmp_path / "one_kernel.py"
    module.write_text(KERNEL + REPORT, encoding="utf-8")

    def report(cache_home):
        places = [str(Path(compiling.__file__).parents[3]), *sys.path]
        surroundings = os.environ | {
            "XDG_CACHE_HOME": str(cache_home),
            "PYTHONPATH": os.pathsep.join(places),
        }
        done = subprocess.run(
            [sys.executable, module], env=surroundings, capture_output=True, text=True, check=True
        )
        compiled, folder, others = done.stdout.strip().split("|")
        return int(compiled), Path(folder), others

    return report


def test_a_kernel_is_compiled_once_and_then_loaded(run, tmp_path):
    first, second = run(tmp_path / "cache"), run(tmp_path / "cache")

    assert (first[0], second[0]) == (1, 0)


def test_the_cache_is_a_folder_of_the_user_named_by_sources_and_versions(run, tmp_path):
    _, folder, _ = run(tmp_path / "cache")

    assert folder.parent == tmp_path / "cache" / "pondwright"
    assert folder.name == compiling.cache_folder().name
    assert list(folder.rglob("*.nbi"))


def test_without_a_folder_to_write_a_private_one_serves_the_process(run, tmp_path):
    blocked = tmp_path / "blocked"
    blocked.write_text("a file where a folder should be", encoding="utf-8")

    compiled, folder, _ = run(blocked)

    assert compiled == 1
    assert folder.name.startswith("pondwright-kernels-")
    assert not folder.exists()


def test_other_users_of_the_compiler_keep_their_cache(run, tmp_path):
    _, _, others = run(tmp_path / "cache")

    assert others == "of somebody else"


def test_a_change_in_any_kernel_changes_the_name_of_the_cache(monkeypatch, tmp_path):
    (tmp_path / "one.py").write_text("depth = 1", encoding="utf-8")
    monkeypatch.setattr(compiling, "_FOLDER", tmp_path)
    before = compiling._sources_hash()

    (tmp_path / "one.py").write_text("depth = 2", encoding="utf-8")

    assert compiling._sources_hash() != before


@compiling.kernel(compiling.float64(compiling.READ_1D, compiling.WRITE_1D))
def copied(depths, out):
    for i in range(depths.shape[0]):
        out[i] = depths[i]
    return depths[0]


def test_an_array_that_is_only_read_may_be_read_only():
    depths, out = np.array([1.5, 2.0]), np.zeros(2)
    depths.flags.writeable = False

    first = copied(depths, out)

    assert first == 1.5
    assert out.tolist() == [1.5, 2.0]


def test_an_array_that_is_filled_must_be_writable():
    out = np.zeros(2)
    out.flags.writeable = False

    with pytest.raises(TypeError, match="No matching definition"):
        copied(np.zeros(2), out)


def test_other_types_are_refused_instead_of_compiled():
    before = compiling.compiled_count()

    with pytest.raises(TypeError, match="No matching definition"):
        copied(np.zeros(2, dtype=np.float32), np.zeros(2))

    assert compiling.compiled_count() == before


def test_a_warm_frame_compiles_nothing():
    grid = Grid(0.0, 0.0, 1.0, 20, 20)
    ring = [[2, 2], [15, 3], [9, 14]]
    compiling.warm()
    compiled = []

    with numba.core.event.install_recorder("numba:compile") as recorder:
        signed_distance(grid, [ring])
        ring_coverage(grid, [ring])
        self_crossings(ring)
        longest_fetch([ring])
        compiled = list(recorder.buffer)

    assert compiled == []


def test_warming_imports_every_kernel():
    count = compiling.warm()

    modules = {path.stem for path in Path(compiling.__file__).parent.glob("*.py")} - {"__init__"}
    assert {f"pondwright.geometry.kernels.{name}" for name in modules} <= set(sys.modules)
    assert count >= len(modules) - 1
