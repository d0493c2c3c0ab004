# The two commands of a newcomer are `make run` and `make test`; each does all of its own set-up.
# Steps that are already done are skipped.

.DEFAULT_GOAL := help
.PHONY: help run test check published browser bench docs fix schema soak screens requirements set-up set-up-test

# The first CPython that is not too old and not too new; another one: make run PYTHON=/path/to/python
PYTHON ?= $(shell for python in python3 python3.13 python3.12 python3.11; do \
	$$python -c 'import sys; sys.exit(not (3, 11) <= sys.version_info < (3, 14))' 2>/dev/null \
	&& echo $$python && exit; done; echo no-suitable-python)
BIN := .venv/bin
PYTEST := $(BIN)/python -m pytest
# Of two steps at once, each is told whole when it ends, where this make can.
APART := $(if $(filter output-sync,$(.FEATURES)),--output-sync=target)

help: ## this list
	@awk -F ':.*## ' '/^[a-z-]+:.*## / { printf "  make %-14s %s\n", $$1, $$2 }' $(MAKEFILE_LIST)

run: python ## set up, then open the example: numbers, checks, and its plan in out/
	@$(PYTHON) -m tools.run

test: set-up-test system ## set up, then everything that must pass
	@$(MAKE) --no-print-directory -j2 $(APART) warm types lint page-tests architecture published
	$(BIN)/python -m tools.side_by_side

check: set-up-test lint types ## what is quick: format, lint, types, architecture, unit tests
	$(PYTEST) -q tests/architecture tests/unit

published: set-up-test warm ## what is checked against published documents, and which methods still have no case
	@$(BIN)/pondwright ledger

browser: set-up-test system ## only what drives the page in a real browser
	$(PYTEST) -q tests/browser

soak: set-up-test ## the same tests with large counts (up to 40 minutes)
	$(PYTEST) --hypothesis-profile=soak

bench: set-up-test ## speed and accuracy beside their peers, as a table and bench/latest.json
	$(BIN)/python -m bench

screens: set-up-test system ## pictures of every screen, at three widths in three looks, in out/screens/
	@$(BIN)/python -m tools.screens

docs: set-up-test ## write the generated pages of docs/, and what the commands in the walks print
	$(BIN)/python -m tools.make_reference
	$(BIN)/python -m tools.make_schema
	$(BIN)/python -m tools.make_job_page
	$(BIN)/python -m pondwright.cli.pages docs/reference
	$(BIN)/python -m tools.make_walks

schema: set-up-test ## write the JSON Schema of the job document
	$(BIN)/python -m tools.make_schema

fix: set-up-test ## format and mend what the linter can
	$(BIN)/ruff check --fix .
	$(BIN)/ruff format .

requirements: set-up ## resolve the versions again from pyproject.toml into requirements/
	bash tools/requirements.sh

.PHONY: python system warm architecture lint types page-tests
python:
	@$(PYTHON) -c '' 2>/dev/null || { echo "pondwright needs CPython 3.11, 3.12 or 3.13, and no python3 here is one" >&2; exit 1; }

set-up: python
	@$(PYTHON) -m tools.set_up run

set-up-test: python
	@$(PYTHON) -m tools.set_up test

system:
	@bash tools/system.sh

warm:
	@$(BIN)/pondwright warm

architecture: warm
	$(PYTEST) -q tests/architecture

lint:
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .

types:
	$(BIN)/mypy

page-tests:
	@$(PYTHON) -m tools.web check test
