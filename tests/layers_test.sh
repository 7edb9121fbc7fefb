#!/usr/bin/env bash
# Shows that tests/layers.sh can fail: a small tree that keeps the arrows passes, and each way of breaking them is named.
set -uo pipefail
here=$(cd "$(dirname "$0")" && pwd)
tree=$(mktemp -d)
trap 'rm -rf "$tree"' EXIT
cd "$tree" || exit 2
mkdir -p engine/low engine/mid engine/top files/text jobs
lay() {
  rm -f engine/*/* files/*/* jobs/*
  printf 'low|engine/low|\nmid|engine/mid|low\ntop|engine/top|mid\ntext|files/text|low\njobs|jobs|top,text\n' >parts
  echo '#include <vector>' >engine/low/low.hpp
  echo '#include "engine/low/low.hpp"' >engine/mid/mid.hpp
  printf '#include "engine/mid/mid.hpp"\n#include "engine/low/low.hpp"\n' >engine/top/top.cpp
  printf '#include <fstream>\n#include "engine/low/low.hpp"\n' >files/text/text.cpp
  printf '#include "files/text/text.hpp"\n#include "engine/mid/mid.hpp"\n' >jobs/jobs.cpp
}
failed=0
# expect WHAT STATUS TEXT
expect() {
  local out status=0
  out=$(bash "$here/layers.sh" parts) || status=1
  if [[ $status != "$2" || $out != *"$3"* ]]; then
    echo "$1: wanted status $2 and \"$3\", got status $status and: $out"
    failed=1
  fi
  lay
}
lay
expect 'a tree that keeps the arrows' 0 '5 parts, 6 includes, 0 faults'
echo '#include "engine/top/top.hpp"' >>engine/low/low.hpp
expect 'an include upwards' 1 'engine/low/low.hpp:2: low includes from top, which its CMakeLists.txt does not use'
echo '#include "files/text/text.hpp"' >engine/top/x_test.cpp
expect 'a test that reaches outside' 1 'engine/top/x_test.cpp:1: top includes from text'
echo '#include "files/text/text.hpp"' >engine/top/x_test.cpp
sed -i 's#^top|engine/top|mid#&|text#' parts
expect 'a test that says what it is measured with' 0 '0 faults'
echo '#include "files/text/text.hpp"' >engine/top/x_test.cpp
sed -i 's#^top|.*#&|text#' parts
expect 'a test that says what it reaches' 0 '0 faults'
echo '#include "files/text/text.hpp"' >>engine/top/top.cpp
sed -i 's#^top|.*#&|text#' parts
expect 'a source that reaches what is for its tests' 1 'engine/top/top.cpp:3: top includes from text'
echo '#include <fstream>' >>engine/mid/mid.hpp
expect 'the engine and files' 1 'engine/mid/mid.hpp:2: the engine includes <fstream>'
echo '#include <fstream>' >>engine/mid/mid_test.cpp
expect 'a test may read a file' 0 '0 faults'
echo 'auto t = std::chrono::system_clock::now();' >>engine/mid/mid.cpp
expect 'the engine and the clock' 1 'engine/mid/mid.cpp:1: the engine asks the clock'
sed -i 's#^low|engine/low|#&top#' parts
expect 'a circle' 1 'uses itself in a circle'
sed -i 's#^low|engine/low|#&text#' parts
expect 'a use upwards' 1 'engine/low/CMakeLists.txt: USES names text of files/text/, which stands above'
echo '#include "top.hpp"' >>engine/top/top.cpp
expect 'an include without its path' 1 'included by their path from the root'
echo 'x|engine/x|nothing' >>parts
expect 'a use of nothing' 1 'USES names nothing, which is no part'
exit $failed
