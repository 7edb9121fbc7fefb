#!/usr/bin/env bash
# docs/pictures/sound.sh PROGRAM [RESULTS]
#
# Renders the demo Sunday's scored items in the nave of the invented village church, as its plan has them, and BWV 599 on
# the invented town organ where ../shared/scores is there, into the folder RESULTS, and draws what docs/accuracy/sound.md
# speaks of: a spectrogram (sox) and the level over time (awk) of each, beside this file. Needs sox.
set -euo pipefail
program=$(realpath "$1") results=${2:-results/sound}
cd "$(dirname "$0")/../.."
mkdir -p "$results"
village=demo/village
bwv599=../shared/scores/bach-bwv599-pedalled.musicxml

# draw FILE NAME: up to 6 kHz over 90 dB; the level as dB SPL (rms of both ears, a tenth of a second at a time).
draw() {
  sox "$1" -n remix 1,2 rate 12k spectrogram -x 760 -y 257 -z 90 -a -r -o "docs/pictures/sound-$2.png"
  sox "$1" -t dat - rate 12k | awk -v name="$2" '
    /^;/ { next }
    { sum += ($2 * $2 + $3 * $3) / 2; if (++n == 1200) { level[++count] = 120 + 10 * log(sum / n + 1e-13) / log(10); n = sum = 0 } }
    END {
      width = 760; height = 200; low = 20; high = 100
      printf "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"-40 -10 %d %d\" font-family=\"sans-serif\" font-size=\"11\">\n", width + 50, height + 40
      print "<rect x=\"-40\" y=\"-10\" width=\"100%\" height=\"100%\" fill=\"white\"/>"
      for (db = low; db <= high; db += 20) {
        y = height * (high - db) / (high - low)
        printf "<path d=\"M0 %.0fh%d\" stroke=\"#ccc\"/><text x=\"-8\" y=\"%.0f\" text-anchor=\"end\">%d</text>\n", y, width, y + 4, db
      }
      every = count > 1200 ? 300 : count > 400 ? 100 : 50
      for (i = 0; i <= count; i += every) printf "<text x=\"%.0f\" y=\"%d\" text-anchor=\"middle\">%d s</text>\n", width * i / count, height + 20, i / 10
      printf "<path fill=\"none\" stroke=\"#234\" d=\""
      for (i = 1; i <= count; i++) {
        y = height * (high - level[i]) / (high - low); if (y > height) y = height
        printf "%s%.1f %.1f", i == 1 ? "M" : "L", width * (i - 0.5) / count, y
      }
      print "\"/>\n</svg>"
    }' >"docs/pictures/sound-$2.svg"
  printf '%-16s %s\n' "$2" "$(sox "$1" -n stats 2>&1 | awk '/^Pk lev dB/ { p = $4 } /^RMS lev dB/ { r = $4 } /^Length s/ { l = $3 } END { printf "%.0f s, peak %.1f dB SPL, mean %.1f dB SPL", l, 120 + p, 120 + r }')"
}

"$program" prepare $village --service $village/sunday.toml --out "$results/sunday" >/dev/null
hear() { # hear NAME ITEM SCORE [OPTION...]
  local name=$1 item=$2 score=$3
  shift 3
  "$program" hear $village "$village/music/$score.musicxml" --plan "$results/sunday/plan.json" --item "$item" \
    --out "$results/$name.flac" "$@" >"$results/$name.txt"
  draw "$results/$name.flac" "$name"
}
hear voluntary 1 voluntary-in-d
hear winchester-new 2 winchester-new
hear dundee 4 dundee
hear tallis-canon 5 tallis-canon
hear old-hundredth 6 old-hundredth
if [[ -e $bwv599 ]]; then
  "$program" hear demo/town $bwv599 --tempo 60 --out "$results/bwv599.flac" >"$results/bwv599.txt"
  draw "$results/bwv599.flac" bwv599
fi
