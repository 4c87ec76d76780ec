#!/usr/bin/env bash
# The layout as a law: which crate may rest on which, and what pure crates must not know.
set -euo pipefail
cd "$(dirname "$0")/../.."

tree() { cargo tree --locked --prefix none --edges normal -p "$1" | awk '{print $1}' | sort -u; }
ours='^(survey|stagekey|season|figure|practice|exchange|sync|messages|handset|bindings|station)$'
broken=0

# allow CRATE "CRATE...": all that CRATE may rest on of our own, directly or through others.
allow() {
  local crate=$1 allowed=" $1 $2 " name
  for name in $(tree "$crate" | grep -E "$ours"); do
    case "$allowed" in
      *" $name "*) ;;
      *) echo "$crate rests on $name, which the layout forbids"; broken=1 ;;
    esac
  done
}
allow survey ""
allow messages "survey"
allow stagekey "survey"
allow season "survey"
allow figure "season survey"
allow practice "stagekey figure season survey"
allow exchange "figure season survey"
allow sync "survey"
allow handset "survey stagekey season figure practice exchange sync"
allow bindings "survey stagekey season figure practice exchange sync handset messages"
allow station "survey stagekey season figure practice exchange sync messages"

# Pure crates: no database, no runtime, no network, no random source, no binding generator. (Generators that are seeded
# by the caller are no source: what would be one is getrandom.)
for crate in survey stagekey season figure practice exchange sync messages; do
  if tree "$crate" | grep -E '^(uniffi|rusqlite|libsqlite3-sys|tokio|mio|hyper|axum|ureq|reqwest|getrandom|socket2)$'; then
    echo "$crate is pure and must not rest on the crates above"; broken=1
  fi
  if grep -rnE 'std::(fs|net|process|env)::|SystemTime|Instant::now|thread_rng' "rust-core/$crate/src"; then
    echo "$crate is pure and must not touch files, sockets, processes, clocks or chance"; broken=1
  fi
done

# What phones carry stays free of the station's weight.
if tree handset | grep -E '^(tokio|hyper|axum|utoipa|zstd-sys|maud|clap)$'; then
  echo "the handset must not carry the crates above"; broken=1
fi

# The library of the bindings is compared with a list, so that nothing comes along unnoticed.
if ! tree bindings | diff - <(sort -u rust-core/bindings/dependencies.txt); then
  echo "the phone's library rests on other crates than rust-core/bindings/dependencies.txt lists"; broken=1
fi
if tree bindings | grep -E '^(tokio|mio|hyper|axum|utoipa|zstd-sys|maud|clap|reqwest|ureq|openssl-sys|rustls)$'; then
  echo "the phone's library must not carry the crates above"; broken=1
fi
# Programs and tests of the workspace rest on the same features of each crate: where they do not, most crates are compiled
# once for tests and once more for programs.
features() {
  cargo tree --locked --workspace --edges "$1" --prefix none --no-dedupe --format '{p}|{f}' | sed 's/ (\*)//' | sort -u
}
if comm -23 <(features normal,build) <(features normal,build,dev) | grep .; then
  echo "a dev-dependency gives the crates above other features: name it among the dependencies of tests/fuzz"; broken=1
fi
exit $broken
