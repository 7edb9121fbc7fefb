# Types of one name in one namespace: two of them in one program are undefined behaviour that no compiler or linker tells.
#   awk -f tests/one_name.awk FILE.hpp FILE.cpp ...
# Prints a line for each such type and ends with 1. Namespaces are read off as clang-format lays them out.
FNR == 1 { depth = 0; hidden = 0 }
/^namespace .*\{$/ { name[++depth] = $2 == "{" ? "" : $2; hidden += $2 == "{"; next }
/^\}  \/\/ namespace/ { hidden -= name[depth] == ""; --depth; next }
/^(struct|class|enum class|union) .*\{/ {
  if (hidden) next
  type = $1 == "enum" ? $3 : $2 ~ /^alignas/ ? $3 : $2
  if (type ~ /::/) next  # what a class of its header keeps to itself
  sub(/[^A-Za-z0-9_].*/, "", type)
  full = ""
  for (d = 1; d <= depth; ++d) full = full name[d] "::"
  full = full type
  if (full in at && at[full] != FILENAME) {
    printf "%s is defined in %s and in %s\n", full, at[full], FILENAME
    twice = 1
  } else {
    at[full] = FILENAME
  }
}
END { exit twice }
