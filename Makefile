# Everything here works alone in a fresh clone with Python 3.11 or newer and make.
# Variables: PYTHON=python3.12 picks an interpreter, VENV=elsewhere another folder for the
# virtual environment, PYTEST_ARGS="-x -k survey" what pytest is given.

VENV ?= .venv
PYTHON ?= $(firstword $(foreach p,python3 python3.14 python3.13 python3.12 python3.11,$(shell \
	$(p) -c 'import sys; sys.version_info >= (3, 11) and print("$(p)")' 2>/dev/null)))
PYTEST_ARGS ?= -q
BIN := $(VENV)/bin
PIP := $(BIN)/python -m pip --disable-pip-version-check --quiet

.DEFAULT_GOAL := help
.PHONY: help demo test check lint bench picture clean pdf-libraries

help: ## list what make can do
	@sed -n 's/^\([a-z-]*\):.*## /\1	/p' $(firstword $(MAKEFILE_LIST)) | \
		while IFS='	' read -r target text; do printf '  make %-7s %s\n' "$$target" "$$text"; done

demo: $(VENV)/.runtime pdf-libraries ## check the demo garage, write every sheet under reports/ and print a table
	$(BIN)/fitprofile check
	$(BIN)/fitprofile report

test: $(VENV)/.develop pdf-libraries ## run all tests, doctests included
	$(BIN)/python -m pytest $(PYTEST_ARGS)

check: lint test ## the whole gate: ruff, mypy --strict, then the tests

lint: $(VENV)/.develop ## ruff and mypy --strict alone
	$(BIN)/ruff check .
	$(BIN)/mypy

bench: $(VENV)/.develop pdf-libraries ## measure speed as ratios within one run
	$(BIN)/python -m bench.run

picture: $(VENV)/.develop pdf-libraries ## draw reports/sheet.png, the picture in README
	$(BIN)/fitprofile transfer nela juniper
	$(BIN)/python .ci/picture.py

clean: ## remove the virtual environment and all caches
	test ! -e $(VENV) || test -f $(VENV)/pyvenv.cfg && rm -rf $(VENV)
	rm -rf .pytest_cache .mypy_cache .ruff_cache .hypothesis
	find fitprofile tests bench -name __pycache__ -type d -prune -exec rm -rf {} +

# An empty file in the environment remembers what was installed, so the second run is quick; it is
# older than pyproject.toml as soon as that changes.
$(VENV)/.runtime: pyproject.toml | $(BIN)/pip
	$(PIP) install --editable '.[pdf]'
	@$(BIN)/python -m compileall -q fitprofile
	@touch $@

$(VENV)/.develop: pyproject.toml | $(BIN)/pip
	$(PIP) install --editable '.[pdf,test]'
	@$(BIN)/python -m compileall -q fitprofile
	@touch $@ $(VENV)/.runtime

$(BIN)/pip:
	@test -n "$(PYTHON)" || { echo "fitprofile needs Python 3.11 or newer; none was found." >&2; exit 1; }
	@.ci/system-packages venv $(PYTHON)
	$(PYTHON) -m venv $(VENV)

pdf-libraries:
	@.ci/system-packages pdf
