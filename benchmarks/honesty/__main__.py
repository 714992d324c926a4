"""`python -m benchmarks.honesty [TRIALS]`: run what is missing, then write docs/honesty.md. With `--check`: say, and mark
on the page, whether it is of the code beside it; exit code 1 where it is not."""

from __future__ import annotations

import sys

from benchmarks.honesty.page import check, write
from benchmarks.honesty.run import main, stamp


def _check() -> int:
    why = check(stamp())
    print(why or "docs/honesty.md is of this code.")
    return int(why is not None)


if __name__ == "__main__":
    if sys.argv[1:] == ["--check"]:
        sys.exit(_check())
    write(main(int(sys.argv[1]) if len(sys.argv) > 1 else 2000))
