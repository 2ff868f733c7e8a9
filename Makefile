# Every developer task. `make` alone lists them.
#
# The first target that needs Python makes .venv and installs the project into it; it is made
# again when pyproject.toml changes. PYTHON picks the interpreter: make test PYTHON=python3.12

PYTHON ?= python3
TERM_FILE ?= scenarios/brindlemere/term.yaml
OUT    ?= out/demo
VENV   := .venv
BIN    := $(VENV)/bin
READY  := $(VENV)/.ready

# numpy's threads and pytest's workers would fight over the same cores
export OPENBLAS_NUM_THREADS ?= 1

.PHONY: help demo test lint format bench clean

help:  ## list the tasks
	@grep -hE '^[a-z]+:.*##' $(MAKEFILE_LIST) | sed -E 's/:.*## /\t/' | expand -t 10

demo: $(READY)  ## run the example term into out/demo: pages, answers, grades, coverage
	$(BIN)/python -m quizgen.demo $(TERM_FILE) --out $(OUT) --again

lint: $(READY)  ## style, format and types
	$(BIN)/ruff check
	$(BIN)/ruff format --check
	$(BIN)/mypy

test: lint  ## lint, then the whole test suite
	$(BIN)/pytest -n 2

format: $(READY)  ## rewrite the code in the project's format
	$(BIN)/ruff check --fix
	$(BIN)/ruff format

bench: $(READY)  ## measurements: every tests/bench/bench_*.py in turn
	@found=0; for file in tests/bench/bench_*.py; do \
	  [ -e "$$file" ] || continue; found=1; echo "== $$file"; $(BIN)/python "$$file" || exit 1; \
	done; [ $$found = 1 ] || echo "No measurements yet: tests/bench has no bench_*.py"

clean:  ## remove what was built and cached; .venv stays
	find out -mindepth 1 ! -name .gitkeep -delete
	rm -rf build dist .mypy_cache .ruff_cache .pytest_cache .hypothesis
	find quizgen tests -name __pycache__ -type d -prune -exec rm -rf {} +

$(READY): pyproject.toml .ci/install-pango
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null || { \
	  echo "quizgen needs Python 3.11 or newer, and $(PYTHON) is not: try make PYTHON=python3.12"; \
	  exit 1; }
	@[ -x $(BIN)/python ] || $(PYTHON) -m venv $(VENV) || { \
	  echo "Python's venv module is missing: on Debian and Ubuntu, apt-get install python3-venv"; \
	  exit 1; }
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -e '.[dev]'
	@.ci/install-pango $(BIN)/python
	@touch $@
