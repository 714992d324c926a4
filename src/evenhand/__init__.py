"""Evenhand plans, keeps, judges and tells a fair side-by-side trial of glucose sensors against fingersticks."""

__version__ = "0.1.0"
