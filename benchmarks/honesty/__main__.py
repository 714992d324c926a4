"""`python -m benchmarks.honesty [TRIALS]`: run what is missing, then write docs/honesty.md."""

from __future__ import annotations

import sys

from benchmarks.honesty.page import write
from benchmarks.honesty.run import main

if __name__ == "__main__":
    write(main(int(sys.argv[1]) if len(sys.argv) > 1 else 2000))
