"""Judges written notes: lengths, full bars, note values and beams, with music21 as the reference.

Reads JSON lines {"name", "meter", "bars": [[entry, ...], ...]} on standard input and prints one JSON line a case:
{"name", "ok", "problems": [...], "exceptions": [...]}.

An entry is {"start": "2/3", "value": "eighth", "dots": 0, "tuplets": [[3, 2]], "beams": ["begin"], "rest": false}; values
and beam words are MusicXML 4.0's (W3C Music Notation Community Group), start is the offset in the bar in quarter notes,
tuplets stand outermost first. An entry may carry "span", the quarter notes under its outermost tuplet, where the
values leave that open.

Sources: music21.duration for lengths and values, music21.meter.TimeSignature.getBeams for beams. The house rule, groups of
plain eighths (half-bars in 4/4) but beats where triplets or sixteenths occur, is Gould, Behind Bars, 2011 (from memory).
"""

import json
import sys
from fractions import Fraction
from functools import cache

from music21 import duration, meter, note

BEAM_WORDS = {
    ("start", None): "begin",
    ("continue", None): "continue",
    ("stop", None): "end",
    ("partial", "right"): "forward hook",
    ("partial", "left"): "backward hook",
}

# Meters whose groups are more than a beat, in quarter notes: the house rule speaks of these only. In others music21's own
# grouping decides.
GROUPS = {"4/4": (2, 2), "2/2": (2, 2), "2/4": (2,), "5/4": (3, 2)}
HALF = Fraction(2)

# What a tuplet may fill, in quarter notes, likeliest first: beat, half-bar, bar, dotted units, parts of a beat.
SPANS = [Fraction(s) for s in ("1", "2", "4", "3/2", "3", "1/2", "1/4")]

# 2/3 1/3 | 1/3 2/3 is one bracket over the half-bar unless "span" says otherwise: by the house rule a beat with its
# only later note at 2/3 is written as plain eighths, so two single-beat triplets do not look like this.
SPLIT_MIDDLE = ["quarter", "eighth", "eighth", "quarter"]

# Where music21's name for a length differs from a correct one. It sees one length alone and knows no neighbours.
DOTTED_IN_TUPLET = "dotted-in-tuplet"  # a dotted quarter in 3:2 lasts 1, which alone is a plain quarter
NESTED_TUPLET = "nested-tuplet"  # music21 names one ratio (9:8) where two brackets stand (3:2 in 3:2)
# A bar of silence has a whole rest in every meter (common practice, no source); its value is no length.
WHOLE_BAR_REST = "whole-bar-rest"


def element(entry, inside=0):
    """The entry as a music21 note or rest, without its `inside` outermost tuplets."""
    made = duration.Duration(type=entry["value"], dots=entry["dots"])
    for actual, normal in entry["tuplets"][inside:]:
        made.appendTuplet(duration.Tuplet(actual, normal))
    return note.Rest(duration=made) if entry["rest"] else note.Note(duration=made)


@cache
def signature(text, groups=None):
    """A meter that beams by the given groups; else by music21's own, not divided further, so that four sixteenths stay
    under two whole beams."""
    made = meter.TimeSignature(text)
    groups = groups or tuple(f"{g.numerator}/{g.denominator}" for g in made.beamSequence)
    made.beamSequence.partition(list(groups))
    return made


def words(beams):
    return [BEAM_WORDS[beam.type, beam.direction] for beam in beams] if beams else []


def tuplet_groups(entries, starts, lengths):
    """(first, end, span) of every outermost tuplet; span is None where it is not filled."""
    first = 0
    while first < len(entries):
        entry = entries[first]
        if not entry["tuplets"]:
            first += 1
            continue
        if "span" in entry:
            spans = [Fraction(entry["span"])]
        elif [e["value"] for e in entries[first : first + 4]] == SPLIT_MIDDLE:
            spans = [HALF, *SPANS]
        else:
            spans = SPANS
        for span in spans:
            end, filled = first, Fraction(0)
            while end < len(entries) and filled < span and entries[end]["tuplets"][:1] == entry["tuplets"][:1]:
                filled += lengths[end]
                end += 1
            if filled == span and starts[first] % span == 0:
                break
        else:
            end, span = first + 1, None
        yield first, end, span
        first = end


def beam_groups(text, entries, starts, wide):
    """The groups of a bar by the house rule; `wide` holds the entries under a bracket longer than a beat."""
    if text not in GROUPS:
        return None
    groups, at = [], 0
    for beats in GROUPS[text]:
        mixed = any(
            at <= start < at + beats
            and i not in wide
            and (entry["tuplets"] or duration.convertTypeToQuarterLength(entry["value"]) < 0.5)
            for i, (entry, start) in enumerate(zip(entries, starts))
        )
        groups += ["1/4"] * beats if mixed else [f"{beats}/4"]
        at += beats
    return tuple(groups)


def expected_beams(text, entries, elements, starts, tuplets):
    wide = {i for first, end, span in tuplets if span and span > 1 for i in range(first, end)}
    made = signature(text, beam_groups(text, entries, starts, wide))
    expected = [words(beams) for beams in made.getBeams(elements)]
    for first, end, span in tuplets:
        # Three thirds under one bracket are beamed as three beats: the notes of a split third together.
        if first in wide and entries[first]["tuplets"][0] == [3, 2]:
            inner = [element(entry, inside=1) for entry in entries[first:end]]
            beams = signature("3/4" if span == HALF else "3/2").getBeams(inner)
            expected[first:end] = map(words, beams)
    return expected


def value_difference(entry, length):
    """(problem, exception): music21's own way to write this length against the entry's."""
    own = duration.Duration(quarterLength=length)
    ratio = [Fraction(t.numberNotesActual, t.numberNotesNormal) for t in own.tuplets]
    written = (entry["value"], entry["dots"], [Fraction(a, n) for a, n in entry["tuplets"]])
    if (own.type, own.dots, ratio) == written:
        return None, None
    if len(entry["tuplets"]) > 1:
        return None, NESTED_TUPLET
    if entry["dots"] and entry["tuplets"]:
        return None, DOTTED_IN_TUPLET
    return f"written {entry['value']}, {entry['dots']} dots, {entry['tuplets']}; music21 writes {own.fullName}", None


def judge_bar(text, entries):
    problems, exceptions = [], []
    full = Fraction(signature(text).barDuration.quarterLength)
    if len(entries) == 1 and entries[0]["rest"] and entries[0]["value"] == "whole" and full != 4:
        return problems, [WHOLE_BAR_REST]

    elements = [element(entry) for entry in entries]
    starts = [Fraction(entry["start"]) for entry in entries]
    lengths = [Fraction(e.duration.quarterLength) for e in elements]
    for i, (start, length) in enumerate(zip(starts, lengths)):
        room = (starts[i + 1] if i + 1 < len(starts) else full) - start
        if length != room:
            problems.append(f"entry {i + 1} lasts {length}, has room for {room}")
        problem, exception = value_difference(entries[i], length)
        problems += [f"entry {i + 1} {problem}"] if problem else []
        exceptions += [exception] if exception else []
    if sum(lengths) != full:
        return problems + [f"bar sums to {sum(lengths)}, not {full}"], exceptions  # no beams to judge in such a bar

    tuplets = list(tuplet_groups(entries, starts, lengths))
    for first, _, span in tuplets:
        if span is None:
            problems.append(f"entry {first + 1} opens a tuplet that nothing fills")
    expected = expected_beams(text, entries, elements, starts, tuplets)
    for i, (entry, beams) in enumerate(zip(entries, expected)):
        if entry["beams"] != beams:
            problems.append(f"entry {i + 1} beams {entry['beams']}, music21 {beams}")
    return problems, exceptions


def judge(case):
    problems, exceptions = [], []
    for number, entries in enumerate(case["bars"], start=1):
        found, excused = judge_bar(case["meter"], entries)
        problems += [f"bar {number}: {text}" for text in found]
        exceptions += [f"bar {number}: {text}" for text in excused]
    return {"name": case["name"], "ok": not problems, "problems": problems, "exceptions": exceptions}


for line in sys.stdin:
    if line.strip():
        print(json.dumps(judge(json.loads(line))), flush=True)
