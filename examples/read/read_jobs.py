#!/usr/bin/env python3
"""Reads what hardstart writes, with nothing but what Python brings along.

    hardstart export jobs.ndjson --form long > long.csv
    hardstart score jobs.ndjson --ndjson > scores.ndjson
    python3 examples/read/read_jobs.py jobs.ndjson long.csv scores.ndjson

Prints how many jobs, readings and scored jobs there are, readings by check, and the mean log score.
What was not tested is a state of its own and is never counted as a reading.
"""

import collections
import csv
import json
import sys


def lines(path):
    with open(path, encoding="utf-8") as source:
        return [json.loads(line) for line in source if line.strip()]


def main(jobs, table, scores):
    jobs = lines(jobs)
    findings = collections.Counter(
        entry["finding"]["fault"] for job in jobs for entry in job["entry"] if "finding" in entry
    )
    with open(table, encoding="utf-8", newline="") as source:
        rows = list(csv.DictReader(source))
    measured = collections.Counter(row["property"] for row in rows if row["state"] == "measured")
    scores = [line for line in lines(scores) if line["log_score"] is not None]
    print(f"{len(jobs)} jobs, {len(rows)} rows, {len(scores)} scored")
    for name, n in measured.most_common(3):
        print(f"measured {name} {n}")
    for name, n in sorted(findings.items())[:3]:
        print(f"found {name} {n}")
    total = sum(line["weight"] for line in scores)
    mean = sum(line["weight"] * line["log_score"] for line in scores) / total
    print(f"log score {mean:.3f}")


if __name__ == "__main__":
    if len(sys.argv) != 4:
        sys.exit(__doc__)
    main(*sys.argv[1:])
