#!/usr/bin/env bash
# Installs the programs that the tests drive: a browser, PDF readers and the DICOM validator.
set -euo pipefail
missing=()
need() { command -v "$1" >/dev/null || missing+=("$2"); }
need chromium chromium
need pdftotext poppler-utils
need dciodvfy dicom3tools
need dcmdump dcmtk
# The driver of the browser tests brings its own JavaScript engine, which needs this library.
/sbin/ldconfig -p | grep 'libatomic\.so\.1' >/dev/null || missing+=(libatomic1)
[ ${#missing[@]} = 0 ] && exit 0
if [ "$(id -u)" != 0 ] || ! command -v apt-get >/dev/null; then
  echo "Tests that need these Debian packages will be left out: ${missing[*]}" >&2
  exit 0
fi
echo "installing for the tests: ${missing[*]}"
apt-get update -qq
DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends "${missing[@]}" >/dev/null
