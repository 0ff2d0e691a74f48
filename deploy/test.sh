#!/usr/bin/env bash
# Runs every check of the project from nothing.
set -euo pipefail
cd "$(dirname "$0")/.."
. deploy/setup.sh requirements-dev.lock
command -v curl >/dev/null || debian_packages "running the README's commands" curl
if ! command -v chromium >/dev/null || ! command -v chromedriver >/dev/null; then
  if grep -q '^ID=debian' /etc/os-release 2>/dev/null; then
    debian_packages "the browser tests" chromium chromium-driver
  else # elsewhere the package of that name is often only a pointer to another way of installing
    say "Leaving out the browser tests: they need chromium and chromedriver on the PATH"
    set -- --ignore=tests/pages "$@"
  fi
fi
command -v pdftoppm >/dev/null || debian_packages "looking at PDF pages in tests" poppler-utils
say "ruff"; .venv/bin/ruff check . ; .venv/bin/ruff format --check .
say "mypy"; .venv/bin/mypy
say "import-linter"; .venv/bin/lint-imports
say "pip-audit"; bash deploy/audit.sh
say "pytest"
exec .venv/bin/pytest -n 2 --dist loadfile "$@" # a file stays on one process, so servers it starts are shared
