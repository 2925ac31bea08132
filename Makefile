# `make demo` and `make test` set a fresh machine up by themselves.
# Arguments for the demo: make demo ARGS="--headless --speed 20 --for 90"
PY := .venv/bin/python
ARGS ?=

.PHONY: help setup demo test check bench soak mutate clean

help:  ## Show this list
	@awk -F ':.*## ' '/^[a-z]+:.*## / { printf "  make %-6s %s\n", $$1, $$2 }' Makefile

setup:  ## Install what demo and tests need (Debian packages as root, .venv)
	.ci/setup test

demo:  ## Run the virtual rig, the watch and the display: make demo ARGS="--speed 20"
	@.ci/setup demo
	@.venv/bin/standwatch demo $(ARGS)

test:  ## Everything that must be right: check, tests, correctness of the benchmarks
	.ci/setup test
	$(MAKE) check
	$(PY) -m pytest --hypothesis-profile=ci
	$(PY) -m tests.benchmarks.run --quick

check:  ## Format, lint, types and import arrows
	$(PY) -m ruff format --check .
	$(PY) -m ruff check .
	$(PY) -m mypy
	.venv/bin/lint-imports

bench:  ## Measure, each figure as a ratio to a limit taken in the same run
	.ci/setup test
	$(PY) -m tests.benchmarks.run

soak:  ## Tests that run for minutes to hours
	.ci/setup test
	$(PY) -m pytest --soak -m soak --timeout=0

mutate:  ## Make faults on purpose and see tests find them: make mutate ARGS="--sample 200 --seed 1"
	.ci/setup test
	$(PY) -m tests.mutation.mutate $(ARGS)

clean:  ## Remove caches and .venv; run folders are left alone
	rm -rf .venv .mypy_cache .ruff_cache .pytest_cache .hypothesis .import_linter_cache build dist *.egg-info
	find . -name __pycache__ -type d -prune -exec rm -rf {} +
