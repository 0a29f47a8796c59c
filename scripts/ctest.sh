#!/usr/bin/env bash
# ctest on a preset's build, two at a time; further arguments go to ctest.
set -euo pipefail
cd "$(dirname "$0")/.."
preset=$1
shift
export ASAN_OPTIONS=detect_stack_use_after_return=1
export UBSAN_OPTIONS=print_stacktrace=1
export TSAN_OPTIONS="suppressions=$PWD/tests/support/tsan.supp second_deadlock_stack=1"
symbolizer=$(command -v llvm-symbolizer-16 || true)
if [ -n "$symbolizer" ]; then
  for tool in ASAN UBSAN TSAN; do export "${tool}_OPTIONS=$(printenv "${tool}_OPTIONS"):external_symbolizer_path=$symbolizer"; done
fi
exec ctest --test-dir "build/$preset" --output-on-failure --no-tests=error -j "$(nproc)" "$@"
