#!/usr/bin/env bash
# tests/layers.sh PARTS [ROOT]
#
# Reads the list of parts that the build writes (a line each: name|folder|used,used|tested with,...) and every #include "..." beneath ROOT,
# and fails when a part includes from one it does not use, when the uses run in a circle or upwards, or when the engine
# reaches for a file, a clock, a screen or a format. The arrows are those of HACKING.md: web -> desk -> jobs -> (book,
# files, engine); what a part uses, it may use through another part as well.
set -uo pipefail
parts=${1:?tests/layers.sh PARTS [ROOT]}
cd "${2:-.}" || exit 2

mapfile -t folders < <(cut -d'|' -f2 "$parts")
{
  sed 's/^/part|/' "$parts"
  for folder in "${folders[@]}"; do
    grep -nHE '^[[:space:]]*#[[:space:]]*include|(system|steady|high_resolution)_clock::now|std::(cout|cerr|random_device)' \
      "$folder"/*.[ch]pp 2>/dev/null | sed "s#^#line|$folder|#"
  done
} | awk -F'|' '
  function room(folder) { sub(/\/.*/, "", folder); return folder }
  # Higher floors may look down, never up; on a floor only engine parts see one another, and the program the desk.
  function floor(folder) {
    r = room(folder)
    return r == "engine" ? 0 : r == "files" || r == "book" ? 1 : r == "jobs" ? 2 : r == "desk" ? 3 : r == "cli" ? 4 : 5
  }
  function fault(text) { print text; faults++ }
  # Every part that can be reached from `from`; a part reached from itself is a circle.
  function reach(from, at,    list, i, n) {
    n = split(uses[at], list, ",")
    for (i = 1; i <= n; i++) {
      if (list[i] == from) { if (!(from in circle)) fault(place[from] ": " from " uses itself in a circle, by way of " at); circle[from] }
      else if (!((from, list[i]) in may)) { may[from, list[i]]; reach(from, list[i]) }
    }
  }
  # Whether the tests of `part` may measure it with `other` (TEST_LIBRARIES), or with what that one uses.
  function tested(part, other,    list, i, n) {
    n = split(tests[part], list, ",")
    for (i = 1; i <= n; i++) if (list[i] == other || (list[i], other) in may) return 1
    return 0
  }
  # A testing folder is for the tests of its own part, and of parts that use it.
  function shared_testing(folder, dir,    of) {
    of = dir
    if (!sub(/\/testing$/, "", of)) return 0
    return of == folder || (of in owner && (owner[folder], owner[of]) in may)
  }
  function prepared(    i, j, n, list) {
    ready = 1
    for (i = 1; i <= count; i++) {
      n = split(uses[names[i]], list, ",")
      for (j = 1; j <= n; j++) {
        if (!(list[j] in place)) { fault(place[names[i]] "/CMakeLists.txt: USES names " list[j] ", which is no part"); continue }
        up = floor(place[list[j]]) - floor(place[names[i]])
        if (up > 0 || (up == 0 && room(place[names[i]]) ~ /^(book|jobs|desk)$/ && room(place[list[j]]) != room(place[names[i]])))
          fault(place[names[i]] "/CMakeLists.txt: USES names " list[j] " of " place[list[j]] "/, which stands above or beside it")
      }
      reach(names[i], names[i])
    }
  }
  $1 == "part" { names[++count] = $2; place[$2] = $3; owner[$3] = $2; uses[$2] = $4; tests[$2] = $5; next }
  !ready { prepared() }
  {
    folder = $2; text = $3
    for (i = 4; i <= NF; i++) text = text "|" $i
    where = text; sub(/:[^:]*:.*/, "", where)
    line = text; sub(/^[^:]*:/, "", line); number = line; sub(/:.*/, "", number); sub(/^[^:]*:/, "", line)
    where = where ":" number
    own = text ~ /^[^:]*_(test|bench|fuzz)\.[ch]pp:/ ? 0 : 1
    if (line ~ /include[[:space:]]*"/) {
      includes++
      file = line; sub(/^[^"]*"/, "", file); sub(/".*/, "", file)
      dir = file
      if (!sub(/\/[^\/]*$/, "", dir)) dir = ""
      if (!(dir in owner)) {
        if (dir == "" || dir ~ /^\./) fault(where ": includes \"" file "\"; own headers are included by their path from the root of the project")
        else if (dir !~ /^tests/ && !(!own && shared_testing(folder, dir))) fault(where ": includes \"" file "\", which belongs to no part")
      } else if (dir != folder && !((owner[folder], owner[dir]) in may) && (own || !tested(owner[folder], owner[dir])))
        fault(where ": " owner[folder] " includes from " owner[dir] ", which its CMakeLists.txt does not use")
    } else if (own && room(folder) == "engine") {
      if (line ~ /<(fstream|iostream|filesystem|cstdio|stdio.h|unistd.h|toml\+\+|nlohmann|pugixml|SQLiteCpp|sqlite3|sndfile|samplerate|boost\/(asio|beast)|CLI|minizip)/)
        fault(where ": the engine includes " substr(line, index(line, "<")) "; files, screens and formats belong to files/, book/ and above")
      else if (line ~ /_clock::now|random_device|std::c(out|err)/)
        fault(where ": the engine asks the clock, chance or the screen; times, seeds and progress are passed in")
    }
  }
  END {
    if (!ready) prepared()
    if (count == 0) fault("no part was found in the list")
    printf "layers: %d parts, %d includes, %d faults\n", count, includes, faults
    exit faults > 0
  }'
