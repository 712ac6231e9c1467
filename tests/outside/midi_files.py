"""Reads MIDI files, {"name", "midi" in base 64} a line, and prints what others find in them, a line of JSON for each:

- "mido", "pretty_midi", "music21": every note as [key, tick where it starts, tick where it ends, velocity], sorted; mido's and pretty_midi's by channel or
  percussion as well.
- "ticks": ticks per quarter note; "tempo": quarter notes per minute; "meters" and "keys" with their ticks; "markers" with their ticks; "texts".

Sources: mido, pretty_midi, music21 (without quantizing).
"""

import base64
import io
import json
import sys
import warnings

import mido
import pretty_midi
from music21 import converter


def by_mido(data):
    file = mido.MidiFile(file=io.BytesIO(data), charset="utf-8")
    notes, meters, keys, markers, texts, tempos, programs = [], [], [], [], [], [], []
    for track in file.tracks:
        at, sounding = 0, {}
        for message in track:
            at += message.time
            if message.type == "note_on" and message.velocity > 0:
                if (message.channel, message.note) in sounding:
                    raise ValueError("a key is pressed twice")
                sounding[message.channel, message.note] = (at, message.velocity)
            elif message.type in ("note_off", "note_on"):
                start, velocity = sounding.pop((message.channel, message.note))
                notes.append([message.channel, message.note, start, at, velocity])
            elif message.type == "program_change":
                programs.append([message.channel, message.program])
            elif message.type == "time_signature":
                meters.append([at, message.numerator, message.denominator])
            elif message.type == "key_signature":
                keys.append([at, message.key])
            elif message.type == "marker":
                markers.append([at, message.text])
            elif message.type == "text":
                texts.append(message.text)
            elif message.type == "set_tempo":
                tempos.append(round(mido.tempo2bpm(message.tempo), 3))
        if sounding:
            raise ValueError("a key is never released")
    return {
        "format": file.type,
        "ticks": file.ticks_per_beat,
        "notes": sorted(notes),
        "meters": meters,
        "keys": keys,
        "markers": markers,
        "texts": texts,
        "tempos": tempos,
        "programs": programs,
    }


def by_pretty_midi(data):
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        file = pretty_midi.PrettyMIDI(io.BytesIO(data))
    return sorted(
        [int(one.is_drum), note.pitch, int(file.time_to_tick(note.start)), int(file.time_to_tick(note.end)), note.velocity]
        for one in file.instruments
        for note in one.notes
    )


def by_music21(data, ticks):
    score = converter.parse(data, format="midi", quantizePost=False, forceSource=True)
    notes = []
    for part in score.parts:
        for sound in part.flatten().notes:
            start, end = (float(time * ticks) for time in (sound.offset, sound.offset + sound.quarterLength))
            for time in (start, end):
                if abs(time - round(time)) > 1e-3:
                    raise ValueError(f"{time} is not a tick")
            for pitched in sound.notes if sound.isChord else [sound]:
                # Percussion has no pitch.
                key = pitched.pitch.midi if hasattr(pitched, "pitch") else None
                notes.append([key, round(start), round(end), pitched.volume.velocity])
                # It ties notes over bar lines.
                if pitched.tie and pitched.tie.type in ("stop", "continue"):
                    _, _, until, _ = notes.pop()
                    tied = next(one for one in reversed(notes) if one[0] == key and one[2] == round(start))
                    tied[2] = until
    return sorted(notes, key=str)


for line in sys.stdin:
    case = json.loads(line)
    data = base64.b64decode(case["midi"])
    mido_found = by_mido(data)
    answer = {
        "name": case["name"],
        "mido": mido_found,
        "pretty_midi": by_pretty_midi(data),
        "music21": by_music21(data, mido_found["ticks"]),
    }
    print(json.dumps(answer))
