#!/usr/bin/env bash
# Sets a benchmark of this tree against the same of another revision: both are built (release), their runs alternate, so that
# a machine that others use as well is as noisy for the one as for the other. Prints the ratio of the medians of CPU time.
#
#   scripts/compare.sh REVISION BENCHMARK [ROUNDS [FILTER]]
#   scripts/compare.sh HEAD~1 motion_bench 7 'Detector'
set -euo pipefail
cd "$(dirname "$0")/.."
[ $# -ge 2 ] || { sed -n 2,7p "$0"; exit 2; }
revision=$1 name=$2 rounds=${3:-5} filter=${4:-.}
other=build/compare/tree
out=build/compare/$name

git worktree remove --force "$other" 2>/dev/null || true
git worktree prune
git worktree add --detach --force "$other" "$revision" >/dev/null
trap 'git worktree remove --force "$other"' EXIT
scripts/build.sh release "$name"
"$other/scripts/build.sh" release "$name"

rm -rf "$out"
mkdir -p "$out"
program() { find "$1/build/release/bench" -name "$name" -type f -executable | head -n 1; }
for ((i = 0; i < rounds; ++i)); do
  for side in then now; do
    tree=.
    [ "$side" = now ] || tree=$other
    "$(program "$tree")" --benchmark_filter="$filter" --benchmark_format=json >"$out/$side.$i.json" 2>/dev/null
  done
done
python3 - "$out" <<'PY'
import glob, json, statistics, sys

def times(side):
    found = {}
    for path in glob.glob(f"{sys.argv[1]}/{side}.*.json"):
        with open(path) as f:
            for one in json.load(f)["benchmarks"]:
                if one.get("run_type") == "iteration":
                    found.setdefault(one["name"], []).append((one["cpu_time"], one["time_unit"]))
    return found

then, now = times("then"), times("now")
if not then.keys() & now.keys():
    sys.exit("no benchmark is in both revisions under this filter")
print(f"{'benchmark':50} {'then':>12} {'now':>12}  now/then")
for name in now:
    if name not in then:
        continue
    a = statistics.median(t for t, _ in then[name])
    b = statistics.median(t for t, _ in now[name])
    print(f"{name:50} {a:9.1f} {then[name][0][1]} {b:9.1f} {now[name][0][1]}  {b / a:.3f}")
PY
