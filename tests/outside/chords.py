"""Prints what others read chord symbols as, one JSON object a line, each with a "what":

- "chord": a chord symbol, the kind that it has there, its tones by name (null for one with more than a double accidental) and by pitch class.
- "shorthand": a quality in the shorthand of Harte et al. (ISMIR 2005), and the half steps above the root that it stands for.
- "degree": half steps above the root, within an octave.

Sources: music21.harmony, each of its kinds in each of its spellings, and altered, added and left-out degrees where it reads them right: it loses
the alterations of `13b9` and `13#11`, and refuses alt, triangles, brackets, `6/9`, `9sus`. mir_eval.chord, which reads the shorthand and degrees of Harte et al.
"""

import json

from mir_eval import chord
from music21 import harmony

ROOTS = "C G D A E B F# C# F B- E- A- D- G- C-".split()
# Beside music21's own kinds.
MORE = (
    "7b9 7#9 7b5 7#5 7#11 7b13 7b9b13 7b9#9 7b9#11 7#9#5 7b5b9 9#11 9b13 9b5 maj7#11 maj7#5 maj7b5 m7b9 m9b5 m7#5 add9 madd9 add11 add#11 "
    "7add13 7susb9 7sus4b9 6add9 m7add11 7omit5 maj7omit3 7b9omit5"
).split()
# Augmented sixths and others that are not symbols of chords over a line.
NO_SYMBOLS = {"Neapolitan", "Italian", "French", "German", "pedal", "Tristan"}
DEGREES = "1 2 b3 3 4 b5 5 #5 6 bb7 b7 7 b9 9 #9 11 #11 b13 13".split()


def show(what, **more):
    print(json.dumps({"what": what, **more}))


suffixes = [
    (kind, suffix)
    for kind, (_, suffixes) in harmony.CHORD_TYPES.items()
    if kind not in NO_SYMBOLS
    for suffix in suffixes
]
suffixes += [("", suffix) for suffix in MORE]
for root in ROOTS:
    for kind, suffix in suffixes:
        pitches = harmony.ChordSymbol(root + suffix).pitches
        names = [p.name.replace("-", "b") if abs(p.alter) <= 2 else None for p in pitches]
        classes = [int(p.ps) % 12 for p in pitches]
        show("chord", symbol=root.replace("-", "b") + suffix, suffix=suffix, kind=kind, names=names, classes=classes)

for shorthand in chord.QUALITIES:
    if shorthand:
        _, bits, _ = chord.encode(f"C:{shorthand}", reduce_extended_chords=True)
        show("shorthand", shorthand=shorthand, half_steps=[step for step, here in enumerate(bits) if here])

for degree in DEGREES:
    show("degree", degree=degree, half_steps=int(chord.scale_degree_to_semitone(degree)) % 12)
