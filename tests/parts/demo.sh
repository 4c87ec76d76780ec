#!/usr/bin/env bash
# The invented season through real phones and a real station.
set -uo pipefail
cd "$(dirname "$0")/../.." || exit 2
. tests/parts/common.sh
rm -rf target/demo-tested
if demo/run --out target/demo-tested; then
  passed "every act of the season arrived once, and the station's numbers are those that were tapped"
else
  failed "the demo"
fi
