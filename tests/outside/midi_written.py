"""Writes MIDI files with mido and pretty_midi.

Reads a line of JSON for each tune: {"tempo": 120, "notes": [[numerator, denominator, key], ...]} with the starts of its notes in quarter notes.
Prints two files for each in hexadecimal: one of each library.
"""

import io
import json
import sys
from fractions import Fraction

import mido
import pretty_midi


def with_mido(tempo, starts, keys, end):
    file = mido.MidiFile(type=1, ticks_per_beat=480)
    first, second = file.add_track("A tune"), file.add_track("Guitar")
    first.append(mido.MetaMessage("set_tempo", tempo=mido.bpm2tempo(tempo)))
    first.append(mido.MetaMessage("time_signature", numerator=4, denominator=4))
    first.append(mido.MetaMessage("key_signature", key="C"))
    at = 0
    for start, stop, key in zip(starts, starts[1:] + [end], keys):
        from_, to = round(start * 480), round(stop * 480)
        second.append(mido.Message("note_on", note=key, velocity=80, time=from_ - at))
        # A note-on without velocity, as many programs write it.
        second.append(mido.Message("note_on", note=key, velocity=0, time=to - from_))
        at = to
    bytes_ = io.BytesIO()
    file.save(file=bytes_)
    return bytes_.getvalue()


def with_pretty_midi(tempo, starts, keys, end):
    file = pretty_midi.PrettyMIDI(initial_tempo=tempo, resolution=960)
    file.key_signature_changes.append(pretty_midi.KeySignature(0, 0))
    file.time_signature_changes.append(pretty_midi.TimeSignature(4, 4, 0))
    guitar = pretty_midi.Instrument(26)
    for start, stop, key in zip(starts, starts[1:] + [end], keys):
        seconds = [float(moment) * 60 / tempo for moment in (start, stop)]
        guitar.notes.append(pretty_midi.Note(80, key, *seconds))
    file.instruments.append(guitar)
    bytes_ = io.BytesIO()
    file.write(bytes_)
    return bytes_.getvalue()


for line in sys.stdin:
    tune = json.loads(line)
    starts = [Fraction(numerator, denominator) for numerator, denominator, _ in tune["notes"]]
    keys = [key for _, _, key in tune["notes"]]
    for write in (with_mido, with_pretty_midi):
        print(write(tune["tempo"], starts, keys, Fraction(16)).hex())
