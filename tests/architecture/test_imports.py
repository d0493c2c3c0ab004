"""Floors, the job's order, who may know the document: contracts kept in pyproject.toml."""

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
HEAVY = {"scipy", "numba", "shapely", "typst", "ezdxf", "fastapi", "sqlalchemy", "ortools"}


def test_every_import_contract_is_kept():
    contracts = subprocess.run(
        [Path(sys.executable).with_name("lint-imports"), "--no-cache"],
        cwd=ROOT,
        capture_output=True,
        text=True,
    )

    assert contracts.returncode == 0, contracts.stdout + contracts.stderr


def test_asking_for_help_loads_nothing_heavy():
    asked = subprocess.run(
        [sys.executable, "-X", "importtime", "-m", "pondwright.cli.main", "--help"],
        cwd=ROOT,
        capture_output=True,
        text=True,
    )

    loaded = {line.split("|")[-1].strip().split(".")[0] for line in asked.stderr.splitlines()}
    assert asked.returncode == 0, asked.stderr
    assert "Usage" in asked.stdout
    assert loaded & HEAVY == set()
