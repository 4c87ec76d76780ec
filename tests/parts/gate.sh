#!/usr/bin/env bash
# What the project is made of: licences and origins of every crate, and known faults where the advisory database can be
# reached. That no one gets in is among the tests of the crates: rust-core/station/tests/access, tests/path/secrets.rs.
set -uo pipefail
cd "$(dirname "$0")/../.." || exit 2
. tests/parts/common.sh

DENY=0.20.2
tools="$PWD/target/tools"
deny="$tools/bin/cargo-deny"
if [ "$("$deny" --version 2>/dev/null)" != "cargo-deny $DENY" ]; then
  log=$(mktemp)
  if ! cargo install --quiet --debug --locked cargo-deny --version "$DENY" --root "$tools" --target-dir "$tools/build" > "$log" 2>&1; then
    skipped "licences, origins and known faults of crates: cargo-deny could not be installed"
    tail -n 5 "$log"
    exit 0
  fi
  rm -rf "$tools/build" "$log"
fi

check "licences and origins of every crate" "$deny" --offline --config tests/deny.toml check licenses bans sources

said=$(mktemp)
if "$deny" --config tests/deny.toml check advisories > "$said" 2>&1; then
  passed "no crate has a known fault"
elif grep -q 'failed to fetch advisory database' "$said"; then
  skipped "known faults of crates: the advisory database cannot be reached from here"
else
  failed "a crate has a known fault"
  tail -n 60 "$said"
fi
rm -f "$said"
