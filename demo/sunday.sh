#!/usr/bin/env bash
# demo/sunday.sh PROGRAM RESULTS
#
# Prepares the demo Sunday of the invented village organ into the folder RESULTS. THE LIST BELOW IS THE ONE PLACE where it
# says what is made: a line each, in the order of the service. What the commands print becomes the summary ./run shows;
# progress goes to standard error. The first command that fails ends it.
set -euo pipefail
program=$1 results=$2
organ=demo/village

make() { # make TITLE COMMAND...
  printf 'demo Sunday: %s\n' "$1" >&2
  printf '\n%s\n' "$1"
  shift
  "$@"
}
into() { # into FILE COMMAND...: what it prints is the result
  local file=$1
  shift
  "$@" >"$file"
}

echo "The demo Sunday of St Orwin, Little Marrowby: an invented church, organ and service"
make "The organ's specification" into "$results/specification.txt" "$program" spec $organ
make "The whole service, from its hymn board, with its scores marked" \
  "$program" prepare $organ --service $organ/sunday.toml --out "$results/sunday"
make "One hymn from its score, with sound to listen to" "$program" prepare $organ $organ/music/dundee.musicxml --number 58 \
  --verses 4 --bass feet --word "3: awe" --word "4: trust" --out "$results/dundee"
make "A hymn without any score" "$program" prepare $organ \
  --hymn "247 St Anne, C major, 8.6.8.6, 6 verses" --word "2: soft" --word "4: no pedal" --out "$results/st-anne"
