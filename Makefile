# Build, show, test and check studbay. Needs Rust, Python 3.11 or later with venv, and a C linker; everything else goes into .venv.
#
#   make demo    build a release wheel into .venv, assess the demo house, score the demo list and sum it up
#   make test    Rust tests, Python tests and notebooks
#   make check   everything that reads the code without running it: format, lints, features, docs, types
#   make bench   benchmarks
#   make book    the method book: target/book/index.html
#   make web-core  build the WebAssembly core of the pages anew: src/page/core.wasm
#   make env     .venv with the wheel and all development tools
#   make fuzz    every parser under changed inputs, bounded (FUZZ_INPUTS=300 for each target)
#   make mutants change the arithmetic piece by piece and see whether a test notices: hours; needs cargo-mutants
#   make deny    licences, duplicates and origins of dependencies; needs cargo-deny
#   make package what would be published: the crate, the sdist, a wheel from the sdist
#   make clean   remove all that was built
#
# Another Python: make PYTHON=/path/to/python3 demo

.DELETE_ON_ERROR:
.NOTPARALLEL:
.SUFFIXES:
.DEFAULT_GOAL := help

PYTHON ?= $(shell .ci/require python)
CARGO ?= cargo

VENV := .venv
VPY := $(VENV)/bin/python
PIP := $(VPY) -m pip --quiet --disable-pip-version-check
WHEELS := target/wheels

# CI takes the committed lock file as it is.
LOCKED := $(if $(CI),$(if $(wildcard Cargo.lock),--locked))

# What `make demo` runs, in this order, one command a line. `score` ends with 1 where rows are rejected, as they are here.
define DEMO
$(VENV)/bin/studbay assess demo-data/house.toml
@mkdir -p target/demo
$(VENV)/bin/studbay score demo-data/portfolio.csv -o target/demo/scored.csv --force || test $$? -eq 1
$(VENV)/bin/studbay overview target/demo/scored.csv --by county
$(VENV)/bin/studbay shortlist target/demo/scored.csv --budget 250000 --rows 10
endef

# ---------------------------------------------------------------- targets

.PHONY: help demo test check bench env clean require
.PHONY: test-rust test-python check-format check-clippy check-features check-docs check-python check-types check-bench
.PHONY: web-core check-web-core book checks check-checks
.PHONY: fuzz mutants deny package check-locks check-package check-wheel check-client

help:
	@sed -n 's/^#   //p' Makefile

demo: require $(VENV)/.wheel
	$(DEMO)

env: require $(VENV)/.dev

require:
	@PYTHON='$(PYTHON)' .ci/require check

clean:
	rm -rf $(VENV) target target-wasm dist .mypy_cache .ruff_cache .pytest_cache .hypothesis
	find python tests notebooks -name __pycache__ -prune -exec rm -rf {} + 2>/dev/null || true

# ---------------------------------------------------------------- .venv
# The stamps lie inside .venv, so that removing it is always enough to start anew.

WHEEL_SOURCES := $(shell find src python -type f ! -path '*/__pycache__/*' ! -name '*.so' 2>/dev/null) \
    $(wildcard Cargo.toml Cargo.lock build.rs pyproject.toml rust-toolchain.toml README.md LICENSE*)

# `require` comes first wherever the environment may have to be made.
$(VENV)/.made: pyproject.toml | require
	@echo "==> Python environment in $(VENV)"
	$(PYTHON) -m venv $(VENV)
	$(PIP) install "$$($(VPY) -c 'import tomllib; print(*tomllib.load(open("pyproject.toml", "rb"))["build-system"]["requires"])')"
	@touch $@

$(VENV)/.wheel: $(VENV)/.made $(WHEEL_SOURCES)
	@echo "==> Release wheel (a first build takes a few minutes)"
	rm -f $(WHEELS)/studbay-*.whl
	$(VPY) -m maturin build --release $(LOCKED) --interpreter $(VPY) --out $(WHEELS)
	$(PIP) install --force-reinstall --no-deps $(WHEELS)/studbay-*.whl
	$(PIP) install $(WHEELS)/studbay-*.whl
	@touch $@

$(VENV)/.dev: $(VENV)/.wheel
	@echo "==> Development tools"
	$(PIP) install "$$(ls $(WHEELS)/studbay-*.whl)[dev]"
	@touch $@

# ---------------------------------------------------------------- Rust against Python

# Test programs with the `python` feature hold an interpreter, so they need a libpython to link with and to find when they run.
# The environment's bin folder goes first in PATH, because that is how the interpreter inside finds the installed package.
# Prints the folder of libpython, or nothing where this Python has none.
LIBPYTHON = $(shell $(VPY) -c 'import os, sysconfig; \
    folder, name, shared = sysconfig.get_config_vars("LIBDIR", "LDLIBRARY", "Py_ENABLE_SHARED"); \
    print(folder if shared and os.path.exists(os.path.join(folder, name)) else "")')

# All features of the package but `default`, one a line.
FEATURES = $(shell $(CARGO) metadata --no-deps --format-version 1 | $(VPY) -c 'import json, sys; \
    package = next(p for p in json.load(sys.stdin)["packages"] if p["name"] == "studbay"); \
    print(*sorted(set(package["features"]) - {"default"}))')
# Those that need no Python.
comma := ,
empty :=
RUST_FEATURES = $(subst $(empty) ,$(comma),$(strip $(filter-out python abi3 stubs,$(FEATURES))))

# pyo3 is built for the environment's interpreter everywhere, so that no target makes another one build it again.
CARGO_PY = PYO3_PYTHON='$(abspath $(VPY))' $(CARGO)

# ---------------------------------------------------------------- make test

test: test-rust test-python

test-rust: $(VENV)/.wheel
	@echo "==> cargo test, default features"
	$(CARGO_PY) test $(LOCKED)
	@libpython='$(LIBPYTHON)'; if [ -n "$$libpython" ]; then \
	    echo "==> cargo test, all features"; \
	    PATH="$(abspath $(VENV)/bin):$$PATH" \
	    LD_LIBRARY_PATH="$$libpython$${LD_LIBRARY_PATH:+:$$LD_LIBRARY_PATH}" \
	    DYLD_FALLBACK_LIBRARY_PATH="$$libpython$${DYLD_FALLBACK_LIBRARY_PATH:+:$$DYLD_FALLBACK_LIBRARY_PATH}" \
	    $(CARGO_PY) test $(LOCKED) --all-features; \
	else \
	    echo "==> cargo test, all features but python, abi3 and stubs: this Python has no libpython to link with (Debian, Ubuntu: libpython3-dev)"; \
	    $(CARGO_PY) test $(LOCKED) --features '$(RUST_FEATURES)'; \
	fi

test-python: $(VENV)/.dev
	@echo "==> pytest, with the notebooks"
	$(VPY) -m pytest

# ---------------------------------------------------------------- make check

check: check-format check-clippy check-features check-docs check-python check-types check-bench

check-format:
	$(CARGO) fmt --all --check

check-clippy: $(VENV)/.made
	$(CARGO_PY) clippy $(LOCKED) --all-targets -- -D warnings
	$(CARGO_PY) clippy $(LOCKED) --all-targets --all-features -- -D warnings

# The library alone, because the development dependencies would lend it their features. clippy is cargo check with its warnings counted.
check-features: $(VENV)/.made
	@set -e; features='$(FEATURES)'; test -n "$$features"; \
	echo "==> no features"; \
	$(CARGO_PY) clippy $(LOCKED) --quiet --lib --no-default-features -- -D warnings; \
	for feature in $$features; do \
	    echo "==> $$feature alone"; \
	    $(CARGO_PY) clippy $(LOCKED) --quiet --lib --no-default-features --features "$$feature" -- -D warnings; \
	done

check-docs: $(VENV)/.made
	RUSTDOCFLAGS='-D warnings' $(CARGO_PY) doc $(LOCKED) --no-deps --all-features

check-python: $(VENV)/.dev
	$(VPY) -m ruff format --check .
	$(VPY) -m ruff check .

# mypy reads the source; stubtest compares the stubs with the installed wheel.
check-types: $(VENV)/.dev
	$(VPY) -m mypy
	$(VPY) -m mypy.stubtest studbay --mypy-config-file tests/stubtest.ini --allowlist tests/stubtest_allowlist.txt

check-bench: $(VENV)/.made
	$(CARGO_PY) check $(LOCKED) --benches --features '$(RUST_FEATURES)'

# After a change of any figure or of any word of a page: the module in the repository must compute what the library computes.
web-core:
	.ci/web-core

# The module as the sources give it today against the one in the repository, on the same houses. Where nothing here can build
# WebAssembly, the one in the repository is compared with the library alone, by the tests of pages.
check-web-core: $(VENV)/.dev
	$(VPY) tests/generate/compare_web_core.py

# ---------------------------------------------------------------- what cannot be broken

# In the root's own target folder, so that the dependencies need not be built a second time.
FUZZ_INPUTS ?= 300

fuzz: check-locks
	RUST_BACKTRACE=0 $(CARGO) run --quiet --locked --manifest-path fuzz/Cargo.toml --target-dir target \
	    --no-default-features --bin bounded -- $(FUZZ_INPUTS)

check-locks:
	.ci/locks

# A copy of the tree is changed, built and tested once for each mutant. Nothing of the tests is shrunk or kept, and fewer cases are drawn:
# that can only let more mutants live. Survivors with a reason stand in tests/MUTANTS.md.
mutants:
	PROPTEST_CASES=32 PROPTEST_MAX_SHRINK_ITERS=0 PROPTEST_DISABLE_FAILURE_PERSISTENCE=1 CARGO_PROFILE_DEV_DEBUG=0 \
	    $(CARGO) mutants --no-shuffle --output target $(MUTANTS)

# Without advisories: their database comes over the network.
deny:
	$(CARGO) deny --offline --locked check licenses bans sources

# ---------------------------------------------------------------- release

# The crate, built from what would be published; the sdist; and a wheel from the sdist alone, in a clean folder.
package: check-package $(VENV)/.made
	$(CARGO) package --locked
	rm -rf target/sdist && mkdir -p target/sdist
	$(VPY) -m maturin sdist --out target/sdist
	$(PIP) wheel --no-deps --wheel-dir target/sdist target/sdist/studbay-*.tar.gz
	$(VPY) .ci/release wheel target/sdist/studbay-*.whl

# Whether the crate holds all that its sources include, and nothing else; quick, for it builds nothing.
check-package: $(VENV)/.made
	$(VPY) .ci/release crate

# Size of the wheel, and how long it takes to import.
check-wheel: $(VENV)/.dev
	$(VPY) .ci/release wheel $(WHEELS)/studbay-*.whl
	$(VPY) .ci/release import

# A program as a user would write it, under the strictest rules, against the installed wheel.
check-client: $(VENV)/.dev
	cd tests/client && $(abspath $(VPY)) -m mypy --strict --config-file mypy.ini . && $(abspath $(VPY)) client.py

# The method book, warnings being errors; docs/ and mkdocs.yml are all that it is made of.
book: $(VENV)/.dev
	NO_MKDOCS_2_WARNING=1 $(VPY) -m mkdocs build --strict

# The table of checks in the book, from what the tests write down as they assert it.
CHECKS := target/checks.csv
define WRITE_CHECKS
@mkdir -p target && rm -f $(CHECKS)
STUDBAY_CHECKS='$(abspath $(CHECKS))' $(CARGO_PY) test $(LOCKED) --test suite -- published
STUDBAY_CHECKS='$(abspath $(CHECKS))' $(VPY) -m pytest -q tests/python/test_checks.py
endef

checks: $(VENV)/.dev
	$(WRITE_CHECKS)
	$(VPY) tests/generate/make_checks.py $(CHECKS)

check-checks: $(VENV)/.dev
	$(WRITE_CHECKS)
	$(VPY) tests/generate/make_checks.py --check $(CHECKS)

bench: $(VENV)/.made
	$(CARGO_PY) bench --features '$(RUST_FEATURES)'
