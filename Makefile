# Every developer command by name; `make` alone lists them.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
RUN := $(VENV)/.run-ready
DEV := $(VENV)/.dev-ready
PIP := $(BIN)/python -m pip install --quiet --disable-pip-version-check
PAGES := $(BIN)/python -m dabchick.workbench.bundle
LOCK := $(BIN)/uv pip compile --quiet --universal --python-version 3.11 --generate-hashes --no-emit-index-url --no-header

.DEFAULT_GOAL := help
.PHONY: help demo serve test lint format web types pictures bench lock clean

help: ## list these commands
	@grep -E '^[a-z-]+:.*## ' $(MAKEFILE_LIST) | sed -E 's/^([a-z-]+):.*## /  make \1\t/' | expand -t 18

demo: $(RUN) ## take the invented boat from boat file to proof and a printed trim sheet (into out/)
	$(BIN)/dabchick demo out

serve: $(DEV) ## open the workbench on the boats in out/; a boat of your own: make serve BOAT=folder
	@mkdir -p out
	$(BIN)/dabchick serve $(if $(BOAT),$(BOAT),--shelf out)

test: lint web ## lint, types, import contract, then every test
	$(PAGES) run test
	$(BIN)/python -m tests.browser.install
	$(BIN)/python -m pytest -n 2 --dist loadfile -rs tests

lint: $(DEV) ## style, types, import contract
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy
	$(BIN)/lint-imports
	$(BIN)/python web/make_types.py --check
	$(PAGES) run check
	$(PAGES) run lint

format: $(DEV) ## put the code in house style
	$(BIN)/ruff check --fix .
	$(BIN)/ruff format .
	$(PAGES) run format

web: $(DEV) ## build the pages of the workbench, where their sources changed
	$(PAGES)

types: $(DEV) ## write the pages' types anew from the API
	$(BIN)/python web/make_types.py

pictures: web ## draw the pictures of the docs afresh from the demo boat (needs Chromium)
	$(BIN)/python docs/make_pictures.py
	$(BIN)/python -m docs.make_page_pictures

bench: $(DEV) ## speed as ratios within one run
	$(BIN)/python -m benchmarks

lock: $(DEV) ## renew the hash-pinned requirement files from pyproject.toml
	$(LOCK) pyproject.toml --group build -o requirements/run.txt
	$(LOCK) pyproject.toml --group build --group dev -o requirements/dev.txt

clean: ## remove the virtual environment and all caches
	rm -rf $(VENV) .pytest_cache .mypy_cache .ruff_cache .hypothesis .import_linter_cache out web/node_modules src/dabchick/workbench/pages
	find . -name __pycache__ -type d -prune -exec rm -rf {} +

$(BIN)/python:
	$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11) and "Dabchick needs Python 3.11 or newer; this is " + sys.version.split()[0] + ". Name another with: make PYTHON=python3.12")'
	$(PYTHON) -m venv $(VENV)

$(RUN): requirements/run.txt pyproject.toml | $(BIN)/python
	$(PIP) --require-hashes -r requirements/run.txt
	$(PIP) --no-deps --no-build-isolation -e .
	@touch $@

$(DEV): requirements/dev.txt $(RUN)
	$(PIP) --require-hashes -r requirements/dev.txt
	@touch $@
