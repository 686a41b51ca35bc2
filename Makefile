# Everything works on a clean clone with Python 3.11+, pip and make.
PYTHON ?= python3
PORT ?= 8000
DATA_DIR ?= var
BIN := .venv/bin
RUN := $(BIN)/python manage.py
# A number's largest value is told from the database: the schema is always that of SQLite.
SCHEMA := env -u DATABASE_URL $(RUN) spectacular --validate --fail-on-warn
export PORT DATA_DIR

.DEFAULT_GOAL := help
.PHONY: help install demo run test test-long soak check lint bench screenshots openapi

help:
	@echo "make demo         look around: the demo club at http://127.0.0.1:$(PORT)"
	@echo "make run          the real thing: your own club (see README.md)"
	@echo "make test         the tests, on SQLite and on PostgreSQL"
	@echo "make test-long    journeys in the browser, whole processes, whole films"
	@echo "make soak         what takes minutes: simulations, kills, growth"
	@echo "make check        format, lint, types, contracts, then the tests"
	@echo "make bench        how quick it is, as ratios, into build/bench.json"
	@echo "make screenshots  every screen into build/screens/"
	@echo "make openapi      write the API's schema anew"

# A Python without ensurepip (Debian splits it off) lends its own pip to the new environment.
.venv/bin/python:
	$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11) and "Python 3.11 or newer is needed.")'
	$(PYTHON) -m venv .venv || { $(PYTHON) -m venv --clear --without-pip .venv && \
		$(PYTHON) -m pip --python .venv/bin/python install --quiet pip; }

.venv/runtime.stamp: pyproject.toml | .venv/bin/python
	$(BIN)/python -c 'import tomllib; print(*tomllib.load(open("pyproject.toml", "rb"))["project"]["dependencies"], sep="\n")' > .venv/runtime.txt
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -r .venv/runtime.txt
	@touch $@

.venv/dev.stamp: .venv/runtime.stamp
	$(BIN)/python -c 'import tomllib; print(*tomllib.load(open("pyproject.toml", "rb"))["project"]["optional-dependencies"]["dev"], sep="\n")' > .venv/dev.txt
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -r .venv/runtime.txt -r .venv/dev.txt
	@touch $@

install: .venv/dev.stamp

demo: .venv/runtime.stamp
	PORTAL_DEMO=1 $(RUN) migrate --verbosity 0
	PORTAL_DEMO=1 $(RUN) sync_catalogue
	PORTAL_DEMO=1 $(RUN) load_demo
	exec env PORTAL_DEMO=1 $(RUN) serve --stop-with-parent

run: .venv/runtime.stamp
	$(RUN) migrate --verbosity 0
	$(RUN) sync_catalogue
	exec $(RUN) serve --stop-with-parent

test: .venv/dev.stamp
	$(BIN)/python -m tests.rounds

test-long: .venv/dev.stamp
	$(BIN)/python -m tests.rounds long long-servers

soak: .venv/dev.stamp
	env -u DATABASE_URL -u REDIS_URL $(BIN)/python -m pytest -q -m soak -n 2 --dist loadfile --timeout 1200

lint: .venv/dev.stamp
	$(BIN)/ruff format --check .
	$(BIN)/ruff check .
	$(BIN)/mypy
	$(BIN)/lint-imports
	$(RUN) makemigrations --check --dry-run
	$(BIN)/python -m tests.deploy_check
	@mkdir -p build
	$(SCHEMA) --file build/openapi.yaml
	diff -u tests/openapi.yaml build/openapi.yaml || { echo "The API's schema changed: run make openapi and look at the difference."; exit 1; }

check: lint test

bench: .venv/dev.stamp
	$(BIN)/python -m tests.bench

screenshots: .venv/dev.stamp
	$(BIN)/python -m tests.screenshots

openapi: .venv/dev.stamp
	$(SCHEMA) --file tests/openapi.yaml
