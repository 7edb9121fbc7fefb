#!/usr/bin/env bash
# tools/vitest.sh SCRIPT: runs a script of web/package.json that is vitest, and ends with "N passed, N failed, N skipped".
set -uo pipefail
cd "$(dirname "$0")/../web" || exit 2
out=$PWD/../build/log/vitest-${1//:/-}.json
mkdir -p "$(dirname "$out")" && rm -f "$out"
status=0
npm run "$1" -- --reporter=default --reporter=json --outputFile.json="$out" || status=$?
[[ -s $out ]] && node -e '
  const r = JSON.parse(require("fs").readFileSync(process.argv[1], "utf8"));
  const failed = r.numFailedTests + (r.numFailedTests === 0 && !r.success ? 1 : 0);
  console.log(`${r.numPassedTests} passed, ${failed} failed, ${r.numPendingTests + r.numTodoTests} skipped`);' "$out"
exit $status
