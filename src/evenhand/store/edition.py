"""The edition: one number for everything that one judgement is made from."""

from __future__ import annotations

import json

from evenhand.findings import CONTRACT, METHOD
from evenhand.store import rows
from evenhand.store.state import State

LEFT_OUT = frozenset(("key", "batch"))
"""Kinds no judgement is made from (how files are read), and batches, which stand with their hashes."""


def edition_of(state: State, contract: int = CONTRACT, method: int = METHOD) -> str:
    """SHA-256, in hex, over the contract, the method, the header with its seed, every record that holds in
    order of ids, and the readings by sensor and content hash.

    Never over numbers or times of changes: the same records give the same edition whatever their history.
    """
    import hashlib  # 5 ms that the path of `stick` does without

    records = [
        [name, state.now[name].kind, state.now[name].body]
        for name in sorted(state.now)
        if state.now[name].kind not in LEFT_OUT
    ]
    readings = sorted([line.sensor, line.hash] for line in state.batches)
    whole = json.dumps(
        [contract, method, rows.encode(state.header), records, readings], separators=(",", ":")
    )
    return hashlib.sha256(whole.encode("ascii")).hexdigest()
