#!/usr/bin/env bash
# Format, lints, layering, and the tests of every crate.
set -uo pipefail
cd "$(dirname "$0")/../.." || exit 2
. tests/parts/common.sh
need_packages build-essential || { failed "a C compiler for SQLite could not be installed"; exit 1; }

check "format" cargo fmt --all --check
check "lints (clippy, warnings are errors)" cargo clippy --workspace --all-targets --locked -- -D warnings
check "layering: arrows point one way, pure crates stay pure" tests/parts/layering.sh
check "documentation has no broken links" env RUSTDOCFLAGS="-D warnings" cargo doc --workspace --no-deps --locked

# An example in the documentation would have to be run, and rustdoc would look for one in every crate: what is shown as code
# there is `text`, and examples are tests.
no_example_to_run() {
  find rust-core demo tests -name target -prune -o -name '*.rs' -print0 | xargs -0 awk '
    FNR == 1 { inside = 0 }
    /^[ \t]*\/\/[\/!] ```/ {
      inside = !inside
      if (inside && $0 !~ /```text$/) { print FILENAME ":" FNR ": an example in the documentation"; found = 1 }
    }
    END { exit found }'
}
check "no example in the documentation goes without being run" no_example_to_run

# A test kills this process; what cargo would build for it by itself is all examples, and rustdoc with them.
check "the counting process builds" cargo build --workspace --locked --example counter
log=$(mktemp)
cargo test --workspace --tests --locked --no-fail-fast 2>&1 | tee "$log" | grep -E '^(test result|error|     Running|failures:|---- )|FAILED|panicked'
ran=$(awk '/^test result:/ { p += $4; f += $6; i += $8 } END { print p + 0, f + 0, i + 0 }' "$log")
read -r p f i <<< "$ran"
[ "$p" -gt 0 ] && echo "passed $p tests of the crates" >> "$RESULTS"
[ "$i" -gt 0 ] && echo "skipped $i tests of the crates are marked ignored" >> "$RESULTS"
if [ "$f" -gt 0 ]; then
  echo "failed $f tests of the crates" >> "$RESULTS"
  sed -n '/^failures:/,/^test result/p' "$log" | head -n 200
elif [ "$p" -eq 0 ] || grep -qE '^error' "$log"; then
  failed "cargo test did not run to its end"
  tail -n 60 "$log"
fi
rm -f "$log"
