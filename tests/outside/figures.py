"""Works out the timing of takes with Python's `statistics`: a line of JSON {"expected", "played"} in, a line {"mean", "spread", "drift", "median"} out.

All in seconds; note by note, the first expected with the first played.
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
