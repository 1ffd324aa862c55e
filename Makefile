# Benchweek: `make run` and `make test` are all you need; `make help` lists the rest.
PORT ?= 8000
HOST ?= 127.0.0.1
NAME ?=
LAN_PORT ?= 8443
TRUST_PORT ?= 8080
PYTHON ?= python3
BIN := .venv/bin
SECONDS_EACH ?= 10
TO ?= var/backups
KEEP ?= 14
export PYTHON

.DEFAULT_GOAL := help
.PHONY: help run serve-lan test lint types prove measure measure-all backup restore needed-to-run needed-to-test clean

help: ## list the targets
	@grep -hE '^[a-z-]+:.*## ' $(MAKEFILE_LIST) | sed -E 's/:[^#]*## /	/' | expand -t 16

needed-to-run:
	@NEED_FOR=run .make/need

needed-to-test:
	@NEED_FOR=test .make/need

.venv/installed: requirements.txt | needed-to-run
	@test -x $(BIN)/python || $(PYTHON) -m venv .venv
	@echo "Installing the Python requirements ..."
	@$(BIN)/pip install --quiet --disable-pip-version-check -r requirements.txt
	@touch $@

.venv/installed-for-tests: tests/requirements.txt requirements.txt .venv/installed | needed-to-test
	@$(BIN)/pip install --quiet --disable-pip-version-check -r tests/requirements.txt
	@touch $@

run: needed-to-run .venv/installed ## serve the demo workshop on http://127.0.0.1:8000 (PORT=, HOST=)
	@BENCHWEEK_DEMO=$${BENCHWEEK_DEMO:-yes} $(BIN)/python manage.py serve --host $(HOST) --port $(PORT)

serve-lan: needed-to-run .venv/installed ## serve the shop by https on its own network (NAME=shed.local, LAN_PORT=8443, TRUST_PORT=8080)
	@$(BIN)/python manage.py serve_lan --name "$(NAME)" --port $(LAN_PORT) --trust-port $(TRUST_PORT)

test: needed-to-test .venv/installed-for-tests ## lint, type-check the engines, run every test
	@$(MAKE) --no-print-directory lint types
	node --test tests/js/*.test.js
	$(BIN)/python -m pytest -n 2 --dist loadfile

lint: .venv/installed-for-tests ## style, import arrows, migrations
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/lint-imports --no-cache
	BENCHWEEK_DEMO=yes $(BIN)/python manage.py makemigrations --check --dry-run

types: .venv/installed-for-tests ## type-check the engines
	$(BIN)/mypy

prove: .venv/installed-for-tests ## the long property and kill runs
	$(BIN)/python -m pytest -m prove -n 2

measure: .venv/installed-for-tests ## today's figures beside the goals, ten minutes at most (BENCH_DATA=)
	@BENCHWEEK_DEMO=yes $(BIN)/python manage.py measure all

measure-all: .venv/installed-for-tests ## every benchmark, goes on where it stopped (BENCH_DATA=)
	@BENCHWEEK_DEMO=yes $(BIN)/python manage.py measure all --whole

backup: .venv/installed ## one more dated backup under TO= (var/backups), photos included; the newest KEEP= (14) stay
	@$(BIN)/python manage.py backup --to "$(TO)" --keep $(KEEP)

restore: .venv/installed ## put the backup FROM= back; REPLACE=yes sets aside what is there (stop Benchweek first)
	@test -n "$(FROM)" || { echo "Say which: make restore FROM=var/backups/benchweek-..." >&2; exit 1; }
	@$(BIN)/python manage.py restore --from "$(FROM)" $(if $(filter yes,$(REPLACE)),--replace)

clean: ## remove the virtual environment and the demo's data
	rm -rf .venv var
