#!/usr/bin/env bash
# Coverage-guided byte soup: tests/fuzz/run.sh [SECONDS A TARGET] [TARGET...]
#
# Ends with 1 at the first input that panics, takes a minute (a shared machine may stall) or too much
# memory; the input is kept beside the corpus, and its name is printed. Works with the stable compiler; wants a C++ compiler.
set -euo pipefail
cd "$(dirname "$0")"

seconds="${1:-30}"
shift || true
targets=("$@")
if [ "${#targets[@]}" -eq 0 ]; then
    targets=(job_file job_lines table column_map network_file problem)
fi

triple="$(rustc -vV | sed -n 's/^host: //p')"
place="${CARGO_TARGET_DIR:-../../target}/fuzz"
mkdir -p "$place"
place="$(cd "$place" && pwd)"
# What the fuzzing engine watches: which edges of the code an input reaches.
export RUSTFLAGS="-Cpasses=sancov-module -Cllvm-args=-sanitizer-coverage-level=4 \
-Cllvm-args=-sanitizer-coverage-inline-8bit-counters -Cllvm-args=-sanitizer-coverage-pc-table \
-Ccodegen-units=1 --cfg fuzzing"
CARGO_TARGET_DIR="$place" cargo build --quiet --release --locked --target "$triple"

# What a target starts from: sound files of its own kind.
seeds() {
    case "$1" in
        job_file) echo ../../examples/jobs ;;
        network_file) echo ../../data/published ;;
        *) echo "seeds/$1" ;;
    esac
}

for target in "${targets[@]}"; do
    corpus="$place/corpus/$target"
    mkdir -p "$corpus"
    echo "-- $target, $seconds s"
    "$place/$triple/release/$target" -max_total_time="$seconds" -max_len=8192 -timeout=60 \
        -rss_limit_mb=2048 -artifact_prefix="$corpus/" -print_final_stats=1 \
        "$corpus" "$(seeds "$target")" 2>"$corpus.log" || {
        tail -40 "$corpus.log" >&2
        echo "$target: an input that breaks it is kept in $corpus" >&2
        exit 1
    }
    grep -E "number_of_executed_units|peak_rss_mb" "$corpus.log"
done
