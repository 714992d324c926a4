"""Are the intervals honest? Invented trials whose truth is known, judged as any trial is, and counted.

`python -m benchmarks.honesty` runs what is missing and writes docs/honesty.md; it can be stopped and resumed.
"""
