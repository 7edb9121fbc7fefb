#!/usr/bin/env bash
# docs/pictures/pages.sh: the pictures of the desk's pages, cut from those that its browser tests keep (build/screenshots, by
# `npm run test:browser` in web/). Wants ImageMagick.
set -euo pipefail
cd "$(dirname "$0")/../.."
# cut FROM NAME WIDTHxHEIGHT+X+Y: what is cut out, with few enough colours to be small.
cut() { convert "build/screenshots/$1.png" -crop "$3" +repage -colors 128 "docs/pictures/$2.png"; }
cut sunday-1280-day board 1280x800+0+0
cut sunday-by-hand-1280-day by-hand 1280x880+0+1040
cut bench-820-loft bench 820x1180+0+0
cut fault-note-820 fault 820x920+0+0
cut organ-1280-day organ 1280x900+0+0
cut choosing-stops-1280-day choosing 1280x1200+0+0
