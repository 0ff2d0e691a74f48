#!/usr/bin/env bash
# Renews the hash-pinned locks from pyproject.toml; run it after changing a dependency.
set -euo pipefail
cd "$(dirname "$0")/.."
uv=.venv/bin/uv
compile() { "$uv" pip compile --quiet --universal --python-version 3.11 --generate-hashes --no-emit-index-url --no-header "$@"; }
compile --group build pyproject.toml -o requirements.lock
compile --group build --group dev -c requirements.lock pyproject.toml -o requirements-dev.lock
echo uv | compile - -o deploy/bootstrap.lock
