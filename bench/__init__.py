"""Speed and accuracy, each beside a named peer measured in the same run; never a test.

A module `bench_*.py` in this folder offers `rows() -> list[Row]`; `python -m bench` runs them all.
"""
