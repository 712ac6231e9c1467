"""Prints what music21 calls chords, one JSON object per line: a "symbol", the "notes" of one of its inversions from the lowest up, and the "root" and
"inversion" that music21 finds in them.

Source: music21.chord, root and inversion, of triads and sevenths on 15 tonics, built from interval names. music21 gets the roots of 6, m6, sus4 and
7sus4 wrong (its issues 308 and 1650), so these are left out, and so are chords with a note that needs more than a double accidental.
"""

import json

from music21 import chord, interval, pitch

TONICS = "C G D A E B F# C# F B- E- A- D- G- C-".split()
QUALITIES = {
    "": "P1 M3 P5",
    "m": "P1 m3 P5",
    "dim": "P1 m3 d5",
    "aug": "P1 M3 A5",
    "maj7": "P1 M3 P5 M7",
    "m7": "P1 m3 P5 m7",
    "7": "P1 M3 P5 m7",
    "m7b5": "P1 m3 d5 m7",
    "dim7": "P1 m3 d5 d7",
    "m(maj7)": "P1 m3 P5 M7",
    "maj7#5": "P1 M3 A5 M7",
}


def ours(name):
    return name.replace("-", "b")


for tonic in TONICS:
    for quality, names in QUALITIES.items():
        members = [interval.Interval(name).transposePitch(pitch.Pitch(tonic + "3")) for name in names.split()]
        if any(abs(member.alter) > 2 for member in members):
            continue
        for inversion in range(len(members)):
            higher = [interval.Interval("P8").transposePitch(member) for member in members[:inversion]]
            notes = [*members[inversion:], *higher]
            found = chord.Chord(notes)
            print(
                json.dumps(
                    {
                        "symbol": ours(tonic) + quality,
                        "quality": quality,
                        "notes": [ours(note.nameWithOctave) for note in notes],
                        "root": ours(found.root().name),
                        "inversion": found.inversion(),
                    }
                )
            )
