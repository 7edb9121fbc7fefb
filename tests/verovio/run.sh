#!/usr/bin/env bash
# tests/verovio/run.sh [FILE...]: has marked scores engraved by Verovio (from npm) and fails on anything it complains of.
# Without files: the copies that the tests of files/musicxml mark, and the demo's music. Ends with "N passed, N failed".
set -uo pipefail
cd "$(dirname "$0")/../.." || exit 2
here=tests/verovio
files=("$@")
for f in "${files[@]}"; do
  [[ -r $f ]] || { echo "run.sh: $f cannot be read"; exit 2; }
done
command -v npm >/dev/null || { echo "npm is not here"; echo "0 passed, 0 failed, 1 skipped"; exit 0; }
if [[ ! -d $here/node_modules/verovio ]]; then
  (cd $here && npm ci --no-audit --no-fund --silent) || { echo "npm could not install Verovio"; echo "0 passed, 1 failed"; exit 1; }
fi
if [[ ${#files[@]} == 0 ]]; then
  program=
  for preset in release dev; do
    [[ -x build/$preset/bin/musicxml_test ]] && program=build/$preset/bin/musicxml_test && break
  done
  [[ -n $program ]] || { echo "musicxml_test is not built"; echo "0 passed, 1 failed"; exit 1; }
  kept=build/marked
  rm -rf $kept && mkdir -p $kept
  CALCANT_KEEP_MARKED=$kept "$program" --gtest_filter='MarkedAll.*' >/dev/null ||
    { echo "the marked copies are wrong themselves"; echo "0 passed, 1 failed"; exit 1; }
  shopt -s nullglob
  files=("$kept"/*.musicxml demo/village/music/*.musicxml)
fi
node $here/check.mjs "${files[@]}"
