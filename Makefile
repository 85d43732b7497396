# flyoff: one word each. `make help` lists them.

SHELL := /bin/bash
.SHELLFLAGS := -eu -o pipefail -c
.DEFAULT_GOAL := help
.DELETE_ON_ERROR:

# An environment of its own, compiled at install time, whatever the caller's shell has set.
unexport PYTHONDONTWRITEBYTECODE PYTHONPATH PYTHONHOME

PYTHON ?= python3
UV_VERSION := 0.13.9
BIN := .venv/bin
PIP := $(BIN)/python -m pip install --disable-pip-version-check
# One short line for each package; warnings and errors pass as they are.
SHORTLY := sed -nu -e 's/^Collecting \([^ ]*\).*/  \1/p' -e 's/^Installing collected packages.*/  unpacking/p'

.PHONY: help demo test check docs bench lock setup browser clean

help: ## list these words
	@sed -n 's/^\([a-z]*\):.*## \(.*\)/  make \1\t\2/p' $(MAKEFILE_LIST) | expand -t 16

demo: .venv/runtime-ready ## build the invented study in demo-study/ and say where to look
	@$(BIN)/flyoff demo demo-study

test: setup browser check ## everything that must hold: check, then all tests and the examples in docstrings
	@echo "Running the tests"
	@$(BIN)/python -m pytest -n 2 -q --doctest-modules src tests

check: setup ## lint, format, types
	@$(BIN)/ruff check .
	@$(BIN)/ruff format --check .
	@$(BIN)/mypy

docs: setup ## print the validation report, and build the documentation into docs/_build/html
	@$(BIN)/python -m pytest -q --no-header -p no:cacheprovider -p no:xdist tests/validation --validation-report docs/validation.md
	@$(BIN)/python docs/tools/validation.py docs/validation.md
	@$(BIN)/python docs/tools/make.py
	@$(BIN)/python docs/tools/transcripts.py --write docs/day.md README.md
	@$(BIN)/sphinx-build -W -q -b html docs docs/_build/html
	@echo "Open docs/_build/html/index.html"

bench: setup ## compare speed with general libraries and physical limits
	@$(BIN)/python bench/run.py

setup: .venv/tests-ready

lock: ## resolve the dependencies again into the two hashed lock files (UPGRADE=1: newest versions)
	@scratch=$$(mktemp -d); trap 'rm -rf "$$scratch"' EXIT; \
	$(PYTHON) -m venv "$$scratch" && "$$scratch/bin/pip" install -q --disable-pip-version-check uv==$(UV_VERSION); \
	compile() { "$$scratch/bin/uv" pip compile -q --system-certs --universal --python-version 3.11 --generate-hashes --no-header \
		--no-annotate $(if $(UPGRADE),--upgrade) "$$@"; }; \
	printf '%s\n' hatchling editables > "$$scratch/build.in"; \
	compile pyproject.toml "$$scratch/build.in" -o requirements.lock; \
	compile --extra dev -c requirements.lock pyproject.toml "$$scratch/build.in" -o requirements-dev.lock; \
	! grep -n http requirements.lock requirements-dev.lock

clean: ## remove what these words made
	rm -rf .venv build dist demo-study docs/_build docs/_static/gallery docs/reference docs/commands.md docs/validation.md .mypy_cache .ruff_cache .pytest_cache .hypothesis
	find $(wildcard src tests bench) -name __pycache__ -type d -prune -exec rm -rf {} +

.venv/bin/python:
	@command -v $(PYTHON) > /dev/null || { echo "flyoff needs Python 3.11 or newer: apt-get install python3 python3-venv" >&2; exit 1; }
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' || \
		{ echo "flyoff needs Python 3.11 or newer; $(PYTHON) is $$($(PYTHON) --version 2>&1). Name another: make PYTHON=python3.12 ..." >&2; exit 1; }
	@$(PYTHON) -c 'import venv, ensurepip' 2> /dev/null || \
		{ echo "This Python has no venv: apt-get install python3-venv" >&2; exit 1; }
	@echo "Making .venv with $$($(PYTHON) --version)"
	@$(PYTHON) -m venv .venv

.venv/runtime-ready: requirements.lock pyproject.toml | .venv/bin/python
	@echo "Installing what flyoff needs (hashes checked)"
	@$(PIP) --require-hashes -r requirements.lock | $(SHORTLY)
	@$(PIP) -q --no-build-isolation --no-deps -e .
	@touch $@

.venv/tests-ready: requirements-dev.lock .venv/runtime-ready
	@echo "Installing what its tests need (hashes checked)"
	@$(PIP) --require-hashes -r requirements-dev.lock | $(SHORTLY)
	@touch $@

browser: # the system's Chromium, for the browser tests
	@if command -v $${CHROMIUM:-chromium} chromium-browser google-chrome > /dev/null; then exit 0; fi; \
	as_root=; [ "$$(id -u)" = 0 ] || as_root=sudo; \
	if command -v apt-get > /dev/null && { [ -z "$$as_root" ] || command -v sudo > /dev/null; }; then \
		echo "Installing Chromium from the system's packages"; \
		$$as_root apt-get update -qq < /dev/null && \
		$$as_root env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends \
			chromium fonts-liberation < /dev/null > /dev/null || echo "Chromium could not be installed" >&2; \
	else echo "No Chromium, and no way to install it here: apt-get install chromium fonts-liberation" >&2; fi
