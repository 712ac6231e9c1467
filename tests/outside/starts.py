"""Scores detected note starts: reads JSON lines {"starts", "heard"} in seconds, prints {"f", "precision", "recall", "late", "spread"}.

The F-measure and the matching are mir_eval's (Raffel et al., "mir_eval: a transparent implementation of common MIR metrics", 2014), with a window of 25 ms.
`late` and `spread` are the mean and standard deviation of the matched starts.
"""

import json
import sys

import mir_eval
import numpy as np

WINDOW = 0.025

for line in sys.stdin:
    take = json.loads(line)
    starts, heard = np.array(take["starts"]), np.array(take["heard"])
    f, precision, recall = mir_eval.onset.f_measure(starts, heard, window=WINDOW)
    late = [heard[j] - starts[i] for i, j in mir_eval.util.match_events(starts, heard, WINDOW)] or [0]
    figures = {"f": f, "precision": precision, "recall": recall, "late": np.mean(late), "spread": np.std(late)}
    print(json.dumps({name: float(value) for name, value in figures.items()}))
