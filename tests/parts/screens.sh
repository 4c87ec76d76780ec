#!/usr/bin/env bash
# The pictures of all screens of the Android shell on one sheet, for looking at.
#   tests/run screens         draws them
#   tests/run screens --keep  draws them and keeps those of the list in place of the pictures before: only after looking
set -uo pipefail
exec "$(dirname "$0")/android.sh" --screens "$@"
