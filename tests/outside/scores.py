"""Prints what music21 reads in MusicXML files: a line of JSON for each file.

    scores.py list          the files that the music21 package carries, a path a line
    scores.py read FILES    what is in these files

For each staff: the index of its part, its number, whether no two notes ever sound together, and its notes: the index of the measure, the
offset in it and the length in quarter notes (ties joined), and the MIDI number. Grace notes and chord symbols are left out.
"""

import json
import sys
import warnings
from pathlib import Path

import music21

warnings.filterwarnings("ignore")


def files():
    top = Path(music21.__file__).parent
    kinds = {".xml", ".mxl", ".musicxml"}
    return sorted(path for path in top.rglob("*") if path.suffix in kinds and path.is_file())


def notes_of(part):
    """All notes with the index of their measure, and whether no two sound together."""
    sounding = part.toSoundingPitch(inPlace=False) if part.atSoundingPitch is not True else part
    joined = sounding.stripTies(inPlace=False)
    notes = []
    for index, measure in enumerate(joined.getElementsByClass(music21.stream.Measure)):
        for note in measure.recurse().notes:
            if note.duration.isGrace or isinstance(note, music21.harmony.Harmony):
                continue
            offset = note.getOffsetInHierarchy(measure)
            pitches = note.pitches if note.pitches else [None]
            for pitch in pitches:
                key = None if pitch is None else pitch.ps
                notes.append([index, offset, note.duration.quarterLength, key])
    notes.sort(key=lambda note: (note[0], note[1]))
    alone = True
    for before, after in zip(notes, notes[1:]):
        if before[0] == after[0] and before[1] + before[2] > after[1]:
            alone = False
    return [[index, str(offset), str(length), key] for index, offset, length, key in notes], alone


def read(path):
    score = music21.converter.parse(path, forceSource=True)
    if isinstance(score, music21.stream.Opus):
        return {"file": path, "error": "several scores"}
    index, staves = -1, []
    for part in score.parts:
        # Several staves of a part are parts here, called `P1-Staff1` and so on.
        number = int(str(part.id).partition("-Staff")[2] or 1)
        index += number == 1
        notes, alone = notes_of(part)
        staves.append(
            {
                "part": index,
                "staff": number,
                "alone": alone,
                "notes": notes,
            }
        )
    return {"file": path, "staves": staves}


def main():
    if sys.argv[1] == "list":
        for path in files():
            print(path)
        return
    for path in sys.argv[2:]:
        try:
            found = read(path)
        except Exception as error:  # what music21 can't read says nothing about the file
            found = {"file": path, "error": f"{type(error).__name__}: {error}"}
        print(json.dumps(found), flush=True)


main()
