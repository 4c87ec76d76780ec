#!/usr/bin/env bash
# Phones, station and a bad network told by seeds, and the planted mistakes that these worlds must notice.
set -uo pipefail
cd "$(dirname "$0")/../.." || exit 2
. tests/parts/common.sh
need_packages build-essential || { failed "a C compiler for SQLite could not be installed"; exit 1; }

cargo build -q --locked "${QUICK[@]}" --workspace --bin worlds || { failed "the worlds do not build"; exit 1; }
binary="${CARGO_TARGET_DIR:-target}/debug/worlds"
# In memory where that is possible: the worlds are about what is said, not about the disk.
room=()
[ -d /dev/shm ] && [ -w /dev/shm ] && room=(--folder /dev/shm)

log=$(mktemp)
if "$binary" "${room[@]}" "$@" | tee "$log"; then
  passed "$(tail -n 1 "$log")"
else
  failed "worlds: $(tail -n 1 "$log")"
fi
rm -f "$log"

# With options of its own a run is about those worlds; the planted mistakes come with the whole part.
if [ $# -eq 0 ]; then
  check "six planted mistakes are noticed, and without one nothing is" \
    cargo test --locked "${QUICK[@]}" --workspace --test planted
fi
