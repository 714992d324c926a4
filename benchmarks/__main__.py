"""`python -m benchmarks`: honesty, then speed."""

from __future__ import annotations

import runpy

if __name__ == "__main__":
    for part in ("benchmarks.speed", "benchmarks.honesty"):
        runpy.run_module(part, run_name="__main__")
