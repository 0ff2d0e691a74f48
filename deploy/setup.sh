# Sourced by demo.sh and test.sh: makes .venv and brings what the machine lacks. Safe to run twice.
# Usage: . deploy/setup.sh LOCK_FILE
set -euo pipefail
root=$(cd "$(dirname "${BASH_SOURCE[0]}")/.." && pwd)
cd "$root"
lock=$1

say() { printf '\033[1m%s\033[0m\n' "$*"; }
stop() { printf 'Stopped: %s\n' "$*" >&2; exit 1; }

as_root() {
  if [ "$(id -u)" = 0 ]; then "$@"; elif command -v sudo >/dev/null && sudo -n true 2>/dev/null; then sudo "$@"; else return 126; fi
}

debian_packages() { # debian_packages WHY PACKAGE...
  local why=$1; shift
  command -v apt-get >/dev/null || stop "$why needs $* (Debian's names); install them and run this again."
  say "Installing $* ($why)"
  export DEBIAN_FRONTEND=noninteractive
  { as_root apt-get -qq update && as_root apt-get -qq install -y --no-install-recommends "$@" >/dev/null; } ||
    stop "$why needs $*; run 'apt-get install $*' as root, then this again."
}

find_python() {
  local name
  for name in python3 python3.11 python3.12 python3.13 python3.14; do
    if command -v "$name" >/dev/null && "$name" -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; then
      echo "$name"; return
    fi
  done
}

python=$(find_python)
if [ -z "$python" ]; then
  debian_packages "Lapwise" python3 python3-venv
  python=$(find_python)
  [ -n "$python" ] || stop "Lapwise needs Python 3.11 or newer; this machine's is older."
fi

if [ ! -x .venv/bin/python ]; then
  say "Making a virtual environment in .venv with $("$python" --version)"
  if ! "$python" -m venv .venv 2>/dev/null; then
    rm -rf .venv
    debian_packages "a virtual environment" python3-venv
    "$python" -m venv .venv || stop "the virtual environment could not be made with $python."
  fi
fi
if [ ! -x .venv/bin/uv ]; then
  say "Installing the package installer"
  .venv/bin/python -m pip install --quiet --disable-pip-version-check --require-hashes -r deploy/bootstrap.lock ||
    stop "the Python package index could not be reached; check the network and run this again."
fi
# where the machine keeps certificates of its own (behind a proxy, say), they are the ones to trust
[ -e /etc/ssl/certs/ca-certificates.crt ] && export SSL_CERT_FILE=${SSL_CERT_FILE:-/etc/ssl/certs/ca-certificates.crt}
say "Installing the Python packages of $lock"
.venv/bin/uv pip install --quiet --python .venv/bin/python --require-hashes -r "$lock" ||
  stop "the packages of $lock could not be installed; see the lines above."
.venv/bin/uv pip install --quiet --python .venv/bin/python --no-deps --no-build-isolation -e . ||
  stop "Lapwise itself could not be installed; see the lines above."

if ! .venv/bin/python -c 'import weasyprint' >/dev/null 2>&1; then
  debian_packages "making PDFs" libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0
  .venv/bin/python -c 'import weasyprint' || stop "the PDF engine still does not load; see the lines above."
fi
