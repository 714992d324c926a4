# One line of meaning each; PYTHON and VENV may be set: make test PYTHON=python3.13 VENV=.venv-newest
PYTHON ?= python3
VENV ?= .venv
BIN := $(VENV)/bin
PIP := $(BIN)/python -m pip --disable-pip-version-check install --quiet --constraint constraints.txt

.PHONY: setup demo demo-trial test lint bench docs clean

setup: $(VENV)/.installed ## a working .venv/bin/evenhand

demo: $(VENV)/.installed ## an invented trial, from messy files to a report
	$(BIN)/evenhand demo demo

demo-trial: $(VENV)/.installed ## three weeks of an invented trial, command by command
	rm -rf demo-trial && $(BIN)/python -m tests.end_to_end.three_weeks demo-trial

test: $(VENV)/.ready lint ## every check there is
	$(BIN)/python -m pytest -n auto

lint: $(VENV)/.ready ## style, types, import order
	$(BIN)/ruff format --check --quiet . && $(BIN)/ruff check --quiet . && $(BIN)/mypy && $(BIN)/lint-imports

bench: $(VENV)/.ready ## honesty and speed, resumable; the tables in docs/honesty.md and docs/speed.md
	$(BIN)/python -m benchmarks

docs: $(VENV)/.ready ## the pages that are made from the code
	$(BIN)/python -m evenhand.cli.reference docs/commands.md && $(BIN)/python docs/picture.py docs/balance.png

clean: ## back to what git holds
	rm -rf .venv .venv-* demo demo-trial build bench-results .mypy_cache .ruff_cache .pytest_cache .hypothesis

$(VENV)/bin/python:
	$(PYTHON) -m venv $(VENV)

$(VENV)/.installed: $(VENV)/bin/python pyproject.toml constraints.txt
	$(PIP) --editable . && $(BIN)/python -m compileall -q src && touch $@

$(VENV)/.ready: $(VENV)/.installed
	$(PIP) --editable '.[dev]' && tests/browser/ensure-chromium && touch $@
