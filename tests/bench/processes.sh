#!/usr/bin/env bash
# Wall time and peak memory of `hardstart causes` and `hardstart next` as whole processes, over the
# example jobs: median of five runs each. Prints figures, asserts nothing.
# Usage: cargo build --release && tests/bench/processes.sh [JOB...]
set -euo pipefail
cd "$(dirname "$0")/../.."
binary=target/release/hardstart
jobs=("$@")
[ "${#jobs[@]}" -gt 0 ] || jobs=(examples/jobs/*.toml)
for command in causes next; do
    for job in "${jobs[@]}"; do
        python3 - "$binary" "$command" "$job" <<'PY'
import os, resource, statistics, subprocess, sys, time
binary, command, job = sys.argv[1:]
walls, peaks = [], []
for _ in range(5):
    begun = time.perf_counter()
    child = subprocess.Popen([binary, command, job], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    _, status, usage = os.wait4(child.pid, 0)
    walls.append(time.perf_counter() - begun)
    peaks.append(usage.ru_maxrss / 1024)
print(f"{command:7} {1000 * statistics.median(walls):7.0f} ms {max(peaks):6.0f} MB  {job}")
PY
    done
done
