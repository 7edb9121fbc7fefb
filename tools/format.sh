#!/usr/bin/env bash
# tools/format.sh [--check] [FILE...]: lays out the C++ sources by .clang-format (clang-format 14, pinned because each
# version lays out differently); with --check changes nothing and names the lines that differ.
set -uo pipefail
cd "$(dirname "$0")/.." || exit 2
how=(-i)
[[ ${1:-} == --check ]] && { how=(--dry-run --Werror); shift; }
command -v clang-format-14 >/dev/null || { echo "clang-format-14 is not here: tools/setup.sh test installs it"; exit 1; }
files=("$@")
# Without git (a tree unpacked from an archive) the folders are walked.
[[ ${#files[@]} -gt 0 ]] || mapfile -t files < <(
  find engine files book jobs cli desk tests fuzz -name '*.[ch]pp' -not -path '*/node_modules/*' 2>/dev/null | sort)
clang-format-14 "${how[@]}" "${files[@]}"
