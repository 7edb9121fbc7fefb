#!/usr/bin/env bash
# tools/format.sh [--check] [FILE...]: lays out the C++ sources by .clang-format (clang-format 14, pinned because each
# version lays out differently); with --check changes nothing and names the files that differ.
set -uo pipefail
cd "$(dirname "$0")/.." || exit 2
check=no
[[ ${1:-} == --check ]] && { check=yes; shift; }
command -v clang-format-14 >/dev/null || { echo "clang-format-14 is not here: tools/setup.sh test installs it"; exit 1; }
files=("$@")
# Without git (a tree unpacked from an archive) the folders are walked.
[[ ${#files[@]} -gt 0 ]] || mapfile -t files < <(
  find engine files book jobs cli desk tests fuzz -name '*.[ch]pp' -not -path '*/node_modules/*' 2>/dev/null | sort)
if [[ $check == no ]]; then
  clang-format-14 -i "${files[@]}"
else
  clang-format-14 --dry-run --Werror "${files[@]}" 2>&1 |
    awk -F: '/ error: / { lines[$1]++; if (lines[$1] == 1) first[$1] = $2 } /^[^ ].*: No such/ { print; bad = 1 }
      END { for (f in lines) { print f ":" first[f] ": error: not laid out by .clang-format, from here on; tools/format.sh mends it"; bad = 1 }
            exit bad }'
fi
