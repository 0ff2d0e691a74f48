#!/usr/bin/env bash
# Plans the demonstration house from nothing: installs, starts, plans over HTTP, saves PDFs and drawings.
set -euo pipefail
cd "$(dirname "$0")/.."
. deploy/setup.sh requirements.lock
say "Planning the demonstration house"
exec .venv/bin/lapwise demo --out "${1:-demo-out}"
