"""Bytes to a proposal: tables, strict numbers and times, guesses with evidence, the fate of every row. Never writes anything."""
