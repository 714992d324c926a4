"""Why a number is missing, in words."""

from __future__ import annotations

import re

from hypothesis import given
from hypothesis import strategies as st

from evenhand.say import reasons


@given(st.text(st.sampled_from("abcdefghij-_"), min_size=1, max_size=20))
def test_any_reason_is_words(code: str):
    """A code no one has listed is still said without hyphens or underscores."""
    assert not re.search(r"[_]", reasons.reason(code))
    assert reasons.reason("a-b") == "a b"
