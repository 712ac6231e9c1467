"""Reads chords, one JSON object per line with "pitches" (in music21's notation) and "half_steps", and prints what music21 hears in each: the pitch class of
the root, the inversion, all pitch classes, and the keys of the chord transposed by the half steps.

Source: music21.chord. It finds wrong roots for sixth and suspended chords.
"""

import json
import sys

from music21 import chord

for line in sys.stdin:
    case = json.loads(line)
    found = chord.Chord(case["pitches"])
    moved = found.transpose(case["half_steps"])
    print(
        json.dumps(
            {
                "root": found.root().pitchClass,
                "inversion": found.inversion(),
                "classes": sorted({p.pitchClass for p in found.pitches}),
                "moved": [int(p.ps) for p in moved.pitches],
            }
        )
    )
