"""Reads what hardstart hands out with stock libraries only.

    hardstart simulate --jobs 200 --seed 1 > jobs.ndjson
    hardstart export jobs.ndjson --form long > long.csv
    hardstart export jobs.ndjson --form wide > wide.csv
    hardstart score jobs.ndjson --ndjson > scores.ndjson
    python read_jobs.py jobs.ndjson long.csv wide.csv scores.ndjson

Prints one table each: readings by check, and what the chances were worth by shop. Ends with 1 if the
tables and the jobs do not tell of the same jobs and as many readings.
"""

import json
import sys

import pandas as pd

# Text stays text; only `NA` means that nothing is there, so that an answer of "none" stays one.
TABLE = {"dtype": "string", "na_values": ["NA"], "keep_default_na": False}


def main(jobs_file, long_file, wide_file, scores_file):
    with open(jobs_file, encoding="utf-8") as lines:
        jobs = [json.loads(line) for line in lines]
    long = pd.read_csv(long_file, **TABLE)
    wide = pd.read_csv(wide_file, **TABLE)
    scores = pd.read_json(scores_file, lines=True)

    names = {job["job"] for job in jobs}
    for what, told in (("long", long), ("wide", wide)):
        if set(told["job_id"]) != names:
            sys.exit(f"the {what} table and {jobs_file} do not tell of the same jobs")
    readings = [e["reading"] for job in jobs for e in job["entry"] if "reading" in e]
    rows = long[long["property"].isin({r["check"] for r in readings})]
    if len(rows) != len(readings):
        sys.exit(f"{len(readings)} readings in {jobs_file}, {len(rows)} in {long_file}")

    numbers = long.assign(value=pd.to_numeric(long["value_num"]))
    numbers = numbers[numbers["value"].notna() & numbers["unit"].notna()]
    by_check = numbers.groupby(["property", "unit"])["value"].describe()[["count", "50%"]]
    print(f"{len(jobs)} jobs, {len(readings)} readings")
    print(by_check.rename(columns={"50%": "median"}).to_string())

    scored = scores[scores["log_score"].notna()]
    by_shop = scored.groupby("shop")["log_score"].agg(["count", "mean"])
    print(by_shop.to_string())


if __name__ == "__main__":
    if len(sys.argv) != 5:
        sys.exit(__doc__)
    main(*sys.argv[1:])
