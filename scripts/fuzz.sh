#!/usr/bin/env bash
# Runs every fuzz target of a folder for some seconds, from its corpus; findings go to fuzz/corpus by hand.
#
#   scripts/fuzz.sh FOLDER SECONDS
set -euo pipefail
cd "$(dirname "$0")/.."
folder=$1 seconds=$2
found=0
for target in "$folder"/fuzz_*; do
  [ -f "$target" ] && [ -x "$target" ] || continue
  name=${target##*/fuzz_}
  scratch=$(mktemp -d)
  echo "Fuzzing $name for $seconds s"
  "$target" -max_total_time="$seconds" -timeout=10 -rss_limit_mb=2048 -verbosity=0 -print_final_stats=0 \
    -artifact_prefix="build/" "$scratch" "fuzz/corpus/$name" >"build/fuzz-$name.log" 2>&1 &
  pids[found]=$! names[found]=$name dirs[found]=$scratch
  found=$((found + 1))
  # Two cores: two targets at a time.
  if [ $((found % 2)) = 0 ]; then wait "${pids[@]: -2}" || true; fi
done
[ "$found" -gt 0 ] || { echo "No fuzz targets in $folder"; exit 1; }
failed=0
for i in "${!pids[@]}"; do
  wait "${pids[i]}" || { echo "Fuzzing ${names[i]} found something:"; tail -n 40 "build/fuzz-${names[i]}.log"; failed=1; }
  rm -rf "${dirs[i]}"
done
exit $failed
