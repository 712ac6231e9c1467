"""Checks written notes against music21: lengths, full bars, note values and beams.

Reads JSON lines {"name", "meter", "bars": [[entry, ...], ...]} from standard input and prints one JSON line per case:
{"name", "ok", "problems": [...], "exceptions": [...]}.

An entry is {"start": "2/3", "value": "eighth", "dots": 0, "tuplets": [[3, 2]], "beams": ["begin"], "rest": false}; values
and beam names are MusicXML 4.0's (W3C Music Notation Community Group), start is the offset in the bar in quarter notes,
tuplets are listed outermost first. An entry may have "span", the quarter notes under its outermost tuplet, if the values
leave that open.

A case may have "groups", lengths in units of its meter: [3, 2, 2] in 7/8. A bar may be an object {"entries": [entry, ...]} with
its own "meter", its own "groups", and "pickup", its length in quarter notes if it isn't full. It is then the end of a full bar, and
"start" counts from the beginning of that; with "short": true it is the beginning of one.

Sources: music21.duration for lengths and values, music21.meter.TimeSignature.getBeams for beams. The house rule, groups of
plain eighths (half-bars in 4/4) but beats where triplets or sixteenths occur, is Gould, Behind Bars, 2011 (from memory).
"""

import json
import sys
from fractions import Fraction
from functools import cache
from itertools import accumulate, product

from music21 import duration, meter, note

BEAM_WORDS = {
    ("start", None): "begin",
    ("continue", None): "continue",
    ("stop", None): "end",
    ("partial", "right"): "forward hook",
    ("partial", "left"): "backward hook",
}

# Groups in units of the meter, where music21 has only beats and no groups (8/8), or the less common order (5/4, 5/8; common practice,
# no source). In other meters, music21's own.
GROUPS = {"4/4": [2, 2], "2/2": [1, 1], "2/4": [2], "5/4": [3, 2], "5/8": [3, 2], "8/8": [3, 3, 2]}
BEAT, HALF = Fraction(1), Fraction(2)

# What a tuplet may fill, in quarter notes, most likely first: beat, half-bar, bar, dotted units, parts of a beat.
SPANS = [Fraction(s) for s in ("1", "2", "4", "3/2", "3", "6", "3/4", "1/2", "1/4")]

# 2/3 1/3 | 1/3 2/3 is one bracket over the half-bar unless "span" says otherwise: by the house rule, a beat whose only
# later note is at 2/3 is written as plain eighths, so two single-beat triplets don't look like this.
SPLIT_MIDDLE = ["quarter", "eighth", "eighth", "quarter"]

# Where music21's name for a length differs from a correct one, because it sees one length without its neighbors.
DOTTED_IN_TUPLET = "dotted-in-tuplet"  # a dotted quarter in 3:2 lasts 1, which alone is a plain quarter
NESTED_TUPLET = "nested-tuplet"  # music21 names one ratio (9:8) where there are two brackets (3:2 in 3:2)
DOTTED_SPAN = "dotted-span"  # an eighth in 2:3 lasts 3/4, which alone is a dotted eighth; so in 4:3, 5:3, 7:6
# A silent bar has a whole rest in every meter (common practice, no source); its value is not a length.
WHOLE_BAR_REST = "whole-bar-rest"


def element(entry, inside=0):
    """The entry as a music21 note or rest, without its `inside` outermost tuplets."""
    made = duration.Duration(type=entry["value"], dots=entry["dots"])
    for actual, normal in entry["tuplets"][inside:]:
        made.appendTuplet(duration.Tuplet(actual, normal))
    return note.Rest(duration=made) if entry["rest"] else note.Note(duration=made)


@cache
def signature(text, groups=None):
    """A meter that beams by the given groups, in quarter notes, or else by music21's own. The groups are not divided further, so that
    four sixteenths stay under two whole beams."""
    made = meter.TimeSignature(text)
    groups = groups or [Fraction(group.duration.quarterLength) for group in made.beamSequence]
    made.beamSequence.partition([f"{g.numerator}/{4 * g.denominator}" for g in groups])
    return made


def groups_of(text, units):
    """The lengths of the groups in quarter notes."""
    units = units or GROUPS.get(text)
    if units:
        return [Fraction(4 * count, int(text.split("/")[1])) for count in units]
    return [Fraction(group.duration.quarterLength) for group in signature(text).beamSequence]


def words(beams):
    return [BEAM_WORDS[beam.type, beam.direction] for beam in beams] if beams else []


def likely_spans(entries):
    """The spans a tuplet that begins here may have: a note value for each of the notes it stands for (its second number)."""
    entry, normal = entries[0], entries[0]["tuplets"][0][1]
    if entry.get("span"):
        spans = [Fraction(entry["span"])]
    elif [e["value"] for e in entries[:4]] == SPLIT_MIDDLE:
        spans = [HALF, *SPANS]
    elif entry["tuplets"][0] == [6, 4]:
        # six even notes; by length alone, three of them could be the beat
        spans = [normal * Fraction(duration.convertTypeToQuarterLength(entry["value"])), *SPANS]
    else:
        spans = SPANS
    return [span for span in spans if duration.quarterLengthToClosestType(span / normal)[1]]


def tuplet_groups(entries, starts, lengths, groups):
    """(first, end, span) of every outermost tuplet; span is None if the tuplet is not filled."""
    group_starts = list(accumulate(groups, initial=Fraction(0)))
    first = 0
    while first < len(entries):
        entry = entries[first]
        if not entry["tuplets"]:
            first += 1
            continue
        # a guess has to start on a beat of its own length, counted from the bar or else from the group
        origins = [Fraction(0), max(start for start in group_starts if start <= starts[first])]
        for origin, span in product(origins, likely_spans(entries[first:])):
            end, filled = first, Fraction(0)
            while end < len(entries) and filled < span and entries[end]["tuplets"][:1] == entry["tuplets"][:1]:
                filled += lengths[end]
                end += 1
            if filled == span and (entry.get("span") or (starts[first] - origin) % span == 0):
                break
        else:
            end, span = first + 1, None
        yield first, end, span
        first = end


def beam_groups(entries, starts, groups):
    """The groups of a bar by the house rule: a group made of quarters is split into them if it has tuplets or sixteenths."""
    at, found = Fraction(0), []
    for length in groups:
        mixed = any(
            at <= start < at + length
            and (entry["tuplets"] or duration.convertTypeToQuarterLength(entry["value"]) < 0.5)
            for entry, start in zip(entries, starts)
        )
        found += [BEAT] * int(length) if mixed and length % BEAT == 0 else [length]
        at += length
    return tuple(found)


def expected_beams(text, entries, elements, starts, tuplets, groups, missing):
    """`missing` is the time that the bar lacks before and after its notes."""
    before, after = ([note.Rest(quarterLength=length)] if length else [] for length in missing)

    def beams_of(shown, by):
        """The beams if music21 sees rests in place of all but the shown entries."""
        seen = [e if i in shown else note.Rest(duration=e.duration) for i, e in enumerate(elements)]
        beams = signature(text, by).getBeams(before + seen + after)
        return [words(of_one) for of_one in beams[len(before) :][: len(seen)]]

    # A bracket longer than a beat is beamed by itself.
    wide = [(first, end, span) for first, end, span in tuplets if span and span > BEAT]
    others = set(range(len(entries))).difference(*(range(first, end) for first, end, _ in wide))
    expected = beams_of(others, beam_groups(entries, starts, groups))
    # Inside it, beats are not beamed separately, but groups longer than a beat are.
    whole = tuple(groups) if max(groups) > BEAT else (sum(groups),)
    for first, end, span in wide:
        if entries[first]["tuplets"][0] == [3, 2]:
            # Three thirds under one bracket are beamed as three beats: the notes of a split third together.
            inner = [element(entry, inside=1) for entry in entries[first:end]]
            expected[first:end] = map(words, signature("3/4" if span == HALF else "3/2").getBeams(inner))
        else:
            expected[first:end] = beams_of(range(first, end), whole)[first:end]
    return expected


def value_difference(entry, length):
    """(problem, exception): compares music21's way of writing this length with the entry's."""
    own = duration.Duration(quarterLength=length)
    ratio = [Fraction(t.numberNotesActual, t.numberNotesNormal) for t in own.tuplets]
    written = (entry["value"], entry["dots"], [Fraction(a, n) for a, n in entry["tuplets"]])
    if (own.type, own.dots, ratio) == written:
        return None, None
    if len(entry["tuplets"]) > 1:
        return None, NESTED_TUPLET
    if entry["dots"] and entry["tuplets"]:
        return None, DOTTED_IN_TUPLET
    if entry["tuplets"] and entry["tuplets"][0][1] % 3 == 0 and own.dots:
        return None, DOTTED_SPAN
    return f"written {entry['value']}, {entry['dots']} dots, {entry['tuplets']}; music21 writes {own.fullName}", None


def judge_bar(text, units, bar):
    problems, exceptions = [], []
    entries = bar["entries"]
    full = Fraction(signature(text).barDuration.quarterLength)
    begin, end = Fraction(0), full
    if bar.get("pickup"):
        begin, end = (begin, Fraction(bar["pickup"])) if bar.get("short") else (full - Fraction(bar["pickup"]), full)
    elif len(entries) == 1 and entries[0]["rest"] and entries[0]["value"] == "whole" and full != 4:
        return problems, [WHOLE_BAR_REST]

    elements = [element(entry) for entry in entries]
    starts = [Fraction(entry["start"]) for entry in entries]
    lengths = [Fraction(e.duration.quarterLength) for e in elements]
    for i, (start, length) in enumerate(zip(starts, lengths)):
        room = (starts[i + 1] if i + 1 < len(starts) else end) - start
        if length != room:
            problems.append(f"entry {i + 1} lasts {length}, has room for {room}")
        problem, exception = value_difference(entries[i], length)
        problems += [f"entry {i + 1} {problem}"] if problem else []
        exceptions += [exception] if exception else []
    if sum(lengths) != end - begin:
        # no beams to judge in such a bar
        return problems + [f"bar sums to {sum(lengths)}, not {end - begin}"], exceptions

    groups = groups_of(text, units)
    tuplets = list(tuplet_groups(entries, starts, lengths, groups))
    for first, _, span in tuplets:
        if span is None:
            problems.append(f"entry {first + 1} opens a tuplet that nothing fills")
    expected = expected_beams(text, entries, elements, starts, tuplets, groups, missing=(begin, full - end))
    for i, (entry, beams) in enumerate(zip(entries, expected)):
        if entry["beams"] != beams:
            problems.append(f"entry {i + 1} beams {entry['beams']}, music21 {beams}")
    return problems, exceptions


def judge(case):
    problems, exceptions = [], []
    for number, bar in enumerate(case["bars"], start=1):
        bar = bar if isinstance(bar, dict) else {"entries": bar}
        # a bar with a meter of its own does not share the groups of the case
        meter_of = bar if bar.get("meter") else case
        found, excused = judge_bar(meter_of["meter"], bar.get("groups") or meter_of.get("groups"), bar)
        problems += [f"bar {number}: {text}" for text in found]
        exceptions += [f"bar {number}: {text}" for text in excused]
    return {"name": case["name"], "ok": not problems, "problems": problems, "exceptions": exceptions}


for line in sys.stdin:
    if line.strip():
        print(json.dumps(judge(json.loads(line))), flush=True)
