#!/usr/bin/env bash
# No type's name stands twice in a namespace (one_name.awk); first that the check can fail.
set -uo pipefail
here=$(cd "$(dirname "$0")" && pwd)
tree=$(mktemp -d)
trap 'rm -rf "$tree"' EXIT
found=$(find . \( -name build -o -name node_modules -o -name '.*' -a ! -name . \) -prune -o \
  \( -name '*.hpp' -o -name '*.cpp' \) -print)
cd "$tree" || exit 2
printf 'namespace a {\nstruct Choice {\n};\n}  // namespace a\n' >a.hpp
printf 'namespace b {\nclass Choice {\n};\nnamespace {\nstruct Own {\n};\n}  // namespace\n}  // namespace b\n' >b.hpp
printf 'namespace b {\nnamespace {\nstruct Own {\n};\n}  // namespace\nstruct Choice::Inner {\n};\n}  // namespace b\n' >b.cpp
awk -f "$here/one_name.awk" a.hpp b.hpp b.cpp || { echo 'names of their own were taken for one'; exit 1; }
sed 's/Own/Choice/; /^namespace {/d; /^}  .. namespace$/d' b.cpp >c.cpp
[[ $(awk -f "$here/one_name.awk" a.hpp b.hpp c.cpp) == 'b::Choice is defined in b.hpp and in c.cpp' ]] || {
  echo 'one name twice was not told'
  exit 1
}
cd - >/dev/null || exit 2
# shellcheck disable=SC2086
awk -f tests/one_name.awk $found
