"""Honesty and speed, measured: `python -m benchmarks` runs both; each can be run alone."""
