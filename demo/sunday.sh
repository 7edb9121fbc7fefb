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
make "The whole service on one sheet, with scores marked and sound to listen to" \
  "$program" prepare $organ --service $organ/sunday.toml --out "$results/sunday"
