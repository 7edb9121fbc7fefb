#!/usr/bin/env bash
# bench/run.sh [PART...]
#
# Builds the release benchmarks and runs them all, or those of the parts named (bench/run.sh organ hearing). Timings on a
# shared machine mean little by themselves, so each is printed beside the first of its program, measured in the same run,
# with what else it counted. Every figure is kept in results/bench/PART.json.
set -uo pipefail
cd "$(dirname "$0")/.." || exit 2
case ${1:-} in -h | --help) sed -n '2,6p' "$0" | cut -c3-; exit 0 ;; esac
. tools/setup.sh
need build || exit 1
build release bench_programs || exit 1
mkdir -p results/bench
parts=("$@")
if [[ ${#parts[@]} == 0 ]]; then
  for program in build/release/bin/*_bench; do
    [[ -x $program ]] && program=${program##*/} && parts+=("${program%_bench}")
  done
fi
status=0
for part in "${parts[@]}"; do
  step "bench: $part" "build/log/bench-$part.log" "build/release/bin/${part}_bench" --benchmark_repetitions=5 \
    --benchmark_report_aggregates_only=true --benchmark_out="results/bench/$part.json" --benchmark_out_format=json ||
    { status=1; continue; }
  echo "$part"
  # One benchmark a few lines of JSON; the medians are taken, or the one run there was. CPU is of all its threads.
  awk -F'[:,]' '
    function value(s) { sub(/^[ "]+/, "", s); sub(/[" ]+$/, "", s); return s }
    function ns(t) { return t * (unit == "us" ? 1e3 : unit == "ms" ? 1e6 : unit == "s" ? 1e9 : 1) }
    $1 ~ /"run_name"/ { name = $0; sub(/^[^:]*: "/, "", name); sub(/",$/, "", name); kind = "" }
    $1 ~ /"repetitions"/ { if (value($2) == 1) kind = "median" }
    $1 ~ /"aggregate_name"/ { kind = value($2) }
    $1 ~ /"real_time"/ { time = value($2) }
    $1 ~ /"cpu_time"/ { cpu = value($2) }
    $1 ~ /"time_unit"/ && kind == "median" {
      unit = value($2)
      if (!first) first = ns(time)
      printf "  %-58s %10.4g %s  (CPU %.4g)  %8.3g x the first\n", name, time, unit, cpu, ns(time) / first
      counters = 1
      next
    }
    /}/ { counters = 0 }
    counters && $1 ~ /"/ { printf "      %s %.6g\n", value($1), value($2) }' "results/bench/$part.json"
done
exit $status
