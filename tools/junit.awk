# Counts a JUnit file as ctest writes it. First line out: passed failed skipped. Then a line for each test that did not
# pass: "FAIL <tab> name <tab> why" or "SKIP <tab> name <tab> why"; the lines of a failing gtest assertion are kept.
function plain(s) {
  gsub(/&lt;/, "<", s); gsub(/&gt;/, ">", s); gsub(/&quot;/, "\"", s); gsub(/&apos;/, "'", s); gsub(/&amp;/, "\\&", s)
  return s
}
/<testcase / {
  name = $0; sub(/.*<testcase name="/, "", name); sub(/" classname=.*/, "", name)
  status = $0; sub(/.*status="/, "", status); sub(/".*/, "", status)
  why = ""; take = 0; skipped = 0; said = ""; heard = 0
}
/<skipped message="SKIP_/ { skipped = 1 }
/<skipped message="Unable/ { why = "the test program was not built" }
/: Failure$/ { if (why == "") { take = 6 } }
/: Skipped$/ { if (why == "") { take = 2 } }
/SKIPPED: / { if (why == "") { why = $0; sub(/.*SKIPPED: /, "", why) } }
take > 0 { why = why (why == "" ? "" : " | ") $0; take-- ; if (/\[  (FAILED|SKIPPED)/) take = 0 }
/ERROR: AddressSanitizer|runtime error:|LeakSanitizer/ { if (why == "") why = $0 }
# What a program that is no gtest said, at most 12 lines of it.
{ line = $0; sub(/.*<system-out>/, "", line); if (line !~ /^\t*<|^\[|^Note: Google|^Running main/ && line != "" && heard++ < 12) said = said (said == "" ? "" : " | ") line }
/<\/testcase>/ {
  if (status == "run") passed++
  else if (skipped) { skips++; sub(/^[^|]*: Skipped \| /, "", why); sub(/ \| \[  SKIPPED.*/, "", why); rows[++n] = "SKIP\t" name "\t" plain(why) }
  else { failed++; sub(/ \| \[  FAILED.*/, "", why); rows[++n] = "FAIL\t" name "\t" plain(why != "" ? why : said != "" ? said : "it ended without a word, or ran out of time") }
}
END { print passed + 0, failed + 0, skips + 0; for (i = 1; i <= n; i++) print rows[i] }
