"""Prints real tunes with the notes as their source writes them: one JSON line {"name", "text", "written"} per tune.

Usage: spelled.py [--limit N], at most N tunes per meter.

Source: collections in the installed music21 package, read with its own ABC parser: ryansMammoth (printed 1883), oneills1850 (1903), airdsAirs
(1778 to 1801) and northumbrianminstrelsyopus (1882). They are read when this runs; nothing it prints may be kept.

"written" has a list for each bar of the text, with an entry for each note or rest of the source: {"value": "eighth", "dots": 0,
"tuplets": [[3, 2]], "tie": "none", "rest": false}. Values are MusicXML's names; null is a length that a single note can't have, or
a tuplet that ABC counts differently from print: its `(5` is five notes in the time of two.
"""

import argparse
import json
import re
import sys
from collections import Counter
from fractions import Fraction
from itertools import chain, pairwise, zip_longest
from multiprocessing import Pool
from typing import NamedTuple

from music21 import pitch
from music21.abcFormat import ABCBar, ABCBrokenRhythmMarker, ABCChord, ABCHandler, ABCMetadata, ABCNote

from tunes import MIN_BARS, collection, key_text, length_text, octave_shift, pitch_text

COLLECTIONS = {
    "ryansMammoth": "",
    "oneills1850": "",
    "airdsAirs": "",
    "miscFolk": "northumbrian",
}
METERS = "2/2 3/2 2/4 3/4 4/4 5/4 6/4 3/8 5/8 6/8 7/8 8/8 9/8 12/8".split()
CHANGING = "changing"  # in place of a meter, for tunes that have several
PER_METER = 250

NAMES = ["whole", "half", "quarter", "eighth", "16th", "32nd", "64th"]
VALUES = {Fraction(4, 2**i) * (2 - Fraction(1, 2**dots)): (name, dots) for i, name in enumerate(NAMES) for dots in range(4)}

METER = re.compile(r"^M:\s*(C\||C|\d+/\d+)", re.MULTILINE)
FIELD = re.compile(r"[A-Za-z]:(?![|:])")
INLINE_FIELD = re.compile(r"\[([A-Z]:[^\]]*)\]")
# Slurs, decorations, words: music21 misses a broken rhythm (`>`) next to one of these, and loses notes marked H.
ORNAMENTS = re.compile(r'"[^"]*"|![^!]*!|%.*|\((?!\d)|[).~`H-Wh-w]')
# Makes an accidental last to the end of its bar, which music21 doesn't do for older ABC.
VERSION = "%abc-2.1\n"


class Note(NamedTuple):
    pitch: pitch.Pitch | None  # the top note of a chord; None for a rest
    value: Fraction  # in quarter notes, as written, without the tuplet
    tuplet: tuple[int, int] | None
    tied: bool  # a tie sign follows it

    @property
    def length(self):
        return self.value * Fraction(self.tuplet[1], self.tuplet[0]) if self.tuplet else self.value


LOST = Note(None, Fraction(99), None, False)  # something unreadable: makes its bar too long to be kept


class Bar(NamedTuple):
    meter: str
    notes: list[Note]

    @property
    def full(self):
        return 4 * Fraction(self.meter)

    @property
    def filled(self):
        return sum(note.length for note in self.notes)


def cleaned(tune):
    """The tune with each inline field on its own line, and without what music21 stumbles over."""
    lines = INLINE_FIELD.sub(r"\n\1\n", tune).splitlines()
    return VERSION + "\n".join(line if FIELD.match(line) else ORNAMENTS.sub("", line) for line in lines)


def meters(tune):
    return [{"C": "4/4", "C|": "2/2"}.get(text, text) for text in METER.findall(tune)]


def sources(limit):
    """(name, tune, meter), alternating between the collections, so that every meter has tunes from each."""
    found = Counter()
    for source in chain.from_iterable(zip_longest(*(collection(*c) for c in COLLECTIONS.items()))):
        if not source:
            continue
        name, tune = source[0], cleaned(source[1])
        used = meters(tune)
        if used and used[0] in METERS:
            meter = used[0] if len(set(used)) == 1 else CHANGING
            found[meter] += 1
            if found[meter] <= limit:
                yield name, tune, meter


def note_of(token):
    names = [t.pitchName for t in token.subTokens] if isinstance(token, ABCChord) else [token.pitchName]
    top = max((pitch.Pitch(name) for name in names if name), key=lambda p: p.ps, default=None)
    tuplet = token.activeTuplet
    ratio = tuplet and (tuplet.numberNotesActual, tuplet.numberNotesNormal)
    return Note(top, Fraction(token.quarterLength), ratio, token.tie in ("start", "continue"))


def bars_of(tokens, meter):
    """The bars with notes in them."""
    bars = [Bar(meter, [])]
    for before, token, after in zip([None, *tokens], tokens, [*tokens[1:], None]):
        if isinstance(token, ABCMetadata) and token.isMeter():
            count, unit, _ = token.getTimeSignatureParameters()
            bars.append(Bar(f"{count}/{unit}", []))
        elif isinstance(token, ABCBar):
            bars.append(Bar(bars[-1].meter, []))
        if isinstance(token, ABCNote):
            bars[-1].notes.append(note_of(token))
        elif isinstance(token, ABCBrokenRhythmMarker) and not (isinstance(before, ABCNote) and isinstance(after, ABCNote)):
            bars[-1].notes.append(LOST)
    return [bar for bar in bars if bar.notes]


def pickup_of(bar):
    regular = 16 % bar.filled.denominator == 0
    return bar.filled if regular and bar.filled < bar.full else 0


def fitting(bars, pickup):
    """For each bar, whether it is kept: if it is full, the pickup, or the last bar shortened by the pickup."""
    fits = [bar.meter in METERS and bar.filled == bar.full for bar in bars]
    if pickup:
        fits[0] = True
        fits[-1] = fits[-1] or bars[-1].meter in METERS and bars[-1].filled == bars[-1].full - pickup
    return fits


def entry(note, before, after):
    printable = note.tuplet is None or 1 < max(note.tuplet) / min(note.tuplet) < 2
    value, dots = VALUES.get(note.value, (None, 0)) if printable else (None, 0)
    return {
        "value": value,
        "dots": dots,
        "tuplets": [note.tuplet] if note.tuplet else [],
        "tie": {(0, 0): "none", (0, 1): "start", (1, 0): "stop", (1, 1): "both"}[before, after],
        "rest": note.pitch is None,
    }


def spelled(name, bars, sharps):
    """The tune as text and its notes as written; None if too little of it is usable."""
    pickup = pickup_of(bars[0])
    fits = fitting(bars, pickup)
    midi = [note.pitch.midi for bar, fit in zip(bars, fits) if fit for note in bar.notes if note.pitch]
    shift = octave_shift(midi) if midi else None
    if sum(fits) - bool(pickup) < MIN_BARS or shift is None:
        return None

    notes = [(note, fit) for bar, fit in zip(bars, fits) for note in bar.notes]
    # a tie into a skipped bar has nothing to tie to; a tie to another pitch is a slur
    joined = [
        one.tied and one_fits and two_fits and one.pitch and two.pitch and one.pitch.ps == two.pitch.ps
        for (one, one_fits), (two, two_fits) in pairwise(notes)
    ]
    ties = pairwise([False, *map(bool, joined), False])

    meter = bars[fits.index(True)].meter
    header = [f"title: {name}", f"key: {key_text(sharps)}", f"meter: {meter}"] + ([f"pickup: {pickup}"] if pickup else [])
    lines, written, previous = [], [], None
    for bar, fit in zip(bars, fits):
        tied = [(note, *next(ties)) for note in bar.notes]
        if not fit:
            continue
        words = [] if bar.meter == meter else [bar.meter]
        meter = bar.meter
        for note, _, after in tied:
            word = "r"
            if note.pitch:
                word, previous = pitch_text(note.pitch, note.pitch.octave + shift, previous)
            words.append(word + length_text(note.length) + "~" * after)
        lines.append(" ".join(words) + " |")
        written.append([entry(*item) for item in tied])
    return {"name": name, "text": "\n".join([*header, "", *lines, ""]), "written": written}


def convert(source):
    name, tune, meter = source
    handler = ABCHandler()
    try:
        handler.process(tune)
    except Exception as error:  # music21 rejects a few encodings, each in its own way
        return meter, None, f"{name}: {error}"
    fields = [token for token in handler.tokens if isinstance(token, ABCMetadata)]
    keys = [token.getKeySignatureParameters()[0] for token in fields if token.isKey()]
    bars = bars_of(handler.tokens, meters(tune)[0])
    tune = None if any(map(ABCMetadata.isVoice, fields)) or not bars else spelled(name, bars, keys[0] if keys else 0)
    return meter, tune, None if tune else f"{name}: several voices, too few full bars, or off the neck"


def statistics(tunes):
    notes = [note for tune in tunes for bar in tune["written"] for note in bar]
    return {
        "tunes": len(tunes),
        "pickups": sum("\npickup: " in tune["text"] for tune in tunes),
        "bars": sum(len(tune["written"]) for tune in tunes),
        "notes": len(notes),
        "no value": sum(note["value"] is None for note in notes),
        "tied": sum(note["tie"] in ("start", "both") for note in notes),
        **Counter("in {}:{}".format(*note["tuplets"][0]) for note in notes if note["tuplets"]),
    }


if __name__ == "__main__":
    arguments = argparse.ArgumentParser()
    arguments.add_argument("--limit", type=int, default=PER_METER)
    limit = arguments.parse_args().limit
    by_meter, skipped = {}, 0
    with Pool() as pool:
        for meter, tune, problem in pool.imap(convert, sources(limit), chunksize=8):
            if tune:
                print(json.dumps(tune))
                by_meter.setdefault(meter, []).append(tune)
            else:
                print(problem, file=sys.stderr)
                skipped += 1
    for meter, tunes in sorted(by_meter.items()):
        print(meter, *(f"{count} {what}" for what, count in statistics(tunes).items()), sep=", ", file=sys.stderr)
    print(f"{sum(map(len, by_meter.values()))} tunes, {skipped} skipped", file=sys.stderr)
