"""Settings of all property tests: how long one example takes depends on who else uses the machine, so it fails nothing."""

from hypothesis import settings

settings.register_profile("any machine", deadline=None)
settings.load_profile("any machine")
