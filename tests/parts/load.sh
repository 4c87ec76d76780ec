#!/usr/bin/env bash
# Five hundred phones with a season each sync to one station at once. Errors and losses fail; the minute is printed.
# Options: --phones N
set -uo pipefail
cd "$(dirname "$0")/../.." || exit 2
. tests/parts/common.sh
need_packages build-essential || { failed "a C compiler for SQLite could not be installed"; exit 1; }

phones=500
[ "${1:-}" = --phones ] && phones=${2:?a number of phones}

check "the measuring programs build" cargo build -q --locked "${QUICK[@]}" --workspace --bin leafturn --bin load
programs="${CARGO_TARGET_DIR:-target}/debug"
# Beside the build, not in a folder for temporary files, which may lie in memory.
folder=$(mktemp -d "${CARGO_TARGET_DIR:-target}/load.XXXXXX") || exit 2
trap 'rm -rf "$folder"' EXIT
# Each phone has a connection.
ulimit -n "$(ulimit -H -n)"
if "$programs/load" "$programs/leafturn" "$folder/station" "$phones"; then
  passed "$phones phones sync at once without error or loss, beside clients that send drop by drop"
else
  failed "$phones phones sync at once"
fi
