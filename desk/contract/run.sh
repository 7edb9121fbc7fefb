#!/usr/bin/env bash
# desk/contract/run.sh: starts real desks on copies of the demo organ, asks every route of desk/openapi.yaml, and checks
# each answer against it; then what must be refused, two tabs, and a desk killed in the middle. Ends with "N passed, N failed".
set -uo pipefail
cd "$(dirname "$0")/../.." || exit 2
here=desk/contract
command -v npm >/dev/null || { echo "npm is not here"; echo "0 passed, 0 failed, 1 skipped"; exit 0; }
if ! cmp -s $here/package-lock.json $here/node_modules/.lock; then
  (cd $here && npm ci --no-audit --no-fund --silent && cp package-lock.json node_modules/.lock) ||
    { echo "npm could not install what the contract test needs"; echo "0 passed, 1 failed"; exit 1; }
fi
for program in "${CALCANT:-}" build/release/calcant build/dev/calcant; do
  [[ -x $program ]] && exec node $here/contract.mjs "$program"
done
echo "calcant is not built"
echo "0 passed, 1 failed"
exit 1
