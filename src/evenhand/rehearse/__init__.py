"""Invented trials whose truth is known. Shares no model with anything that estimates."""
