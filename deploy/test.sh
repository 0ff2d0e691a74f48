#!/usr/bin/env bash
# Runs every check of the project from nothing.
set -euo pipefail
cd "$(dirname "$0")/.."
. deploy/setup.sh requirements-dev.lock
command -v pdftoppm >/dev/null || debian_packages "looking at PDF pages in tests" poppler-utils
say "ruff"; .venv/bin/ruff check . ; .venv/bin/ruff format --check .
say "mypy"; .venv/bin/mypy
say "import-linter"; .venv/bin/lint-imports
say "pytest"
exec .venv/bin/pytest "$@"
