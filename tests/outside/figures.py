"""Computes the timing of takes with Python's `statistics`: reads JSON lines {"expected", "played"}, prints {"mean", "spread", "drift", "median"}.

All times are in seconds. Notes are paired in order: the first expected with the first played, and so on.
"""

import json
import statistics
import sys

for line in sys.stdin:
    take = json.loads(line)
    late = [played - expected for expected, played in zip(take["expected"], take["played"])]
    print(json.dumps({
        "mean": statistics.mean(late),
        "spread": statistics.stdev(late),
        "drift": 60 * statistics.linear_regression(take["expected"], late).slope,
        "median": statistics.median(late),
    }))
