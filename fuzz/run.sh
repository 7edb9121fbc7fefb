#!/usr/bin/env bash
# fuzz/run.sh [SECONDS] [TARGET...]
#
# Builds the fuzz targets (preset asan, which the sanitizer tests share) and runs each, or those named, such as note_fuzz,
# for SECONDS, 30 unless said, from its seeds in fuzz/seeds/ and from what earlier runs found (build/fuzz/corpus). An
# input that breaks a target is kept in build/fuzz/broken/ and its place printed. The first run of a fresh clone makes the
# same tries each time, so that a commit's test does not hang on luck; each later one goes on from what was found. Ends
# with "N passed, N failed"; the exit status is that of the count.
set -uo pipefail
cd "$(dirname "$0")/.." || exit 2
seconds=${1:-30}
[[ $seconds =~ ^[0-9]+$ ]] || { sed -n '2,9p' "$0" | cut -c3-; exit 2; }
shift $(($# > 0))

built=build/asan
kept=build/fuzz
mkdir -p $kept
log=$kept/run.log
if ! { cmake --preset asan && cmake --build --preset asan --target fuzzers; } >"$log" 2>&1; then
  grep -E 'error|Error|FAILED' "$log" | head -n 20
  echo "fuzz: the targets did not build; all of it is in $log"
  echo "0 passed, 1 failed"
  exit 1
fi

targets=("$@")
[[ ${#targets[@]} -gt 0 ]] || mapfile -t targets < <(grep . $built/fuzzers.txt)
passed=0 failed=0
for target in "${targets[@]}"; do
  seeds=fuzz/seeds/${target%_fuzz}
  own=$kept/corpus/$target
  mkdir -p "$own" "$kept/broken"
  from=("$own")
  [[ -d $seeds ]] && from+=("$seeds")
  if "$built/bin/$target" -seed=1 -max_total_time="$seconds" -timeout=20 -rss_limit_mb=3000 -print_final_stats=1 \
      -artifact_prefix="$kept/broken/$target-" "${from[@]}" >"$kept/$target.log" 2>&1; then
    tries=$(awk '/stat::number_of_executed_units/ { print $2 }' "$kept/$target.log")
    echo "fuzz: $target: ${tries:-?} inputs in $seconds s, none broke it"
    passed=$((passed + 1))
  else
    echo "fuzz: $target broke: $(grep -m 1 -E 'ERROR|runtime error|SUMMARY' "$kept/$target.log")"
    echo "      the input: $(sed -n 's/.*Test unit written to //p' "$kept/$target.log" | tail -n 1)"
    echo "      the whole story: $kept/$target.log"
    failed=$((failed + 1))
  fi
done
echo "$passed passed, $failed failed"
[[ $failed == 0 ]]
