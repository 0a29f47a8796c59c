#!/usr/bin/env bash
# Configures a preset once and builds the named targets (all when none is named), quietly unless something fails.
#
#   scripts/build.sh PRESET [TARGET…]
set -euo pipefail
cd "$(dirname "$0")/.."
preset=$1
shift
log=build/$preset.log
mkdir -p build
if [ ! -f "build/$preset/build.ninja" ]; then
  cmake --preset "$preset" >"$log" 2>&1 || { cat "$log"; exit 1; }
fi
echo "Building ($preset)…"
cmake --build --preset "$preset" ${@:+--target "$@"} >"$log" 2>&1 || { tail -n 100 "$log"; exit 1; }
