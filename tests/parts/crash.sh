#!/usr/bin/env bash
# Power cuts, kills and damaged files.
#   tests/run crash                                       images of several sessions, 200 kills, planted mistakes, damage
#   tests/run crash --seed 7 --sessions 1 --images 500    images of the sessions from this seed on only
#   tests/run crash --seed 7 --sessions 1 --instant 812 --images 50
#                                                         images of one instant of one session
set -uo pipefail
cd "$(dirname "$0")/../.." || exit 2
. tests/parts/common.sh

# Only what was synced counts as lasting, so the disk under the rehearsal is not the point.
[ -w /dev/shm ] && export TMPDIR=/dev/shm
cargo build -q --locked "${QUICK[@]}" --workspace --bin crash || { failed "building the rehearsal"; exit 1; }
built="${CARGO_TARGET_DIR:-target}/debug"

if [ $# -gt 0 ]; then
  if "$built/crash" images "$@"; then passed "images"; else failed "images ($*)"; fi
  exit 0
fi

log=$(mktemp)
trap 'rm -f "$log"' EXIT
if "$built/crash" images --seed 1 --sessions 6 --images 3600 --acts 60 | tee "$log" && images=$(grep -oE '^[0-9]+' "$log" | tail -n 1) &&
  [ "$images" -ge 2000 ]; then
  passed "what was told as done is there in every image of a power cut ($images images)"
else
  failed "images of a power cut"
fi

cargo build -q --locked "${QUICK[@]}" --workspace --example counter || { failed "building the counting process"; exit 1; }
if "$built/crash" kills "$built/examples/counter" --seed 1 --kills 200; then
  passed "what was printed as done is there after each of 200 kills"
else
  failed "kills"
fi

check "every planted mistake is noticed, and the control is clean" cargo test -q --locked "${QUICK[@]}" --workspace --test defects
among_the_crates "damaged files are set aside, read as far as they go, and counting goes on" cargo test -q --locked "${QUICK[@]}" --workspace --test damage
