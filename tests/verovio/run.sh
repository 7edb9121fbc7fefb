#!/usr/bin/env bash
# tests/verovio/run.sh [FILE...]: has marked scores engraved by Verovio (from npm) and fails on anything it complains of.
# Without files: the copies that the tests of files/musicxml mark, the demo's music, and the demo's as plans mark it. Ends with
# "N passed, N failed".
set -uo pipefail
cd "$(dirname "$0")/../.." || exit 2
here=tests/verovio
files=("$@")
planned=()
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
  if [[ -x build/$preset/calcant ]]; then
    for organ in village chapel; do
      for score in demo/village/music/*.musicxml; do
        name=$organ-$(basename "$score" .musicxml)
        "build/$preset/calcant" prepare "demo/$organ" "$score" --no-preview --out "$kept/$name" >/dev/null &&
          mv "$kept/$name/marked.musicxml" "$kept/planned-$name.musicxml" ||
          { echo "$score could not be prepared on the $organ organ"; echo "0 passed, 1 failed"; exit 1; }
      done
    done
  fi
  shopt -s nullglob
  planned=("$kept"/planned-*.musicxml)
  files=("$kept"/[!p]*.musicxml demo/village/music/*.musicxml)
fi
node $here/check.mjs "${files[@]}" --apart "${planned[@]}"
