# Two commands do everything on a fresh machine: `make demo` and `make test`.
SHELL := /bin/bash
.DELETE_ON_ERROR:
.PHONY: demo test tour installed coverage bench siege lint kernels drivetrain-kernels trace-kernels validity blows lock figures sbom browser words catalogues clean help

PYTHON ?= python3
BIN := .venv/bin
RUN := .venv/.installed-run
DEV := .venv/.installed-dev
# tests/conftest.py lets files that wait go first, one a core, and one process more compute in what they leave.
# The processes share the cores already: threads of the linear algebra would only get in each other's way.
PYTEST := OPENBLAS_NUM_THREADS=1 $(BIN)/pytest -n auto --dist loadfile --no-loadscope-reorder

help:
	@echo "make demo      the whole job on simulated runs: load, compare, explain, design; then the bench in the browser"
	@echo "               until Ctrl-C (make demo SERVE=no ends before that)"
	@echo "make test      lint, types, import contract, every test"
	@echo "make coverage  every test again with the lines that none of them runs; twice as long"
	@echo "make bench     speed against plain libraries, printed as ratios"
	@echo "make siege     the long form of every attack of tests/faults; hours, goes on where it stopped (docs/siege.md)"
	@echo "make validity  the simulation studies behind docs/validity.md (about 10 minutes)"
	@echo "make blows     the engine against a second integrator on 1,000 random chains (about 5 minutes)"
	@echo "make sbom      the software bill of materials of what is installed to run it, build/sbom.json (CycloneDX)"
	@echo "make figures   how the house is built: files, lines, records that say the same"
	@echo "make words     every string that a person can meet, with its place and kind"
	@echo "make catalogues  bring the translations up to date with the source, and list what is missing"
	@echo "make lock      resolve the locked requirements again"

demo: $(RUN)
	$(BIN)/strikeproof demo --into demo $(if $(filter no,$(SERVE)),,--serve)

test:
	@$(MAKE) --no-print-directory -j2 installed
	@$(MAKE) --no-print-directory -j2 lint kernels
	$(PYTEST) $(addprefix --ignore=,$(COMPILING))

# One waits for the package index, the other for Debian's.
installed: $(DEV) browser
	@:

coverage: $(DEV) browser
	$(PYTEST) --cov --cov-report=term:skip-covered

lint: $(DEV)
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy
	$(BIN)/lint-imports
	$(BIN)/python scripts/words.py --check

# What is said in German and Spanish: .po is for people to edit, .mo is made from it and read by the program.
catalogues: $(DEV)
	$(BIN)/python scripts/catalogues.py --write

# Every string that a person can meet: place, kind, text. The lint above looks for the words of scripts/words.toml.
words:
	@$(PYTHON) scripts/words.py

# Compiled once for all processes of the tests, beside the lint and after it; what compiles them need not be run again.
COMPILING := tests/unit/drivetrain $(patsubst %,tests/unit/trace/test_%.py,blows examine hum samples simulated)
kernels: drivetrain-kernels trace-kernels
drivetrain-kernels trace-kernels: %-kernels: $(DEV)
	@OPENBLAS_NUM_THREADS=1 $(BIN)/pytest -q --no-header $(filter tests/unit/$*%,$(COMPILING))

bench: $(DEV)
	OMP_NUM_THREADS=1 $(BIN)/python -m pytest tests/benchmarks -m benchmark -s -q

# ATTACKS names some of them, SHARE is of the long form's size, STRIKEPROOF_WORKERS how many processes read logs.
SHARE ?= 1
siege: $(DEV)
	OPENBLAS_NUM_THREADS=1 $(BIN)/python -m tests.faults.siege $(ATTACKS) --share $(SHARE)

validity: $(DEV)
	OPENBLAS_NUM_THREADS=1 $(BIN)/python -m pytest tests -m long -q
	$(BIN)/python -m tests.validity

# Every page in six sizes, light and dark, of the workspace that `make demo` made; TOUR is where its pictures go.
TOUR ?= tour
tour: $(DEV) browser
	$(BIN)/python -m tests.browser.tour demo/workspace $(TOUR)

blows: $(DEV)
	OPENBLAS_NUM_THREADS=1 $(BIN)/python -m tests.blow_study 1000 --jobs 2

browser:
	@scripts/need-chromium
	@scripts/need-server

$(RUN): requirements/run.txt pyproject.toml
	scripts/install $(PYTHON) requirements/run.txt
	@touch $@

$(DEV): requirements/dev.txt pyproject.toml
	scripts/install $(PYTHON) requirements/dev.txt
	@touch $@ $(RUN)

# Hashes but no addresses: the locks install from whatever index the machine is set up with.
LOCK := $(BIN)/uv pip compile pyproject.toml --extra build --universal --python-version 3.11 \
	--generate-hashes --no-header --no-annotate -q
lock: $(DEV)
	$(LOCK) -o requirements/run.txt
	$(LOCK) --extra dev -o requirements/dev.txt

figures:
	@$(PYTHON) scripts/figures.py

sbom: $(DEV)
	$(BIN)/python scripts/write_sbom.py requirements/run.txt build/sbom.json

clean:
	rm -rf .venv demo build dist .coverage htmlcov .mypy_cache .ruff_cache .pytest_cache
	find src -name '*.nb[ic]' -delete
