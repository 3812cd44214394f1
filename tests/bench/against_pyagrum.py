#!/usr/bin/env python3
"""Times the kernel beside pyAgrum: one network, one set of observations, one core, one run.

    pip install -r tests/bench/requirements.txt
    cargo build --release --example kernel_batch
    python3 tests/bench/against_pyagrum.py [--jobs 10000] [--anchor-jobs 60] [shape shape_full alarm ...]

The anchor's loop is: erase evidence, set evidence, propagate, read the marginals of all asked
nodes through its Python calls; its propagation alone is timed too. Times are processor time of
the one thread, so that other work on the machine weighs little. Its networks are built in
memory from the same numbers, for its own reader of the format rounds to single precision.
The answers of both must agree to 1e-9, or the run fails.
"""

import argparse
import gzip
import importlib.util
import itertools
import json
import math
import os
import random
import re
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
SAME = 1e-9
CLASSIC = ["alarm", "win95pts", "hailfinder", "hepar2", "andes", "pigs", "munin"]
# Row sums further off than this were rounded by their writer and are brought to one, as our reader does.
EXACT = 1e-9


def read_bif(text):
    """{name: (states, parents, rows)}; rows over the parents' states, the last parent fastest."""
    words = re.findall(r"[{}\[\](),;|]|[^\s{}\[\](),;|]+", text)
    states, families = {}, {}
    at = 0

    def until(mark):
        nonlocal at
        out = []
        while words[at] != mark:
            if words[at] != ",":
                out.append(words[at])
            at += 1
        at += 1
        return out

    while at < len(words):
        kind = words[at]
        at += 1
        if kind == "network":
            until("}")
        elif kind == "variable":
            name = words[at]
            while words[at - 1] != "]":
                at += 1
            until("{")
            states[name] = until("}")
            until("}")
        elif kind == "probability":
            at += 1
            child, *parents = [w for w in until(")") if w != "|"]
            until("{")
            rows = {}
            while words[at] != "}":
                if words[at] == "(":
                    at += 1
                    given = tuple(until(")"))
                else:
                    assert words[at] == "table" and not parents, child
                    at += 1
                    given = ()
                row = [float(w) for w in until(";")]
                total = sum(row)
                rows[given] = [c / total for c in row] if abs(total - 1) > EXACT else row
            at += 1
            joint = itertools.product(*[states[p] for p in parents])
            families[child] = (states[child], parents, [rows[given] for given in joint])
        else:
            raise ValueError(f"unexpected {kind!r}")
    return {name: families[name] for name in states}


def shape():
    """The network of data/kernel/shape.json with dense tables, as `read_bif` gives it."""
    made = json.loads((ROOT / "data/kernel/shape.json").read_text())
    net = {}
    for name, v in made.items():
        card, parents = v["card"], v["parents"]
        rows = []
        for joint in itertools.product(*[range(made[p]["card"]) for p in parents]):
            if v["kind"] == "root":
                row = v["p"]
            elif v["kind"] == "table":
                row = v["rows"][len(rows)]
            elif v["kind"] == "count":
                count = (joint[0] if len(joint) > 1 else 0) + (joint[-1] in v["bad"])
                row = [float(s == count) for s in range(card)]
            else:
                below = list(itertools.accumulate(v["leak"]))
                for state, link in zip(joint, v["z"]):
                    below = [a * b for a, b in zip(below, itertools.accumulate(link[state]))]
                below[-1] = 1.0
                row = [b - a for a, b in zip([0.0] + below, below)]
            rows.append(row)
        net[name] = ([f"s{s}" for s in range(card)], parents, rows)
    return made, net


def write_bif(net, path):
    with open(path, "w") as out:
        out.write("network bench {\n}\n")
        for name, (states, _, _) in net.items():
            out.write(f"variable {name} {{\n  type discrete [ {len(states)} ] {{ {', '.join(states)} }};\n}}\n")
        for name, (_, parents, rows) in net.items():
            if parents:
                out.write(f"probability ( {name} | {', '.join(parents)} ) {{\n")
                for given, row in zip(itertools.product(*[net[p][0] for p in parents]), rows):
                    out.write(f"  ({', '.join(given)}) {', '.join(map(repr, row))};\n")
            else:
                out.write(f"probability ( {name} ) {{\n  table {', '.join(map(repr, rows[0]))};\n")
            out.write("}\n")


def sample(net, rng):
    """States of all nodes, drawn from the network."""
    done = {}

    def draw(name):
        if name not in done:
            states, parents, rows = net[name]
            at = 0
            for p in parents:
                at = at * len(net[p][0]) + draw(p)
            done[name] = rng.choices(range(len(states)), rows[at])[0]
        return done[name]

    for name in net:
        draw(name)
    return done


def jobs_of(net, pool, count, seen, rng):
    out = []
    for _ in range(count):
        world = sample(net, rng)
        chosen = pool if seen is None else rng.sample(pool, seen)
        out.append({name: net[name][0][world[name]] for name in chosen})
    return out


def case(name, count, rng):
    """(network, jobs, asked nodes)"""
    if name in ("shape", "shape_full"):
        made, net = shape()
        asked = [n for n, v in made.items() if v["kind"] == "root" and n != "ambient"]
        signs = [n for n, v in made.items() if v["kind"] == "nmax"]
        checks = [n for n, v in made.items() if v["kind"] == "table"]
        if name == "shape":
            return net, jobs_of(net, signs + checks, count, 12, rng), asked
        # The reference jobs first; then their signs again, every third check as another engine would show it.
        reference = json.loads((ROOT / "data/kernel/shape_jobs_full_reference.json").read_text())
        given = [{n: f"s{s}" for n, s in job.items()} for job in reference[0]]
        others = jobs_of(net, checks, count - len(given), None, rng)
        for job, other in zip(itertools.cycle(given[: len(reference[0])]), others):
            given.append(job | {n: s for n, s in other.items() if rng.random() < 1 / 3})
        return net, given, asked
    spec = importlib.util.find_spec("pgmpy")
    path = Path(spec.origin).parent / "utils" / "example_models" / f"{name}.bif.gz"
    net = read_bif(gzip.open(path, "rt").read())
    names = list(net)
    seen = max(4, len(names) // 10)
    return net, jobs_of(net, names, count, min(seen, 20), rng), names


def ours(net, jobs, asked, folder):
    bif, ndjson = f"{folder}/net.bif", f"{folder}/jobs.ndjson"
    write_bif(net, bif)
    Path(ndjson).write_text("".join(json.dumps(job) + "\n" for job in jobs))
    target = Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target"))
    program = os.environ.get("KERNEL_BATCH", str(target / "release/examples/kernel_batch"))
    env = dict(os.environ, RAYON_NUM_THREADS="1")
    done = subprocess.run([program, bif, ndjson, ",".join(asked)], env=env, capture_output=True, text=True)
    if done.returncode:
        sys.exit(done.stderr)
    return [json.loads(line) for line in done.stdout.splitlines()], json.loads(done.stderr)


class Anchor:
    def __init__(self, net, asked, engine):
        import pyagrum as gum

        if hasattr(gum, "setNumberOfThreads"):
            gum.setNumberOfThreads(1)
        self.bn = gum.BayesNet("bench")
        for name, (states, _, _) in net.items():
            self.bn.add(gum.LabelizedVariable(name, name, [f"s{i}" for i in range(len(states))]))
        for name, (_, parents, _) in net.items():
            for p in parents:
                self.bn.addArc(p, name)
        for name, (_, parents, rows) in net.items():
            flat = self.bn.cpt(name)
            for joint, row in zip(itertools.product(*[range(len(net[p][0])) for p in parents]), rows):
                if parents:
                    flat[dict(zip(parents, joint))] = row
                else:
                    flat.fillWith(row)
        self.net, self.asked = net, asked
        self.engine = getattr(gum, engine)(self.bn)
        # Without targets it reckons all nodes, which takes it a thousand times as long on `shape`.
        self.engine.setTargets(set(asked))

    def run(self, job):
        """Answers, seconds of the loop, seconds of the propagation alone."""
        states = {n: self.net[n][0].index(s) for n, s in job.items()}
        begun = time.thread_time()
        self.engine.eraseAllEvidence()
        self.engine.setEvidence(states)
        before = time.thread_time()
        self.engine.makeInference()
        after = time.thread_time()
        chances = {n: self.engine.posterior(n).tolist() for n in self.asked}
        return chances, time.thread_time() - begun, after - before


def compare(name, args):
    rng = random.Random(1913)
    net, jobs, asked = case(name, args.jobs, rng)
    engines = {}
    few = jobs[: 3 if name in ("shape_full", "munin") else args.anchor_jobs]
    for engine in ["ShaferShenoy", "LazyPropagation"]:
        if (name, engine) == ("munin", "ShaferShenoy"):
            continue  # Runs out of memory.
        anchor = Anchor(net, asked, engine + ("Inference" if engine == "ShaferShenoy" else ""))
        anchor.run(few[0])
        engines[engine] = [anchor.run(job) for job in few]
    with tempfile.TemporaryDirectory() as folder:
        answers, times = ours(net, jobs, asked, folder)
    worst = 0.0
    for runs in engines.values():
        for (chances, _, _), answer in zip(runs, answers):
            for node, row in chances.items():
                worst = max([worst] + [abs(a - b) for a, b in zip(row, answer["chances"][node])])
    ok = worst <= SAME and not any(math.isnan(c) for a in answers for r in a["chances"].values() for c in r)
    loops = {e: statistics.median(r[1] for r in runs) * 1e6 for e, runs in engines.items()}
    alone = {e: statistics.median(r[2] for r in runs) * 1e6 for e, runs in engines.items()}
    best = min(loops, key=loops.get)
    print(json.dumps({
        "network": name, "jobs": len(jobs), "anchor": best,
        "anchor_us": {e: round(t, 1) for e, t in loops.items()},
        "propagation_us": {e: round(t, 1) for e, t in alone.items()},
        "ours_us": {k: round(times[k], 2) for k in ("warm", "cold", "alone")},
        "programs": times["programs"], "program_mb": round(times["program_bytes"] / 1e6, 1),
        "ratio": {k: round(loops[best] / times[k], 1) for k in ("warm", "cold", "alone")},
        "ratio_propagation": round(min(alone.values()) / times["warm"], 1),
        "worst_difference": worst, "agree": ok,
    }), flush=True)
    return ok


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--jobs", type=int, default=10_000)
    parser.add_argument("--anchor-jobs", type=int, default=60)
    parser.add_argument("networks", nargs="*", default=["shape", "shape_full"] + CLASSIC)
    args = parser.parse_args()
    if hasattr(os, "sched_setaffinity"):
        os.sched_setaffinity(0, {max(os.sched_getaffinity(0))})
    sys.setrecursionlimit(10_000)
    good = [compare(name, args) for name in args.networks]
    sys.exit(0 if all(good) else 1)


if __name__ == "__main__":
    main()
