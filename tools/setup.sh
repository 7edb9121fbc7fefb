#!/usr/bin/env bash
# What ./run, ./test and the other scripts share: installing what is missing, and telling what is going on.
#
#   . tools/setup.sh                 use the functions below, from the project's root
#   tools/setup.sh build test ...    install these groups of packages.txt and nothing else
#
# Everything installed comes from Debian's archive or the npm registry. Once it is here, nothing reaches for the network.

say() { printf '%s\n' "$*" >&2; }

# step WHAT LOG COMMAND...: runs the command with its output in LOG, telling every few seconds how far it is. When it
# fails, says so in one sentence, with the last lines of the log and where the whole of it is.
step() {
  local what=$1 log=$2 begin=$SECONDS status=0 watcher
  shift 2
  mkdir -p "$(dirname "$log")"
  : >"$log"
  _watch "$what" "$log" &
  watcher=$!
  "$@" >"$log" 2>&1 </dev/null || status=$?
  kill "$watcher" 2>/dev/null
  wait "$watcher" 2>/dev/null
  [[ -t 2 ]] && printf '\r\033[K' >&2
  if [[ $status != 0 ]]; then
    say "$what: failed (exit status $status). The last lines of $log, where the whole of it is:"
    { grep -E -A3 '(error|Error|ERR!|FAILED|^E):?' "$log" | tail -n 25 | grep . || tail -n 15 "$log"; } | sed 's/^/    /' >&2
  elif ((SECONDS - begin >= 2)); then
    say "$what: done in $((SECONDS - begin)) s"
  fi
  return "$status"
}

_watch() {
  local begin=$SECONDS pause=15 line
  [[ -t 2 ]] && pause=1
  # The sleep holds no pipe of ours open when the watcher is ended.
  while sleep $pause </dev/null >/dev/null 2>&1 && kill -0 $$ 2>/dev/null; do
    line=$(tr '\r' '\n' <"$2" | tail -n 1 | cut -c1-70)
    if [[ -t 2 ]]; then printf '\r\033[K%s: %d s  %s' "$1" $((SECONDS - begin)) "$line" >&2
    else say "  $1: $((SECONDS - begin)) s  $line"; fi
  done
}

# packages_of GROUP...: the packages those groups of packages.txt name.
packages_of() {
  awk -v groups=" $* " '/^\[/ { wanted = index(groups, " " substr($1, 2, length($1) - 2) " ") } /^[a-z0-9]/ && wanted { print $1 }' packages.txt
}

# missing_of PACKAGE...: those that are not installed.
missing_of() {
  local here
  here=$(dpkg-query -W -f='${db:Status-Status} ${Package}\n' "$@" 2>/dev/null | awk '$1 == "installed" { print $2 }')
  printf '%s\n' "$@" | grep -vxF "${here:-none}" || true
}

# need GROUP...: installs what is missing of those groups.
need() {
  local missing root=()
  if ! command -v dpkg-query >/dev/null; then
    say "set-up: this is not Debian, so nothing was installed; what is needed is listed in packages.txt"
    return 0
  fi
  # shellcheck disable=SC2046
  mapfile -t missing < <(missing_of $(packages_of "$@") | grep .)
  [[ ${#missing[@]} -gt 0 ]] || return 0
  if [[ $(id -u) != 0 ]]; then
    if command -v sudo >/dev/null && { sudo -n true 2>/dev/null || { [[ -t 0 ]] && sudo -v; }; }; then root=(sudo)
    else
      say "set-up: ${#missing[@]} Debian packages are missing and installing them needs root. As root, do"
      say "    apt-get install --no-install-recommends ${missing[*]}"
      say "and start this again."
      return 1
    fi
  fi
  grep -q '^12' /etc/debian_version 2>/dev/null ||
    say "set-up: Calcant is built and tested on Debian 12; this is another release, where some packages may be named otherwise"
  local apt=("${root[@]}" env DEBIAN_FRONTEND=noninteractive apt-get -o DPkg::Lock::Timeout=300 -o Acquire::Retries=3 -y)
  step "set-up: reading Debian's list of packages" build/log/apt.log "${apt[@]}" update || {
    say "set-up: Debian's archive was not reached, and these packages are missing: ${missing[*]}"
    say "set-up: see that this machine is on the network and start this again."
    return 1
  }
  step "set-up: installing ${#missing[@]} Debian packages ($*)" build/log/apt.log \
    "${apt[@]}" install --no-install-recommends "${missing[@]}" || {
    say "set-up: the packages could not be installed; mend what is said above (often: no network, no room on the disk) and start this again."
    return 1
  }
}

# Node 20.19 or newer is what the pages are built with.
node_is_new() {
  local major minor
  IFS=. read -r major minor _ < <(node --version 2>/dev/null | tr -d v)
  [[ -n ${major:-} ]] && ((major > 20 || (major == 20 && minor >= 19)))
}

# need_node: puts a new enough node and npm on PATH: this machine's own, or the pinned ones of tools/node.
need_node() {
  local own=$PWD/.toolchain/node_modules
  if node_is_new && command -v npm >/dev/null; then return 0; fi
  if ! cmp -s tools/node/package-lock.json .toolchain/node_modules/.lock; then
    command -v npm >/dev/null || need web || return 1
    mkdir -p .toolchain && cp tools/node/package.json tools/node/package-lock.json .toolchain/ || return 1
    step "set-up: fetching a newer Node from the npm registry" build/log/node.log \
      bash -c 'cd .toolchain && npm ci --no-audit --no-fund && cp package-lock.json node_modules/.lock' || {
      say "set-up: Node could not be fetched; see that the npm registry is reached and start this again."
      return 1
    }
  fi
  # Debian's npm does not link the fetched node into .bin, so its own folder goes first.
  PATH=$(printf '%s:' "$own"/node-linux-*/bin)$own/.bin:$PATH
  hash -r
  node_is_new || { say "set-up: there is no Node for this machine ($(uname -m)) on the npm registry; put Node 20.19 or newer on PATH"; return 1; }
}

# need_pages: the packages of web/, as its lock file names them.
need_pages() {
  need_node || return 1
  cmp -s web/package-lock.json web/node_modules/.lock && return 0
  step "set-up: fetching the pages' packages from the npm registry" build/log/npm.log \
    bash -c 'cd web && npm ci --no-audit --no-fund && cp package-lock.json node_modules/.lock' || {
    say "set-up: the pages' packages could not be fetched; see that the npm registry is reached and start this again."
    return 1
  }
}

# build_pages: web/dist, made again only when something in web/ has changed.
build_pages() {
  [[ -f web/package.json ]] || return 0
  need_pages || return 1
  local now
  now=$(find web \( -name node_modules -o -name dist \) -prune -o -type f -print0 | sort -z | xargs -0 sha256sum | sha256sum)
  [[ -d web/dist && $now == "$(cat build/pages.sum 2>/dev/null)" ]] && return 0
  step "building the pages" build/log/pages.log bash -c 'cd web && npm run build' || return 1
  printf '%s\n' "$now" >build/pages.sum
}

# build PRESET TARGET [OPTION...]: configures where needed and builds, with as many jobs as cores and memory allow.
build() {
  local preset=$1 target=$2 jobs
  shift 2
  jobs=$(awk -v cores="$(nproc)" '/^MemAvailable/ { n = int($2 / 1e6); print n < 1 ? 1 : n < cores ? n : cores }' /proc/meminfo)
  step "configuring ($preset)" "build/log/$preset-configure.log" cmake --preset "$preset" || return 1
  NINJA_STATUS='[%f/%t] ' step "building ($preset)" "build/log/$preset.log" \
    cmake --build --preset "$preset" --target "$target" -j "${jobs:-1}" -- "$@"
}

if [[ ${BASH_SOURCE[0]} == "$0" ]]; then
  cd "$(dirname "$0")/.." || exit 2
  [[ $# -gt 0 ]] || { sed -n '2,7p' "$0" | cut -c3-; exit 2; }
  need "$@"
fi
