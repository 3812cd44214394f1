#!/usr/bin/env python3
"""The networks of three example jobs, answered by an independent library.

Give the hardstart program as the first argument. For each job the network is built in memory from
`hardstart network JOB --format json` (chances of all faults within 1e-9 of `hardstart causes
--json`, and the logarithm of the chance of everything seen), and read once more from
`--format bif` by the library's own reader, which keeps single precision (within 1e-6).
Memory is capped; jobs are narrow ones. Ends with 1 on any difference.
"""

import json
import resource
import subprocess
import sys
import tempfile

import pyagrum as gum

JOBS = [
    "examples/jobs/tb-03-blocked-filter.toml",
    "examples/jobs/tb-05-air-in-the-line.toml",
    "examples/jobs/tb-09-dripping-nozzle.toml",
]
CAP = 4 << 30
BUILT, READ = 1e-9, 1e-6


def run(program, *arguments):
    done = subprocess.run([program, *arguments], capture_output=True, text=True, check=True)
    return done.stdout


def plain(name, given):
    """The name as the interchange format has it."""
    out = "".join(c if c.isascii() and c.isalnum() else "_" for c in name)
    if not out[:1].isalpha():
        out = "x" + out
    assert out not in given, f"{name} needs a number in the file: compare another way"
    given.add(out)
    return out


def built(document):
    """The network in memory: folds as chains of running states."""
    net = gum.BayesNet()
    sizes = {}

    def node(name, size):
        net.add(gum.LabelizedVariable(name, name, size))
        sizes[name] = size

    def fill(name, parents, cells):
        # The library's own axis comes last in the list and runs fastest.
        for parent in parents:
            net.addArc(parent, name)
        table = net.cpt(name)
        i = gum.Instantiation()
        for parent in parents:
            i.add(net.variable(parent))
        i.add(net.variable(name))
        order = [*parents, name]
        for at, cell in enumerate(cells):
            left = at
            for axis in reversed(order):
                i.chgVal(axis, left % sizes[axis])
                left //= sizes[axis]
            table.set(i, cell)

    for variable in document["variables"]:
        name, local = variable["name"], variable["local"]
        own, count = len(variable["states"]), len(local["from"])
        links = [f"{name}~{n}" for n in range(count)] + [name]
        node(links[0], own)
        fill(links[0], local["drivers"], local["table"])
        for n, part in enumerate(local["from"]):
            before, after, parent = links[n], links[n + 1], part["parent"]
            width = len(local["next"]) // own
            cells = []
            for row in range(sizes[parent]):
                for state in range(own):
                    to = [0.0] * own
                    for z in range(width):
                        to[local["next"][state * width + z]] += part["rows"][row * width + z]
                    cells += to
            node(after, own)
            fill(after, [parent, before], cells)
    for n, reading in enumerate(document["likelihoods"]):
        name, most = f"reading~{n}", max(reading["values"])
        node(name, 2)
        cells = [c for v in reading["values"] for c in (v / most, 1.0 - v / most)]
        fill(name, reading["over"], cells)
    return net


def answer(net, evidence, names):
    engine = gum.LazyPropagation(net)
    engine.setEvidence(evidence)
    engine.setTargets({name for name in names if name not in evidence})
    engine.makeInference()
    chances = {name: engine.posterior(name).tolist() for name in names}
    engine = gum.LazyPropagation(net)
    engine.setEvidence(evidence)
    return chances, engine.evidenceProbability()


def compare(job, document, causes, chances, names, within, what):
    """Every fault's chance, on the newest slice of its part."""
    states = {v["name"]: v["states"] for v in document["variables"]}
    worst, count = 0.0, 0
    for cause in causes["causes"]:
        part = cause["part"] + (f":{cause['cylinder']}" if cause["cylinder"] else "")
        slices = [v["name"] for v in document["variables"] if v["name"].split("/")[0] == part]
        at = states[slices[-1]].index(cause["fault"])
        worst = max(worst, abs(chances[names[slices[-1]]][at] - cause["chance"]))
        count += 1
    print(f"{job}: {count} chances, {what}: worst difference {worst:.1e}, allowed {within:.0e}")
    return worst <= within


def check(program, job):
    import math

    causes = json.loads(run(program, "causes", "--json", job))
    document = json.loads(run(program, "network", job, "--format", "json"))
    parts = [v["name"] for v in document["variables"] if v["role"] == "part"]
    states = {v["name"]: v["states"] for v in document["variables"]}
    seen = {name: states[name].index(state) for name, state in document["seen"].items()}

    net = built(document)
    evidence = dict(seen)
    evidence |= {f"reading~{n}": 0 for n in range(len(document["likelihoods"]))}
    chances, weight = answer(net, evidence, parts)
    same = {name: name for name in parts}
    good = compare(job, document, causes, chances, same, BUILT, "built in memory")
    scale = sum(math.log(max(r["values"])) for r in document["likelihoods"])
    off = abs(math.log(weight) + scale + document["log_scale"] - causes["log_evidence"])
    print(f"{job}: log chance of everything seen: off by {off:.1e}, allowed {BUILT:.0e}")
    good &= off <= BUILT

    given = set()
    names = {v["name"]: plain(v["name"], given) for v in document["variables"]}
    with tempfile.NamedTemporaryFile("w", suffix=".bif") as file:
        file.write(run(program, "network", job, "--format", "bif"))
        file.flush()
        net = gum.loadBN(file.name)
    evidence = {names[name]: states[name][state] for name, state in
                ((n, s) for n, s in seen.items())}
    readings = [plain(f"reading_{n + 1}", given) for n in range(len(document["likelihoods"]))]
    evidence |= {name: "seen" for name in readings}
    chances, _ = answer(net, evidence, [names[p] for p in parts])
    return compare(job, document, causes, chances, names, READ, "through its reader") and good


def main():
    resource.setrlimit(resource.RLIMIT_AS, (CAP, CAP))
    print(f"pyagrum {gum.__version__}, memory capped at {CAP >> 30} GiB")
    results = [check(sys.argv[1], job) for job in JOBS]
    if not all(results):
        sys.exit("the answers differ")


main()
