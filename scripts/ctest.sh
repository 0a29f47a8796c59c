#!/usr/bin/env bash
# ctest on a preset's build, two at a time; further arguments go to ctest.
#
# A few tests talk to real programs over real sockets, on machines that others use as well: up to three that fail are
# named and tried once more, alone. What a sanitizer reports is never tried again: it is a finding, however seldom.
set -euo pipefail
cd "$(dirname "$0")/.."
preset=$1
shift
export ASAN_OPTIONS=detect_stack_use_after_return=1
export UBSAN_OPTIONS=print_stacktrace=1
export LSAN_OPTIONS="suppressions=$PWD/tests/support/lsan.supp:print_suppressions=0"
export TSAN_OPTIONS="suppressions=$PWD/tests/support/tsan.supp second_deadlock_stack=1"
symbolizer=$(command -v llvm-symbolizer-16 || true)
if [ -n "$symbolizer" ]; then
  for tool in ASAN UBSAN TSAN; do export "${tool}_OPTIONS=$(printenv "${tool}_OPTIONS"):external_symbolizer_path=$symbolizer"; done
fi
run() { ctest --test-dir "build/$preset" --output-on-failure --no-tests=error "$@"; }

log=build/$preset.ctest.log
run -j "$(nproc)" "$@" 2>&1 | tee "$log" && exit 0
failed=build/$preset/Testing/Temporary/LastTestsFailed.log
[ -s "$failed" ] || exit 1
if [ "$(wc -l <"$failed")" -gt 3 ] || grep -qE '(Address|Leak|Thread|Memory)Sanitizer|runtime error:' "$log"; then exit 1; fi
mapfile -t names < <(cut -d: -f2- "$failed")
echo "Once more, alone: ${names[*]}"
# By their names: the numbers that ctest's own --rerun-failed goes by may be other tests' when it looks again.
escaped=$(printf '%s\n' "${names[@]}" | sed 's/[][\.*^$+?(){}|]/\\&/g' | paste -sd'|')
again=build/$preset.again.log
run -j 1 -R "^($escaped)\$" 2>&1 | tee "$again"
# Each of them has to have run and passed.
grep -qE "^100% tests passed, 0 tests failed out of ${#names[@]}\$" "$again"
