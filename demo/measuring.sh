#!/usr/bin/env bash
# demo/measuring.sh PROGRAM MAKER RESULTS
#
# An INVENTED measuring of three stops of the invented village organ: MAKER (build/PRESET/bin/invented_measuring) makes the
# recordings with faults planted in them, PROGRAM (calcant) measures them into the book of a copy of the organ, RESULTS gets
# all of it: the recordings, what was planted, the copy with its book, and the page to print. Some 40 MB.
set -euo pipefail
program=$1 maker=$2 results=$3
rm -rf "$results"
mkdir -p "$results/village"
cp demo/village/*.toml "$results/village/"
organ=$results/village

echo "An invented measuring of three stops of the demo's invented organ"
"$maker" "$organ" "$results"
measure() { # measure STOP FILE
  "$program" measure "$organ" --stop "$1" "$results/$2.wav" --temperature 14.5C --place "nave, third pew" \
    --decisions "$results/$2.txt" --keep --on 2026-03-14 >"$results/$2-report.txt"
}
measure "Great: Open Diapason 8" open-diapason
measure "Great: Principal 4" principal
measure "Great: Fifteenth 2" fifteenth
"$program" measure page "$organ" --out "$results/measured.html"

missed=0
found() { # found FILE WORDS: one planted fault is told
  grep -q -- "$2" "$results/$1-report.txt" || { echo "not found in $1: $2"; missed=$((missed + 1)); }
}
found open-diapason "F#3 gave no sound"
found open-diapason "E4 takes .* times as long to speak"
found open-diapason "G5 stands 9 cents flat\|G5 stands 1[0-9] cents flat\|G5 stands 8 cents flat"
found principal "F#3.*gave no sound"
found principal "C3.*gave no sound"
found principal "G4 stands 1[0-9] cents flat"
found principal "C#5 is [6-8] dB softer"
found principal "A#5 sounded on"
found fifteenth "F#3 gave no sound"
found fifteenth "C4 speaks the octave"
found fifteenth "A#4 stands 1[0-9] cents sharp\|A#4 stands 9 cents sharp"
grep -q "one groove\|its groove, pallet or action" "$results/measured.html" || { echo "the groove was not told"; missed=$((missed + 1)); }
[[ $missed -eq 0 ]] && echo "every fault that was planted was found; the page is $results/measured.html"
exit $((missed > 0))
