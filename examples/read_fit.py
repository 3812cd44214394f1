#!/usr/bin/env python3
"""Reads a fitted layer and the record of its run, with nothing but what Python (3.11 or later) brings along.

    hardstart fit jobs.ndjson --figures-out fitted.toml
    python3 examples/read_fit.py fitted.toml

Prints what moved farthest, and whether the objective ever fell.
"""

import json
import math
import pathlib
import sys
import tomllib


def main(layer):
    layer = pathlib.Path(layer)
    figures = tomllib.loads(layer.read_text(encoding="utf-8"))
    record = json.loads(layer.with_suffix(".run.json").read_text(encoding="utf-8"))
    print(f"{figures['fitted']['jobs']} jobs, figures {figures['fitted']['over'][:12]}")
    rises = zip(record["objective"], record["objective"][1:])
    print("the objective never fell" if all(b >= a for a, b in rises) else "the objective fell")
    for root in sorted(figures["root"], key=lambda r: -abs(r["shift"]))[:3]:
        low, mid, high = (math.exp(root[k]) for k in ("low", "shift", "high"))
        print(f"{root['fault']}: odds times {mid:.2f} ({low:.2f} to {high:.2f})")


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit(__doc__)
    main(sys.argv[1])
