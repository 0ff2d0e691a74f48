#!/usr/bin/env bash
# Known vulnerabilities of the packages a deployment runs (requirements.lock). A finding fails; where the advisories
# cannot be had, that is said loudly and nothing fails, since nothing was looked at.
set -euo pipefail
cd "$(dirname "$0")/.."
report=$(mktemp) said=$(mktemp)
trap 'rm -f "$report" "$said"' EXIT
[ -e /etc/ssl/certs/ca-certificates.crt ] && export SSL_CERT_FILE=${SSL_CERT_FILE:-/etc/ssl/certs/ca-certificates.crt}
code=0
.venv/bin/pip-audit -r "${1:-requirements.lock}" --disable-pip --require-hashes --progress-spinner off \
  --timeout 30 -f json -o "$report" 2>"$said" || code=$?
exec .venv/bin/python deploy/audited.py "$report" "$said" "$code"
