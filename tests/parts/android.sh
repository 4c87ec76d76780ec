#!/usr/bin/env bash
# The Android shell on this machine's JVM over the real library: built against the framework alone, its screens drawn,
# walked over and tapped, a whole visit told from the first tap to a real station.
#   tests/run android            all of it
#   tests/run screens            only the pictures of all screens, on one sheet, for looking at
set -uo pipefail
cd "$(dirname "$0")/../.." || exit 2
. tests/parts/common.sh

java_home() { dirname "$(dirname "$(readlink -f "$(command -v javac)")")"; }
wanted=(build-essential aapt android-framework-res maven)
command -v javac > /dev/null || wanted+=(openjdk-17-jdk-headless)
need_packages "${wanted[@]}" || { failed "aapt2, the framework resources, Maven or a JDK could not be installed"; exit 1; }
JAVA_HOME=$(java_home)
export JAVA_HOME

built=${CARGO_TARGET_DIR:-target}
reports=android/app/target/surefire-reports
mkdir -p android/app/target
rm -rf "$reports"

only=()
[ "${1:-}" = --screens ] && only=(-Dtest=ScreensTest)
[ "${2:-}" = --keep ] && only+=(-Dkeep.pictures=true)
log=$(mktemp)
android/build-host "${only[@]}" > "$log" 2>&1
status=$?
read -r ran broken <<< "$(cat "$reports"/TEST-*.xml 2>/dev/null | sed -nE 's/.*<testsuite .* tests="([0-9]+)" errors="([0-9]+)" skipped="[0-9]+" failures="([0-9]+)".*/\1 \2 \3/p' |
  awk '{ ran += $1; broken += $2 + $3 } END { print ran + 0, broken + 0 }')"
[ "$((ran - broken))" -gt 0 ] && passed "tests of the Android shell" "$((ran - broken))"
if [ "$status" -ne 0 ] || [ "$ran" -eq 0 ]; then
  failed "the Android shell: $broken of $ran tests, or the build"
  grep -vE '^\s+at |^.\[0m' "$log" | tail -n 120
fi
rm -f "$log"
cat "$reports"/*-output.txt 2>/dev/null | grep -E '^(taps|measured):'

if [ "${1:-}" = --screens ]; then
  python=$(python_with pictures "pillow==12.0.0") || { failed "the sheet needs Pillow"; exit 1; }
  check "the sheet of all screens" "$python" android/contact_sheet.py android/app/target/scratch/pictures android/app/target/screens.png
  echo "all screens: android/app/target/screens.png"
  exit 0
fi

ignored=$(cat "$reports"/TEST-*.xml 2>/dev/null | grep -c '<skipped')
[ "$ignored" -eq 0 ] || skipped "$ignored test of a full storage: this machine lets nobody mount a disk for himself"

# What phones carry: its interface as it was agreed, its size, and nothing of the station's weight.
interface_as_kept() {
  "$built/debug/interface" "$built/phone/libleafturn_phone.so" | grep -vE '^call Leafturn\.(trip|set_wall_clock|bare_insert)\(' |
    diff -u rust-core/bindings/interface.txt - || {
    echo "the interface changed: look at the lines above, then put them into rust-core/bindings/interface.txt"
    return 1
  }
}
no_larger_than() { [ "$(stat -c %s "$1")" -le "$2" ]; }
stripped=android/app/target/libleafturn_phone.so
strip -o "$stripped" "$built/phone/libleafturn_phone.so"
check "the foreign interface is the one that was agreed" interface_as_kept
check "the library, stripped, has not grown beyond 5.2 MB" no_larger_than "$stripped" 5200000
stat -c 'measured: the library, stripped, has %s octets on the processor of this machine' "$stripped"
no_larger_than "$stripped" 3000000 || skipped "the library is to have at most 3 MB, and has more: not reached"
skipped "libraries for Android's processors: their linker is not part of this build"
skipped "the Gradle build for a phone: not exercised here"
