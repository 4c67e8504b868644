#!/bin/sh
# One site over a folder of layers in a cold process, as they are and prepared: median of wall clock,
# processor time and memory over RUNS (9) runs, and whether both pages are the same.
#
#   benches/cold.sh EAVES AREA LAYERS PREPARED
#
# EAVES is `eaves` or `eaves-lean`. PREPARED is written by `eaves prepare` if it is not there. Needs GNU time.
set -eu
eaves=$1 area=$2 layers=$3 prepared=$4
runs=${RUNS:-9}
scratch=$(mktemp -d)
trap 'rm -r "$scratch"' EXIT

[ -d "$prepared" ] || "$eaves" prepare "$layers" --out "$prepared"

# Exit code 1 is an answer too.
once() {
    /usr/bin/time -q -a -o "$scratch/$1" -f '%e %U %S %M' "$eaves" assess "$area" \
        --layers "$2" --date 2026-07-01 >"$scratch/$1.page" || [ $? -eq 1 ]
}

# The middle of a column of numbers.
middle() { sort -n | awk '{ it[NR] = $1 } END { print it[int((NR + 1) / 2)] }'; }

for how in raw prepared; do
    [ "$how" = raw ] && folder=$layers || folder=$prepared
    run=0
    while [ "$run" -lt "$runs" ]; do
        once "$how" "$folder"
        run=$((run + 1))
    done
    wall=$(awk '{ print $1 }' "$scratch/$how" | middle)
    processor=$(awk '{ print $2 + $3 }' "$scratch/$how" | middle)
    memory=$(awk '{ print $4 }' "$scratch/$how" | middle)
    echo "$how: wall $wall s, processor $processor s, memory $memory kB"
done
cmp "$scratch/raw.page" "$scratch/prepared.page" && echo "the pages are the same"
