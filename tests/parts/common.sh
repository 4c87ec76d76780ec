# What the parts of the tests share. Sourced.
# A part writes lines "passed N", "failed N what" and "skipped N why" to $RESULTS.

RUST_NEEDED=1.95
# For rehearsals, which play the same thing many thousand times: our own code optimised too. A setting and not a profile of
# its own, for then all that our code rests on is built once for tests and rehearsals.
# And always of the whole workspace (`--workspace --bin NAME`): of a crate alone its dependencies may have other features, and
# are built once more.
# Always with the mistakes that can be planted, of which none is unless a rehearsal plants it: one build serves those that
# plant and those that do not. What is shipped has no such switch, and the tests of the crates run that.
QUICK=(--config profile.dev.opt-level=2 --features crash/seeded-defects,worlds/seeded-defects)

# among_the_crates NAME COMMAND...: a check that is also among the tests of the crates. Where all parts are run, those show it.
among_the_crates() {
  if [ "${TOGETHER:-no}" = yes ]; then echo "        among the tests of the crates: $1"; else check "$@"; fi
}

heading() { printf '\n== %s ==\n' "$1"; }
passed() { echo "passed ${2:-1} $1" >> "$RESULTS"; echo "ok      $1"; }
failed() { echo "failed 1 $1" >> "$RESULTS"; echo "FAILED  $1"; }
skipped() { echo "skipped 1 $1" >> "$RESULTS"; echo "skipped $1"; }

# check NAME COMMAND...: one test that is a command; its output is shown only when it fails.
check() {
  local name=$1 log began=$SECONDS; shift
  log=$(mktemp)
  if "$@" > "$log" 2>&1; then passed "$name"; else failed "$name"; tail -n 60 "$log"; fi
  [ $((SECONDS - began)) -lt 20 ] || echo "        took $((SECONDS - began)) s"
  rm -f "$log"
}

check_rust() {
  local have
  have=$(rustc --version 2>/dev/null | awk '{print $2}')
  if [ -z "$have" ]; then
    echo "Rust is not installed; Leafturn needs Rust $RUST_NEEDED or newer." >&2
    return 1
  fi
  if [ "$(printf '%s\n%s\n' "$RUST_NEEDED" "$have" | sort -V | head -n 1)" != "$RUST_NEEDED" ]; then
    echo "Rust $have is installed; Leafturn needs Rust $RUST_NEEDED or newer." >&2
    return 1
  fi
}

# need_packages NAME...: Debian packages by name, installed when missing.
need_packages() {
  local missing=() name
  for name in "$@"; do
    dpkg-query -W -f='${Status}' "$name" 2>/dev/null | grep -q 'ok installed' || missing+=("$name")
  done
  [ ${#missing[@]} -eq 0 ] && return 0
  local as_root=()
  [ "$(id -u)" -eq 0 ] || as_root=(sudo)
  # One part at a time: apt refuses a second.
  mkdir -p target
  (
    flock 9
    "${as_root[@]}" apt-get update -qq &&
      DEBIAN_FRONTEND=noninteractive "${as_root[@]}" apt-get install -yqq --no-install-recommends "${missing[@]}" > /dev/null
  ) 9> target/apt.lock
}

# python_with NAME REQUIREMENT...: a virtual environment of that name with these packages; prints its python.
python_with() {
  local home="target/python/$1"; shift
  if [ ! -f "$home/.ready" ] || [ "$(cat "$home/.ready")" != "$*" ]; then
    rm -rf "$home"
    python3 -m venv "$home" && "$home/bin/pip" install -q --disable-pip-version-check "$@" >&2 || return 1
    echo "$*" > "$home/.ready"
  fi
  echo "$home/bin/python"
}
