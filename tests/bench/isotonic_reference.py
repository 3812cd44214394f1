#!/usr/bin/env python3
"""Makes data/isotonic_reference.json: rising curves by scikit-learn, to hold ours against.

    pip install scikit-learn==1.9.1
    python3 tests/bench/isotonic_reference.py > data/isotonic_reference.json

Points are unsorted, with weights and ties; the curve is asked at places between, on and beyond them.
"""

import json
import random

import sklearn
from sklearn.isotonic import IsotonicRegression


def one(rng, n, tied, rising):
    x = [round(rng.random(), 1 if tied else 6) for _ in range(n)]
    y = [float(rng.random() < (v if rising else 1 - v)) for v in x]
    weight = [round(0.2 + rng.random(), 3) for _ in range(n)]
    model = IsotonicRegression(out_of_bounds="clip").fit(x, y, sample_weight=weight)
    asked = sorted({round(i / 23, 6) for i in range(24)} | {-0.5, 1.5, x[0]})
    return {"points": [list(p) for p in zip(x, y, weight)], "asked": asked, "curve": model.predict(asked).tolist()}


def main():
    rng = random.Random(1955)
    cases = [one(rng, n, tied, rising) for n in (1, 2, 7, 40, 200) for tied in (False, True) for rising in (True, False)]
    print(json.dumps({"source": f"scikit-learn {sklearn.__version__}, tests/bench/isotonic_reference.py", "cases": cases}))


if __name__ == "__main__":
    main()
