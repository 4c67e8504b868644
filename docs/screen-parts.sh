#!/usr/bin/env bash
# Screens sites in parts side by side and joins them: PARTS FOLDER SITES --layers DIR --date DAY ...
# Each part is left in FOLDER-parts until all is joined in FOLDER; given again, it goes on where it was.
# EAVES names the program, JOBS how many parts run at a time (each with one thread).
set -euo pipefail
parts=$1 folder=$2
shift 2
export EAVES=${EAVES:-eaves}
mkdir -p "$folder-parts"

# Exit code 1 says that something is undecided, which is an answer.
part() {
    local index=$1 parts=$2 folder=$3 status=0
    shift 3
    "$EAVES" screen "$@" --quiet --threads 1 --part "$index/$parts" --out "$folder/$index" >/dev/null || status=$?
    [ "$status" -le 1 ]
}
export -f part

jobs=${JOBS:-$(nproc)}
if command -v parallel >/dev/null; then
    seq "$parts" | parallel --halt soon,fail=1 -j "$jobs" part {} "$parts" "$folder-parts" "$@"
else
    seq "$parts" | xargs -P "$jobs" -I INDEX bash -c 'part "$@"' part INDEX "$parts" "$folder-parts" "$@"
fi

folders=()
for index in $(seq "$parts"); do folders+=("$folder-parts/$index"); done
status=0
"$EAVES" screen "$@" --out "$folder" --join "${folders[@]}" || status=$?
[ "$status" -gt 1 ] || rm -r "$folder-parts"
exit "$status"
