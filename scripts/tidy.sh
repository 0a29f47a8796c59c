#!/usr/bin/env bash
# clang-tidy (.clang-tidy) over src/ and sim/, two files at a time; fails when it finds something.
#
#   scripts/tidy.sh            every file
#   scripts/tidy.sh src/net    files whose path matches any of these
set -euo pipefail
cd "$(dirname "$0")/.."
source scripts/packages.sh
need_packages "clang-tidy" clang-tidy-16

# clang-tidy reads the precompiled headers that the compile commands name, so those two have to be there; nothing else has.
scripts/build.sh debug rookery_pch_std rookery_pch_asio
[ $# -gt 0 ] || set -- src sim
log=build/tidy.log
echo "clang-tidy over $*"
if ! run-clang-tidy-16 -p build/debug -quiet -j "$(nproc)" "${@/#/$PWD/}" >"$log" 2>&1; then
  grep -E -A 3 '(error|warning):' "$log" || tail -n 40 "$log"
  echo "clang-tidy: $(grep -cE '(error|warning): .*\[' "$log") findings, build/tidy.log holds all"
  exit 1
fi
files=$(grep -c '^clang-tidy-16 ' "$log" || true)
[ "$files" -gt 0 ] || { echo "clang-tidy looked at no file"; exit 1; }
echo "clang-tidy: $files files, nothing found"
