#!/usr/bin/env bash
# The station's pages in a real browser: read without script, at two widths, with an independent accessibility checker.
set -uo pipefail
cd "$(dirname "$0")/../.." || exit 2
. tests/parts/common.sh
need_packages chromium fonts-dejavu-core || { failed "a browser could not be installed"; exit 1; }
command -v node > /dev/null && command -v npm > /dev/null || need_packages nodejs npm
if [ "$(node -p 'Number(process.versions.node.split(".")[0]) >= 20' 2> /dev/null)" != true ]; then
  skipped "pages: the browser's driver needs Node 20 or newer, here is $(node --version 2> /dev/null || echo none)"
  exit 0
fi
out=target/demo-tested
[ -d "$out/station" ] || demo/run --out "$out" > /dev/null || { failed "the demo, whose station is served here"; exit 1; }
cargo build -q --locked --workspace --bin leafturn || { failed "building the station"; exit 1; }
leafturn="${CARGO_TARGET_DIR:-target}/debug/leafturn"

tools=target/pages-tools
mkdir -p "$tools"
cp tests/pages/package.json tests/pages/package-lock.json "$tools/"
(cd "$tools" && npm ci --silent --no-audit --no-fund --ignore-scripts) || { failed "installing the browser's driver from npm"; exit 1; }
cp tests/pages/look.mjs "$tools/"

data=$(mktemp -d)
cp -r "$out/station/." "$data/"
"$leafturn" serve --data "$data" --listen 127.0.0.1:0 > "$data/serve.out" 2> "$data/serve.log" &
server=$!
trap 'kill $server 2>/dev/null; wait $server 2>/dev/null; rm -rf "$data"' EXIT
for _ in $(seq 100); do grep -q 'http://' "$data/serve.out" && break; sleep 0.1; done
address=$(grep -o 'http://[0-9.:]*' "$data/serve.out" | head -n 1)
[ -n "$address" ] || { failed "the station did not say where it listens"; cat "$data/serve.log"; exit 1; }
link=$("$leafturn" coordinator add "Field desk" --data "$data" | sed 's|^https\{0,1\}://[^/]*||')

node "$tools/look.mjs" "$address" "$link" "$out/pages" | while IFS= read -r line; do
  case "$line" in
    "ok "*) passed "${line#ok }" ;;
    "not ok "*) failed "${line#not ok }" ;;
    *) echo "        $line" ;;
  esac
done
[ -f "$RESULTS" ] || failed "the browser looked at no page"
