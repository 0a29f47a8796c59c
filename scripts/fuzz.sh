#!/usr/bin/env bash
# Runs every fuzz target of a folder for some seconds each, two at a time, from its corpus. Fails when one finds
# something; the input then lies in build/ and belongs into fuzz/corpus/<name>/ with the fix.
#
#   scripts/fuzz.sh FOLDER SECONDS
set -euo pipefail
cd "$(dirname "$0")/.."
folder=$1 seconds=$2

fuzz_one() {
  local target=$1 name=${1##*/fuzz_} scratch log
  scratch=$(mktemp -d)
  log=build/fuzz-$name.log
  if "$target" -max_total_time="$seconds" -timeout=10 -rss_limit_mb=2048 -artifact_prefix=build/ \
    "$scratch" "fuzz/corpus/$name" >"$log" 2>&1; then
    echo "Fuzzing $name: nothing found, $(grep -c . "$log") lines of log, $(tail -n 1 "$log")"
    rm -rf "$scratch"
  else
    echo "Fuzzing $name found something:"
    tail -n 40 "$log"
    rm -rf "$scratch"
    return 1
  fi
}
export -f fuzz_one
export seconds

mapfile -t targets < <(find "$folder" -maxdepth 1 -name 'fuzz_*' -type f -executable | sort)
[ ${#targets[@]} -gt 0 ] || { echo "No fuzz targets in $folder"; exit 1; }
printf '%s\0' "${targets[@]}" | xargs -0 -n 1 -P 2 bash -c 'fuzz_one "$0"'
