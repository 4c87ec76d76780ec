#!/usr/bin/env bash
# Hostile input: the kept inputs of every fuzz target hold, bombs stay within bounded memory, and the targets build.
#   tests/run fuzz                 replay, bombs, build
#   tests/run fuzz --seconds 600   besides, let libFuzzer look for so long at each target (needs nightly and cargo-fuzz)
set -uo pipefail
cd "$(dirname "$0")/../.." || exit 2
. tests/parts/common.sh
need_packages build-essential || { failed "a C compiler for SQLite could not be installed"; exit 1; }

seconds=0
case "${1:-}" in
  --seconds) seconds=${2:?--seconds wants a number} ;;
  "") ;;
  *) echo "fuzz knows only --seconds N" >&2; exit 2 ;;
esac
targets=()
for target in tests/fuzz/fuzz_targets/*.rs; do targets+=(--bin "$(basename "$target" .rs)"); done
# Files of the stores that the targets make are thrown away at once: memory will do where there is some.
[ -w /dev/shm ] && export TMPDIR=/dev/shm

log=$(mktemp)
if cargo test --locked --workspace --test replay --test memory -- --nocapture --test-threads 2 > "$log" 2>&1; then
  grep -E '^[a-z]+: [0-9]+ kept inputs hold' "$log"
  grep -E 'KiB at most, bound' "$log"
  inputs=$(grep -oE '[0-9]+ kept inputs hold' "$log" | awk '{ n += $1 } END { print n + 0 }')
  bombs=$(grep -cE 'KiB at most, bound' "$log")
  if [ "$inputs" -gt 0 ]; then passed "kept inputs hold" "$inputs"; else failed "no kept input was replayed"; fi
  if [ "$bombs" -gt 0 ]; then passed "bombs stay within their bounds" "$bombs"; else failed "no bomb was tried"; fi
else
  failed "kept inputs and bombs"
  tail -n 80 "$log"
fi
rm -f "$log"
among_the_crates "bombs and slow clients against a real station" cargo test --locked --workspace --test bombs -- --nocapture

# Each target is the program of its own law: built plainly it reads files. What libFuzzer drives is built by cargo-fuzz.
each_target_reads() {
  local target name
  cargo build --locked --workspace "${targets[@]}" || return 1
  for target in tests/fuzz/fuzz_targets/*.rs; do
    name=$(basename "$target" .rs)
    "${CARGO_TARGET_DIR:-target}/debug/$name" tests/fuzz/corpus/"$name"/* | grep -c ' holds$' || return 1
  done
}
check "each fuzz target builds and reads its kept inputs" each_target_reads

[ "$seconds" -gt 0 ] || exit 0
if ! cargo +nightly fuzz --version > /dev/null 2>&1; then
  skipped "fuzzing for $seconds s: install a nightly toolchain and cargo-fuzz"
  exit 0
fi
for target in tests/fuzz/fuzz_targets/*.rs; do
  name=$(basename "$target" .rs)
  # All unsafe code is in libraries that others keep: sanitizers are left out, and more is tried in the same time.
  found=$(mktemp -d)
  if (cd tests && cargo +nightly fuzz run -s none "$name" "$found" "fuzz/corpus/$name" -- \
        -max_total_time="$seconds" -timeout=20 -rss_limit_mb=2048 -max_len=8192 -print_final_stats=1 > "$found.log" 2>&1); then
    passed "$name: $(grep -oE 'number_of_executed_units: [0-9]+' "$found.log"), $(grep -oE 'cov: [0-9]+' "$found.log" | tail -n 1)"
  else
    failed "$name found an input that breaks a law"
    tail -n 40 "$found.log"
  fi
  rm -rf "$found" "$found.log"
done
