#!/usr/bin/env bash
# Compiles the hashed lock files. They name packages and hashes, and no registry's address.
set -euo pipefail
cd "$(dirname "$0")/.."
compile() { .boot/bin/uv pip compile --quiet --universal --generate-hashes --no-header "$@"; }
compile pyproject.toml -o requirements.lock
compile --group dev pyproject.toml -o requirements-dev.lock
compile --group reference pyproject.toml -o requirements-reference.lock
if grep -n '://' requirements.lock requirements-dev.lock requirements-reference.lock; then
  echo "a lock file holds an address" >&2
  exit 1
fi
