"""What the README shows works as it stands there."""

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]


def test_the_example_of_the_readme_runs(monkeypatch, capsys):
    monkeypatch.chdir(ROOT)
    (example,) = re.findall(r"```python\n(.*?)```", Path("README.md").read_text(encoding="utf-8"), re.DOTALL)

    exec(compile(example, "README.md", "exec"), {})

    lowest, volume, *findings = capsys.readouterr().out.splitlines()
    assert float(lowest) == pytest.approx(88.4 * 0.3048, abs=0.1)  # the culvert's bottom, as it was invented
    assert float(volume) > 0
    assert {finding.split()[0] for finding in findings} <= {"stop", "look"}
