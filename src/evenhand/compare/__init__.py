"""Measures a trial: pairs, splits, accuracy, head to head. Never concludes."""
