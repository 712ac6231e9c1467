"""Prints every place on a 22-fret neck in standard tuning: [{"string", "fret", "midi", "hz"}, ...].

Source: music21.pitch, which follows scientific pitch notation and MIDI note numbers (A4 = 69 = 440 Hz).
"""

import json

from music21 import pitch

OPEN_STRINGS = ["E4", "B3", "G3", "D3", "A2", "E2"]  # string 1 sounds highest

places = []
for string, name in enumerate(OPEN_STRINGS, start=1):
    for fret in range(23):
        sounding = pitch.Pitch(name).transpose(fret)
        places.append({"string": string, "fret": fret, "midi": sounding.midi, "hz": sounding.frequency})
print(json.dumps(places))
