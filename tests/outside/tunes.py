"""Prints real tunes as this project's text: one JSON line {"name", "text"} per tune.

Usage: tunes.py [--limit N]

Source: the collections ryansMammoth and oneills1850 (printed before 1910) in the installed music21 package: their tunes in common and cut time.
They are read when this runs; nothing it prints may be kept. Titles are the collection's name and a running number.
"""

import argparse
import json
import re
import sys
from fractions import Fraction
from multiprocessing import Pool

from music21 import chord, common, converter, harmony, key, meter, note, stream

COLLECTIONS = ["ryansMammoth", "oneills1850"]
HEADER = re.compile(r"^M:\s*(C\||C|4/4|2/2)\s*$", re.MULTILINE)
BAR = 4  # quarter notes, in 4/4 and in 2/2
MIN_BARS = 4  # anything shorter is a fragment

LOWEST, HIGHEST = 40, 86  # E2 to D6: six strings, 22 frets
COMFORTABLE = range(45, 82)  # A2 to A5
LETTERS = "CDEFGAB"


def collection(name, files=""):
    """(name, ABC text) of every tune whose name matches, in the order of the files."""
    number = 0
    for path in sorted((common.getCorpusFilePath() / name).glob("*.abc")):
        if not re.match(files, path.name):
            continue
        text = path.read_text(encoding="utf-8", errors="replace")
        for tune in re.split(r"^(?=X:)", text, flags=re.MULTILINE)[1:]:
            number += 1
            # remove grace notes first: music21 counts one inside a triplet as a third of it
            yield f"{name}#{number}", re.sub(r"\{[^}]*\}", "", tune)


def sources():
    """The tunes whose bars are four quarter notes long."""
    for name in COLLECTIONS:
        yield from (source for source in collection(name) if HEADER.search(source[1]))


def full_bars(part):
    """The notes and rests of each full bar; None for a bar that is skipped (a pickup, or half of a bar split by a repeat sign)."""
    for measure in part.getElementsByClass(stream.Measure):
        # quoted words such as "f" are read as chord symbols, which have no duration
        elements = [e for e in measure.notesAndRests if not isinstance(e, harmony.Harmony)]
        offset, adjoining = Fraction(0), True
        for e in elements:
            adjoining = adjoining and Fraction(e.offset) == offset
            offset += Fraction(e.duration.quarterLength)
        yield elements if adjoining and offset == BAR else None


def top_pitch(element):
    """The sounding pitch, or the top note of a chord, which has the melody; None for a rest."""
    if isinstance(element, chord.Chord):
        return max(element.pitches, key=lambda p: p.ps)
    return element.pitch if isinstance(element, note.Note) else None


def octave_shift(midi):
    """How many octaves to move the tune so that it is on the neck, with the fewest notes outside the comfortable range; None if it never is."""
    fitting = [s for s in (0, -1, 1, -2, 2) if LOWEST <= min(midi) + 12 * s and max(midi) + 12 * s <= HIGHEST]
    return min(fitting, key=lambda s: sum(m + 12 * s not in COMFORTABLE for m in midi), default=None)


def pitch_text(pitch, octave, previous):
    """The note name, with an octave only after a leap of more than a fourth from the previous letter."""
    step = LETTERS.index(pitch.step) + 7 * octave
    accidental = {0: "", 1: "#", 2: "##", -1: "b", -2: "bb"}[int(pitch.alter)]
    near = previous is not None and abs(step - previous) <= 3
    return pitch.step + accidental + ("" if near else str(octave)), step


def length_text(length):
    return "" if length == Fraction(1, 2) else f":{length}"


def key_text(sharps):
    return key.KeySignature(sharps).asKey("major").tonic.name.replace("-", "b")


def line_text(name, score):
    parts = score.getElementsByClass(stream.Part)
    if len(parts) != 1 or parts[0].recurse().getElementsByClass(stream.Voice):
        return None
    signature = parts[0].recurse().getElementsByClass(meter.TimeSignature).first()
    sharps = parts[0].recurse().getElementsByClass(key.KeySignature).first()
    tonic = key_text(sharps.sharps if sharps else 0)

    bars = list(full_bars(parts[0]))
    kept = [bar for bar in bars if bar]
    midi = [pitch.midi for bar in kept for pitch in map(top_pitch, bar) if pitch]
    shift = octave_shift(midi) if midi else None
    if len(kept) < MIN_BARS or shift is None:
        return None

    events = [e for bar in bars for e in (bar or [None])]
    following = dict(zip(map(id, events), events[1:]))
    written, previous = [], None
    for bar in kept:
        tokens = []
        for element in bar:
            pitch, length = top_pitch(element), length_text(Fraction(element.duration.quarterLength))
            if pitch is None:
                tokens.append("r" + length)
                continue
            word, previous = pitch_text(pitch, pitch.octave + shift, previous)
            after = following.get(id(element))
            # a tie into a skipped bar has nothing to tie to
            tied = element.tie and element.tie.type != "stop" and after and top_pitch(after)
            tokens.append(word + length + ("~" if tied and tied.midi == pitch.midi else ""))
        written.append(" ".join(tokens) + " |")
    return f"title: {name}\nkey: {tonic}\nmeter: {signature.ratioString}\n\n" + "\n".join(written) + "\n"


def convert(source):
    name, tune = source
    try:
        score = converter.parseData(tune, format="abc")
    except Exception as error:  # music21 rejects a few encodings, each in its own way
        return name, None, f"{name}: {error}"
    text = line_text(name, score)
    return name, text, None if text else f"{name}: several voices, too few full bars, or off the neck"


if __name__ == "__main__":
    arguments = argparse.ArgumentParser()
    arguments.add_argument("--limit", type=int, default=sys.maxsize)
    limit = arguments.parse_args().limit
    printed = skipped = 0
    with Pool() as pool:
        for name, text, problem in pool.imap(convert, sources(), chunksize=8):
            if printed == limit:
                break
            if text:
                print(json.dumps({"name": name, "text": text}))
                printed += 1
            else:
                print(problem, file=sys.stderr)
                skipped += 1
    print(f"{printed} tunes, {skipped} skipped", file=sys.stderr)
