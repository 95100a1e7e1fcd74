# One recipe file: by hand, as a hook and in CI, the same words do the same thing.
.DEFAULT_GOAL := help
.PHONY: help dev demo check lint types imports docs test bench lock reference clean check-tools
SERVE ?= 1
PORT ?= 8017
BIN := .venv/bin

help: ## list the recipes
	@grep -hE '^[a-z-]+:.*## ' $(MAKEFILE_LIST) | sed -E 's/^([a-z-]+):.*## /make \1\t/' | expand -t 14

.venv/.runtime: requirements.lock pyproject.toml tools/set_up.sh
	@bash tools/set_up.sh runtime

.venv/.development: requirements-dev.lock pyproject.toml tools/set_up.sh
	@bash tools/set_up.sh development

.venv-reference/.reference: requirements-reference.lock pyproject.toml tools/set_up.sh
	@bash tools/set_up.sh reference

dev: .venv/.development ## make .venv with everything a developer needs; .venv/bin/zonule runs

demo: .venv/.runtime ## plan an invented eye, write its theatre sheet, then serve the demo clinic
	@bash tools/demo.sh "$(SERVE)" "$(PORT)"

check: check-tools lint types imports test ## everything: lint, types, import rules, docs, tests

check-tools: .venv/.development
	@bash tools/set_up_test_tools.sh

lint: .venv/.development
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .

types: .venv/.development
	$(BIN)/mypy

imports: .venv/.development
	$(BIN)/lint-imports

docs: .venv/.development ## write the generated pages; the tests check that they and the rest agree with the code
	$(BIN)/python tools/write_cli_page.py
	$(BIN)/python tools/draw_methods.py

test: .venv/.development ## the pytest part of check
	$(BIN)/python -m pytest -n 2 --dist loadgroup

bench: .venv/.development ## run every benchmark afresh; writes bench.json
	$(BIN)/python benchmarks/run_all.py

reference: .venv-reference/.reference ## trace the frozen reference rays anew with a general-purpose ray tracer (1.3 GB) and compare
	.venv-reference/bin/python -W ignore tools/reference_rays.py

lock: .venv/.development ## compile the three hashed lock files anew
	bash tools/lock.sh

clean: ## remove what the recipes made
	rm -rf .venv .venv-reference .boot out bench.json .mypy_cache .ruff_cache .pytest_cache .hypothesis .import_linter_cache
