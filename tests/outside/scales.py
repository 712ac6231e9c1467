"""Prints what music21 knows about scales, keys and intervals, one JSON object per line, each with a "what":

- "scale": this project's name for the scale and its tones, or null if one of them needs more than a double accidental; "sounds" are pitch
  classes from a scale class with a different spelling.
- "step": a scale, a pitch in it, a number of steps (negative: down), and the degree and pitch that they lead to.
- "interval": a pitch, letters and half steps, and the pitch that they lead to; "signs" is the number of accidentals it needs, and with more than
  two it is respelled.
- "key": a key, its sharps (negative: flats), and the names of twelve MIDI keys from the tonic up, each with whether it belongs to the key.

Source: music21.scale, music21.interval, music21.key. Scales that music21 has no class for are built from interval names with its interval arithmetic
(common practice, no source).
"""

import json
import sys

from music21 import interval, key, pitch, scale

LETTERS = "CDEFGAB"
TONICS = [letter + sign for letter in LETTERS for sign in ("", "#", "-")]
MODES = {
    "major": scale.MajorScale,
    "dorian": scale.DorianScale,
    "phrygian": scale.PhrygianScale,
    "lydian": scale.LydianScale,
    "mixolydian": scale.MixolydianScale,
    "natural minor": scale.MinorScale,
    "locrian": scale.LocrianScale,
}
# A mode's position in the list is the degree of the parent scale on which it starts.
PARENTS = {
    scale.MelodicMinorScale: [
        "melodic minor",
        "dorian b2",
        "lydian augmented",
        "lydian dominant",
        "mixolydian b6",
        "locrian natural 2",
        "altered",
    ],
    scale.HarmonicMinorScale: [
        "harmonic minor",
        "locrian natural 6",
        "ionian #5",
        "dorian #4",
        "phrygian dominant",
        "lydian #2",
        "altered bb7",
    ],
}
# Built from degrees of another kind.
SELECTED = {
    "major pentatonic": ("major", (1, 2, 3, 5, 6)),
    "minor pentatonic": ("natural minor", (1, 3, 4, 5, 7)),
    "minor 6 pentatonic": ("dorian", (1, 3, 4, 5, 6)),
    "major b6 pentatonic": ("mixolydian b6", (1, 2, 3, 5, 6)),
}
BUILT = {
    "half-whole diminished": ("P1 m2 m3 M3 A4 P5 M6 m7", lambda tonic: scale.OctatonicScale(tonic, "m2")),
    "whole-half diminished": ("P1 M2 m3 P4 d5 m6 M6 M7", lambda tonic: scale.OctatonicScale(tonic, "M2")),
    "whole tone": ("P1 M2 M3 A4 A5 m7", scale.WholeToneScale),
}
CHROMATIC = "P1 m2 M2 m3 M3 P4 A4 P5 m6 M6 m7 M7"


def name(found):
    """In this project's notation."""
    return found.nameWithOctave.replace("-", "b")


def up(start, interval_name):
    return interval.Interval(interval_name).transposePitch(start, maxAccidental=None)


def rising(found):
    """One octave of a scale, up from its tonic."""
    tonic = found.tonic
    top = up(tonic, "P8")
    pitches = found.getPitches(tonic, top, direction=scale.Direction.ASCENDING)
    return [p for p in pitches if p.ps < top.ps]


def tones(tonic):
    """Every kind of scale on a tonic: its name, its pitches, and the music21 scale with the same sound, if that is spelled differently."""
    start = pitch.Pitch(tonic + "4")
    modes = {kind: rising(found(start)) for kind, found in MODES.items()}
    for parent, kinds in PARENTS.items():
        model = rising(parent("C4"))
        for index, (kind, degree) in enumerate(zip(kinds, model, strict=True)):
            back = interval.Interval(degree, pitch.Pitch("C4"))
            found = rising(parent(back.transposePitch(start, maxAccidental=None)))
            modes[kind] = found[index:] + [up(p, "P8") for p in found[:index]]
    for kind, pitches in modes.items():
        yield kind, pitches, None
    for kind, (mode, degrees) in SELECTED.items():
        yield kind, [modes[mode][degree - 1] for degree in degrees], None
    for kind, (names, found) in BUILT.items():
        yield kind, [up(start, each) for each in names.split()], rising(found(start))


def show(what, **more):
    print(json.dumps({"what": what, **more}))


def spelled(pitches):
    return all(abs(p.alter) <= 2 for p in pitches)


for tonic in TONICS:
    for kind, pitches, sounds in tones(tonic):
        text = f"{tonic.replace('-', 'b')} {kind}"
        names = [p.name.replace("-", "b") for p in pitches] if spelled(pitches) else None
        classes = sorted(int(p.ps) % 12 for p in sounds) if sounds else None
        show("scale", scale=text, names=names, sounds=classes)
        if tonic in ("C", "F#", "E-", "A-", "A", "D") and names:
            concrete = scale.ConcreteScale(tonic=pitches[0], pitches=pitches)
            # When it walks, music21 avoids double accidentals and continues from what it wrote, so such a scale drifts.
            if [name(p) for p in rising(concrete)] != [name(p) for p in pitches]:
                print(f"{text}: no steps", file=sys.stderr)
                continue
            for origin in pitches:
                for steps in (-9, -4, -1, 1, 2, 3, 7, 8):
                    direction = scale.Direction.ASCENDING if steps > 0 else scale.Direction.DESCENDING
                    there = concrete.nextPitch(origin, direction, stepSize=abs(steps))
                    degree = concrete.getScaleDegreeFromPitch(origin)
                    show("step", scale=text, pitch=name(origin), steps=steps, degree=degree, there=name(there))

for start in TONICS + ["F##", "B--", "C##", "E--"]:
    for octave in (2, 4):
        origin = pitch.Pitch(f"{start}{octave}")
        for generic in range(1, 10):
            perfect = (generic - 1) % 7 in (0, 3, 4)
            for quality in "PAd" if perfect else "MmAd":
                for sign in ("", "-"):
                    if generic == 1 and (quality == "d" or sign):
                        continue
                    move = interval.Interval(f"{quality}{sign}{generic}")
                    there = move.transposePitch(origin, maxAccidental=None)
                    signs = abs(int(there.alter))
                    if signs > 2:
                        there = move.transposePitch(origin, maxAccidental=2)
                    letters = move.diatonic.generic.staffDistance
                    half_steps = int(move.semitones)
                    show("interval", pitch=name(origin), letters=letters, half_steps=half_steps, signs=signs, there=name(there))

for tonic in TONICS:
    for mode in ("major", "minor"):
        found = key.Key(tonic if mode == "major" else tonic.lower(), mode)
        if abs(found.sharps) > 7:
            continue
        own = {p.name for p in found.getPitches()}
        low = pitch.Pitch(tonic + "4")
        names = [up(low, each) for each in CHROMATIC.split()]
        text = f"{tonic.replace('-', 'b')} {mode}"
        marked = [{"midi": p.midi, "pitch": name(p), "own": p.name in own} for p in names]
        show("key", key=text, sharps=found.sharps, names=marked)
