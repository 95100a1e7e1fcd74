#!/usr/bin/env bash
# Shows the whole thread once: an eye planned in the terminal, a theatre sheet, and the app on a demo clinic.
# Usage: tools/demo.sh [SERVE] [PORT]; SERVE=0 ends after the sheet.
set -euo pipefail
cd "$(dirname "$0")/.."
serve=${1:-1}
port=${2:-8017}
zonule=.venv/bin/zonule
clinic=out/demo-clinic.sqlite3
said=out/demo-clinic.txt
sheet=out/theatre-sheet.pdf

mkdir -p out
if [ ! -s "$clinic" ] || [ ! -s "$said" ]; then
  echo "Inventing a clinic; this takes about ten seconds."
  # Made under another name first: a clinic that was interrupted half-way must not be taken for a whole one.
  rm -f "$clinic" "$clinic"-wal "$clinic"-shm out/new-clinic.sqlite3*
  $zonule demo --record out/new-clinic.sqlite3 >out/new-clinic.txt
  mv out/new-clinic.sqlite3 "$clinic"
  mv out/new-clinic.txt "$said"
fi
first=$(sed -n 's/^An eye to look at first: //p' "$said")
if [ -z "$first" ]; then
  echo "$said does not name an eye; remove the folder out and run this again." >&2
  exit 1
fi

echo
echo "One eye planned in the terminal (zonule plan examples/ordinary-eye.json):"
echo
$zonule plan examples/ordinary-eye.json

echo
$zonule sheet "$first" --record "$clinic" --out "$sheet"
echo "It is the sheet of $first, from the demo clinic in $clinic. Every patient in it is invented."

[ "$serve" = 0 ] && exit 0
echo
exec $zonule serve --record "$clinic" --port "$port"
