# make demo | test | test-long | bench | score | score-faces | train | lint | clean. Each sets up .venv by itself; needs Python 3.11 and a package registry.

PYTHON ?= $(shell command -v python3.11 || command -v python3)
VENV   := .venv
BIN    := $(VENV)/bin
STAMP  := $(VENV)/.made-from-constraints
OUT    ?= out/demo

# Whatever the machine is set to: else every worker and every process that a test starts compiles the house anew.
export PYTHONDONTWRITEBYTECODE :=

.PHONY: demo test test-long bench score score-faces train lint clean

demo: $(STAMP)
	$(BIN)/witnessmark demo --out $(OUT)

test: $(STAMP)
	$(BIN)/python -m pytest -n 2 -m "not long" $(TESTS)

# What listens in real time runs with nothing beside it: a fake microphone loses sound on a busy machine. Such a test
# tells all of it once more where it was not understood; the report names each that had to. No test of a kind
# among TESTS (status 5) is no fault.
test-long: $(STAMP)
	$(BIN)/python -m pytest -n 2 -m "long and not real_time" $(TESTS) || [ $$? -eq 5 ]
	$(BIN)/python -m pytest -m "long and real_time" --reruns 1 $(TESTS) || [ $$? -eq 5 ]

bench: $(STAMP)
	$(BIN)/python -m bench

score: $(STAMP)
	$(BIN)/python -m bench extraction recogniser

score-faces: $(STAMP)
	$(BIN)/python -m bench.faces

# One thread: sums in another order make another model.
train: $(STAMP)
	OMP_NUM_THREADS=1 OPENBLAS_NUM_THREADS=1 $(BIN)/python -m bench.train_recogniser

lint: $(STAMP)
	$(BIN)/ruff check .
	$(BIN)/mypy

# Quick the second time: made anew only when what it was made from changes.
$(STAMP): pyproject.toml constraints.txt
	@$(PYTHON) -c 'import sys; sys.exit(0 if sys.version_info >= (3, 11) else "witnessmark needs Python 3.11 or newer, found %d.%d; set PYTHON=/path/to/python3.11" % sys.version_info[:2])'
	test -x $(BIN)/python || $(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --constraint constraints.txt --editable '.[dev]'
	touch $@

# What is installed now, to compare with constraints.txt by eye before it is taken over.
constraints.txt.new: $(STAMP)
	$(BIN)/python -m pip freeze --exclude-editable > $@

clean:
	rm -rf $(VENV) build dist out *.egg-info .pytest_cache .mypy_cache .ruff_cache .hypothesis constraints.txt.new
	find . -name __pycache__ -type d -prune -exec rm -rf {} +
