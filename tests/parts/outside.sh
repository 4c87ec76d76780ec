#!/usr/bin/env bash
# Files and documents we write, opened by programs that others wrote, and the journal read a second time in Python.
set -uo pipefail
cd "$(dirname "$0")/../.." || exit 2
. tests/parts/common.sh
need_packages sqlite3 python3 python3-venv || { failed "sqlite3 and python3 could not be installed"; exit 1; }
out=target/demo-tested
[ -f "$out/report/report.json" ] || demo/run --out "$out" > /dev/null || { failed "the demo, whose files are read here"; exit 1; }

for file in "$out"/phones/*/journal.sqlite "$out"/station/station.sqlite; do
  check "sqlite3 finds ${file#"$out"/} whole" sh -c "[ \"\$(sqlite3 'file:$file?mode=ro' 'PRAGMA integrity_check')\" = ok ]"
done
check "hash chains computed again with hashlib" python3 tests/outside/journal.py chains "$out"/station/station.sqlite
check "totals recounted from the journal by hand are the report's" sh -c \
  "python3 tests/outside/journal.py recount $out/station/station.sqlite > $out/recount.json && python3 tests/outside/same_totals.py $out/recount.json $out/report/report.json"

if python=$(python_with documents openapi-spec-validator==0.7.2 geojson-validator==0.7.0 lxml==6.1.3); then
  check "the OpenAPI document is valid (openapi-spec-validator)" "$python" -m openapi_spec_validator "$out/openapi.json"
  check "the sites' GeoJSON is valid (geojson-validator)" "$python" tests/outside/geojson_valid.py "$out/report/sites.geojson"
  check "figures are well-formed SVG with title and description (lxml)" "$python" tests/outside/svg_accessible.py "$out"/report/*.svg
else
  skipped "documents: the validators could not be installed from PyPI"
fi
