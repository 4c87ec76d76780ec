#!/usr/bin/env bash
# The pure crates compile for the processors of phones. Only when named: it downloads Rust's libraries for each of them.
# Linking needs Android's and Apple's own tools, and the journal a C compiler for them: not shown here.
set -uo pipefail
cd "$(dirname "$0")/../.." || exit 2
. tests/parts/common.sh

pure=(survey messages stagekey season figure practice exchange sync)
for target in aarch64-linux-android armv7-linux-androideabi aarch64-apple-ios; do
  if rustup target list --installed 2> /dev/null | grep -qx "$target" || timeout 60 rustup -q target add "$target" 2> /dev/null; then
    check "the pure crates compile for $target" cargo check --locked --target "$target" "${pure[@]/#/-p}"
  else
    skipped "the pure crates for $target: Rust's libraries for it could not be had"
  fi
done
