#!/usr/bin/env bash
# The iPhone shell on this machine: its models and views compiled by Swift 6 against a stand-in for SwiftUI, run over the
# real library, a whole visit told from the first tap to a real station. What passes is consistent with our stand-in;
# that it compiles in Xcode is for a person with a Mac to see (ios/CHECK.md).
#   tests/run ios            all of it
#   tests/run ios --screens  and the schematic pictures of all screens on one sheet, for looking at
#   tests/run ios --sanitize and the tests of models again under the thread sanitizer (only when named: a build of its own)
# The Debian with Swift is made below target/ at the first run (2.8 GB, about a minute and a half).
set -uo pipefail
cd "$(dirname "$0")/../.." || exit 2
. tests/parts/common.sh
need_packages build-essential || { failed "a C compiler for SQLite could not be installed"; exit 1; }

log=$(mktemp)
trap 'rm -f "$log"' EXIT
prepared=$SECONDS
ios/build-host --only-prepare > "$log" 2>&1
case $? in
  0) ;;
  69) skipped "the iPhone shell: no Swift can be had here ($(tail -n 1 "$log"))"; exit 0 ;;
  *) failed "what the iPhone shell needs could not be built"; tail -n 40 "$log"; exit 1 ;;
esac
echo "the library, its Swift and the compiler took $((SECONDS - prepared)) s"

ios/build-host > "$log" 2>&1
status=$?
read -r ran broken <<< "$(sed -nE 's/.*Executed ([0-9]+) tests?, with ([0-9]+) failures?.*/\1 \2/p' "$log" | tail -n 1)"
ran=${ran:-0} broken=${broken:-0}
cases=$(grep -cE "^Test Case '.*' failed" "$log")
passed_over=$(grep -cE "^Test Case '.*' skipped" "$log")
[ "$((ran - cases - passed_over))" -gt 0 ] && passed "tests of the iPhone shell" "$((ran - cases - passed_over))"
if [ "$status" -ne 0 ] || [ "$ran" -eq 0 ]; then
  failed "the iPhone shell: $cases of $ran tests, or the build"
  grep -E 'error:|failed|Fatal' "$log" | tail -n 60
fi
grep -E '^(taps|measured):' "$log"
[ "$passed_over" -eq 0 ] || skipped "$passed_over tests of a full or read-only storage: this machine lets nobody mount a disk"

# One story, told by each language: the journals are equal but for ids, times and what is drawn by lot.
told="$PWD/ios/target/scratch/story-swift.gz" kotlin="$PWD/android/app/target/scratch/story-kotlin.gz"
if [ -f "$kotlin" ]; then
  told="$told:$kotlin"
elif [ -f android/app/target/surefire-reports/TEST-leafturn.phone.StoryTest.xml ]; then
  failed "the story as Kotlin tells it: its part told the story and left no journal of it"
else
  skipped "the story as Kotlin tells it: the android part has not run in this folder"
fi
same_story() { LEAFTURN_STORIES="$told" cargo test -q --locked --workspace --test story; }
check "Rust and the shells tell the same story" same_story

# What only Xcode reads, without Xcode.
python=$(python_with xcode "pbxproj==4.3.0") || { failed "the parser of Xcode projects could not be installed"; exit 1; }
check "the project, the property lists and the catalogues hold together" "$python" ios/check_app.py ios/App
check "the string catalogue is what the core's messages make" "$python" ios/make_strings.py rust-core/messages/phone.toml ios/App/Leafturn/Localizable.xcstrings --check

lint() { ios/in-swift swift format lint --strict --parallel --recursive --configuration ios/.swift-format ios/Package.swift ios/App ios/Sources ios/Tests ios/LinuxStubs; }
check "swift format finds nothing to say" lint
skipped "the iPhone shell in Xcode, in a simulator and on a phone: no Mac here"
skipped "the device layer (ios/App): parsed here, compiled by nobody yet; and the script for the XCFramework"

if [ "${1:-}" = --sanitize ]; then
  # It sees Swift code alone: the library is not built for it.
  if ios/build-host --sanitize > "$log" 2>&1; then
    passed "the models under the thread sanitizer, Swift code alone"
  else
    failed "the models under the thread sanitizer"
    grep -E 'WARNING: ThreadSanitizer|SUMMARY|error:' "$log" | sort | uniq -c | head -n 40
  fi
else
  skipped "the thread sanitizer: it runs when it is named (tests/run ios --sanitize)"
fi

if [ "${1:-}" = --screens ]; then
  need_packages librsvg2-bin || { failed "rsvg-convert could not be installed"; exit 1; }
  python=$(python_with pictures "pillow==12.0.0") || { failed "the sheets need Pillow"; exit 1; }
  check "the sheets of all screens" "$python" ios/contact_sheet.py ios/target/scratch/pictures ios/target/screens
  echo "all screens, schematic: ios/target/screens"
fi
