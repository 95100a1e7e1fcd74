#!/usr/bin/env bash
# Makes an environment from a hashed lock file: .venv "runtime" for using zonule or "development" for working on
# it, .venv-reference "reference" for computing the frozen reference rays anew.
set -euo pipefail
cd "$(dirname "$0")/.."
kind=$1
uv_version=0.13.9

if ! python3 -c 'import ensurepip, venv' 2>/dev/null; then
  echo "python3-venv is missing; installing it"
  if [ "$(id -u)" != 0 ] || ! command -v apt-get >/dev/null; then
    echo "Please install python3-venv (Debian: apt-get install python3-venv) and run this again." >&2
    exit 1
  fi
  apt-get update -qq
  DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends python3-venv >/dev/null
fi
python3 -c 'import sys; sys.exit(sys.version_info < (3, 11))' || {
  echo "zonule needs Python 3.11 or newer." >&2
  exit 1
}

lock=requirements.lock
venv=.venv
[ "$kind" = development ] && lock=requirements-dev.lock
[ "$kind" = reference ] && lock=requirements-reference.lock && venv=.venv-reference

[ -x .boot/bin/python ] || python3 -m venv .boot
.boot/bin/python -c "import importlib.metadata as m, sys; sys.exit(m.version('uv') != '$uv_version')" 2>/dev/null ||
  .boot/bin/python -m pip install --quiet --disable-pip-version-check "uv==$uv_version" 2>/dev/null || true

[ -x "$venv/bin/python" ] || python3 -m venv "$venv"
# Bytecode is compiled now, so that the first command a person types is not slow.
if [ -x .boot/bin/uv ]; then
  VIRTUAL_ENV="$venv" .boot/bin/uv pip sync --quiet --require-hashes --only-binary :all: --compile-bytecode "$lock"
  VIRTUAL_ENV="$venv" .boot/bin/uv pip install --quiet --no-deps --editable .
else
  echo "uv could not be had; using pip, which is slower"
  "$venv/bin/python" -m pip install --quiet --disable-pip-version-check --require-hashes --only-binary :all: -r "$lock"
  "$venv/bin/python" -m pip install --quiet --disable-pip-version-check --no-deps --editable .
fi
PYTHONDONTWRITEBYTECODE='' "$venv/bin/python" -m compileall -q src
if [ "$kind" = reference ]; then
  touch "$venv/.reference"
else
  touch "$venv/.runtime"
fi
[ "$kind" = development ] && touch "$venv/.development"
exit 0
