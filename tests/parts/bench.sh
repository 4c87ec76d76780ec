#!/usr/bin/env bash
# Ratios against floors measured in the same run, on the disk that the build lies on. A ratio fails nothing.
# Options: --only "tap push ingest refold open"
set -uo pipefail
cd "$(dirname "$0")/../.." || exit 2
. tests/parts/common.sh
need_packages build-essential || { failed "a C compiler for SQLite could not be installed"; exit 1; }

only=()
[ "${1:-}" = --only ] && read -ra only <<< "${2:?names of ratios}"

check "the measuring programs build" cargo build -q --profile trial --locked -p station -p bench --bins
programs="${CARGO_TARGET_DIR:-target}/trial"
folder=$(mktemp -d "${CARGO_TARGET_DIR:-target}/bench.XXXXXX") || exit 2
trap 'rm -rf "$folder"' EXIT
case $(stat -f -c %T "$folder") in
  tmpfs|ramfs) echo "note: $folder lies in memory: syncs cost nothing there, and the ratios say little" ;;
esac
if "$programs/ratios" "$programs/leafturn" "$folder" "${only[@]}"; then
  passed "the ratios were measured"
else
  failed "the ratios were measured"
fi
