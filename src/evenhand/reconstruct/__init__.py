"""Estimates blood glucose between the sticks from sticks and sensors together; never judges, never drops a stick
from judging, and imports nothing that compares.

Start at `reconstruct.reconstruct(trial)`. Every row of the model is derived in `docs/method-reconstruction.md`.
Glucose is on the even scale (`scale`), centred at `scale.CENTRE`; times are minutes from the grid's start; arrays
of one sensor's readings run over all sensors, one after another.
"""
