#!/usr/bin/env python3
"""Times a round of expectation-maximisation beside pyAgrum: one network, the same rows, one core, one run.

    pip install -r tests/bench/requirements.txt
    cargo build --release --example em_rows
    python3 tests/bench/em_against_pyagrum.py [--rows 1000] [--missing 0.4] [--anchor-rows 100] [alarm]

Rows are drawn from the network and cells blanked at random. Two anchors: pyAgrum's own learner (its EM, so many
rounds, time by round), and a round through its engine row by row: erase, set, propagate, read the chances of every
family. Counts of the second must agree with ours to 1e-9 a row, or the run fails. Times are processor time.
"""

import argparse
import json
import os
import random
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from against_pyagrum import Anchor, case, sample, write_bif

ROOT = Path(__file__).resolve().parents[2]
SAME = 1e-9


def ours(net, rows, folder):
    bif, ndjson = f"{folder}/net.bif", f"{folder}/rows.ndjson"
    write_bif(net, bif)
    Path(ndjson).write_text("".join(json.dumps(row) + "\n" for row in rows))
    target = Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target"))
    program = os.environ.get("EM_ROWS", str(target / "release/examples/em_rows"))
    env = dict(os.environ, RAYON_NUM_THREADS="1")
    done = subprocess.run([program, bif, ndjson], env=env, capture_output=True, text=True)
    if done.returncode:
        sys.exit(done.stderr)
    return json.loads(done.stdout), json.loads(done.stderr)


def row_by_row(net, rows):
    """Counts of every family, and seconds a row."""
    import pyagrum as gum

    anchor = Anchor(net, [], "LazyPropagation")
    engine = gum.LazyPropagation(anchor.bn)
    families = {n: set(parents) | {n} for n, (_, parents, _) in net.items()}
    for family in families.values():
        engine.addJointTarget(family)
    sums = {n: None for n in net}
    begun = time.thread_time()
    for row in rows:
        engine.eraseAllEvidence()
        engine.setEvidence({n: net[n][0].index(s) for n, s in row.items()})
        engine.makeInference()
        for n, family in families.items():
            joint = engine.jointPosterior(family)
            sums[n] = joint if sums[n] is None else sums[n] + joint
    took = (time.thread_time() - begun) / len(rows)
    counts = {}
    for n, (states, parents, _) in net.items():
        order = parents + [n]
        flat, sizes = [], [len(net[v][0]) for v in order]
        total = 1
        for size in sizes:
            total *= size
        for at in range(total):
            left, states_at = at, {}
            for v, size in reversed(list(zip(order, sizes))):
                states_at[v] = left % size
                left //= size
            flat.append(sums[n][states_at])
        counts[n] = flat
    return counts, took


def learner(net, rows, folder, rounds=3):
    """Seconds of a round of the learner's own EM; None where it will not run."""
    import pyagrum as gum

    anchor = Anchor(net, [], "LazyPropagation")
    path = f"{folder}/rows.csv"
    with open(path, "w") as out:
        out.write(",".join(net) + "\n")
        for row in rows:
            cells = [f"s{net[n][0].index(row[n])}" if n in row else "?" for n in net]
            out.write(",".join(cells) + "\n")
    try:
        asked = gum.BNLearner(path, anchor.bn, ["?"])
        if hasattr(asked, "setNumberOfThreads"):
            asked.setNumberOfThreads(1)
        asked.useEMWithRateCriterion(1e-12) if hasattr(asked, "useEMWithRateCriterion") else asked.useEM(1e-12)
        for name in ("EMsetMaxIter", "setMaxIter"):
            if hasattr(asked, name):
                getattr(asked, name)(rounds)
                break
        asked.useSmoothingPrior(1e-3)
        begun = time.process_time()
        asked.learnParameters(anchor.bn.dag())
        took = time.process_time() - begun
        done = asked.EMnbrIterations() if hasattr(asked, "EMnbrIterations") else asked.nbrIterations()
        return took / max(done, 1)
    except Exception as error:  # its interface changes from version to version
        print(f"the learner did not run: {error}", file=sys.stderr)
        return None


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--rows", type=int, default=1000)
    parser.add_argument("--missing", type=float, default=0.4)
    parser.add_argument("--anchor-rows", type=int, default=100)
    parser.add_argument("networks", nargs="*", default=["alarm"])
    args = parser.parse_args()
    if hasattr(os, "sched_setaffinity"):
        os.sched_setaffinity(0, {max(os.sched_getaffinity(0))})
    good = True
    for name in args.networks:
        rng = random.Random(1976)
        net, _, _ = case(name, 1, rng)
        rows = []
        for _ in range(args.rows):
            world = sample(net, rng)
            rows.append({n: net[n][0][world[n]] for n in net if rng.random() >= args.missing})
        few = rows[: args.anchor_rows]
        with tempfile.TemporaryDirectory() as folder:
            found, _ = ours(net, few, folder)
            counts, by_row = row_by_row(net, few)
            worst = max(abs(a - b) for n in net for a, b in zip(counts[n], found["counts"][n])) / len(few)
            _, times = ours(net, rows, folder)
            own = learner(net, rows, folder)
        engine = by_row * len(rows)
        mine = times["round_us"] / 1e6
        best = min(t for t in (engine, own) if t)
        good &= worst <= SAME
        print(json.dumps({
            "network": name, "rows": len(rows), "missing": args.missing,
            "anchor_learner_s": own and round(own, 3), "anchor_row_by_row_s": round(engine, 3),
            "ours_s": round(mine, 6), "ratio": round(best / mine, 1),
            "worst_difference_a_row": worst, "agree": worst <= SAME,
        }), flush=True)
    sys.exit(0 if good else 1)


if __name__ == "__main__":
    main()
