"""Reads MusicXML files, {"name", "xml"} a line, and prints what others find in them, a line of JSON for each:

- "schema": what is not valid by the W3C's schema of MusicXML 4.0.
- "music21": the first part: title, tempo, measures, notes and rests, chords; and the strings and frets of the last part.
- "partitura": the notes with ties joined: key, start and length in quarter notes, whether it is a grace note.

Sources: the schema that the package `musicxml` has, with the schemas for XML and XLink from xmlschema; lxml; music21; partitura.
"""

import io
import importlib.util
import json
import sys
import warnings
from fractions import Fraction
from pathlib import Path

import partitura
from lxml import etree
from music21 import converter, harmony, key, meter, note, tempo
from music21.common import opFrac


def folder(package):
    return Path(importlib.util.find_spec(package).origin).parent


class Installed(etree.Resolver):
    """Finds the two schemas that the schema of MusicXML imports. Nothing is fetched."""

    def resolve(self, url, public, context):
        files = {"xml.xsd": "XML", "xlink.xsd": "XLINK"}
        name = url.rsplit("/", 1)[-1]
        if name in files:
            path = folder("xmlschema") / "schemas" / files[name] / name
            return self.resolve_filename(str(path), context)


parser = etree.XMLParser(no_network=True)
parser.resolvers.add(Installed())
schema = etree.XMLSchema(etree.parse(folder("musicxml") / "generate_classes" / "musicxml_4_0.xsd", parser))


def exact(time):
    return str(Fraction(opFrac(time)))


def beams(here):
    names = {"start": "begin", "stop": "end", "continue": "continue"}
    hooks = {"right": "forward hook", "left": "backward hook"}
    return [names.get(beam.type) or hooks[beam.direction] for beam in here.beams.beamsList]


def accidental(here):
    sign = here.pitch.accidental if here.isNote else None
    if sign is None or not sign.displayStatus:
        return None
    return sign.name + (" in parentheses" if sign.displayStyle == "parentheses" else "")


def found(here, measure):
    """A note or rest as a list of what it has."""
    marks = {type(mark).__name__: mark for mark in here.articulations}
    finger = marks.get("Fingering")
    fills = here.isRest and here.fullMeasure is True
    return {
        "onset": exact(measure.offset + here.offset),
        "length": exact(here.duration.quarterLength),
        "pitch": here.nameWithOctave.replace("-", "b") if here.isNote else None,
        "grace": here.duration.isGrace,
        "value": None if fills else here.duration.type,
        "dots": 0 if fills else here.duration.dots,
        "tie": here.tie.type if here.tie else None,
        "tuplets": [[t.numberNotesActual, t.numberNotesNormal, t.durationActual.type] for t in here.duration.tuplets],
        "brackets": [t.type for t in here.duration.tuplets],
        "beams": beams(here) if here.isNote else [],
        "accidental": accidental(here),
        "accent": "Accent" in marks,
        "stroke": "down" if "DownBow" in marks else "up" if "UpBow" in marks else None,
        "finger": finger.fingerNumber if finger else None,
        "leads": leads(here),
    }


def place(here):
    marks = {type(mark).__name__: mark for mark in here.articulations}
    return [marks[name].number if name in marks else None for name in ("StringIndication", "FretIndication")]


def leads(here):
    """How a note leads into the next one."""
    kinds = {"HammerOn": "hammered", "PullOff": "pulled", "Glissando": "slid"}
    found = {kinds.get(type(spanner).__name__) for spanner in here.getSpannerSites() if spanner.getFirst() is here}
    return next(iter(found - {None}), None)


def by_music21(xml):
    score = converter.parse(xml, format="musicxml", forceSource=True)
    upper, lower = score.parts[0], score.parts[-1]
    measures, notes, chords = [], [], []
    for measure in upper.getElementsByClass("Measure"):
        in_key, in_time = (measure.getElementsByClass(kind).first() for kind in (key.KeySignature, meter.TimeSignature))
        measures.append(
            {
                "number": measure.number,
                "start": exact(measure.offset),
                "length": exact(measure.duration.quarterLength),
                "key": [in_key.sharps, in_key.mode] if in_key else None,
                "meter": f"{in_time.numerator}/{in_time.denominator}" if in_time else None,
            }
        )
        for here in measure.notesAndRests:
            if isinstance(here, harmony.Harmony):
                classes = sorted({p.pitchClass for p in here.pitches})
                chords.append({"onset": exact(measure.offset + here.offset), "classes": classes})
            else:
                notes.append(found(here, measure))
        if measure.voices:
            raise ValueError(f"measure {measure.number} has several voices")
    places = [place(here) for here in lower.recurse().notes if isinstance(here, note.Note)]
    marks = score.recurse().getElementsByClass(tempo.MetronomeMark)
    return {
        "title": score.metadata.title if score.metadata else None,
        "tempos": [mark.number for mark in marks],
        "measures": measures,
        "notes": notes,
        "chords": chords,
        "places": places,
    }


def by_partitura(xml):
    with warnings.catch_warnings():
        # What it leaves out, such as chord symbols.
        warnings.simplefilter("ignore")
        score = partitura.load_musicxml(io.BytesIO(xml.encode()))
    # It can't make an empty array.
    if not any(part.notes for part in score.parts):
        return []
    notes = score.note_array(include_grace_notes=True, include_divs_per_quarter=True)
    return [
        [
            int(one["pitch"]),
            str(Fraction(int(one["onset_div"]), int(one["divs_pq"]))),
            str(Fraction(int(one["duration_div"]), int(one["divs_pq"]))),
            bool(one["is_grace"]),
        ]
        for one in notes
    ]


for line in sys.stdin:
    case = json.loads(line)
    xml = case["xml"]
    schema.validate(etree.fromstring(xml.encode()))
    answer = {
        "name": case["name"],
        "schema": [f"{error.line}: {error.message}" for error in schema.error_log],
        "music21": by_music21(xml),
        "partitura": by_partitura(xml),
    }
    print(json.dumps(answer))
