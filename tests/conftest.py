"""What holds for the whole suite: no test fails because the machine was busy."""

from __future__ import annotations

from hypothesis import settings

settings.register_profile("evenhand", deadline=None)
settings.load_profile("evenhand")
