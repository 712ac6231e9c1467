//! Measures: their attributes, directions, chords and notes.

use crate::error::Result;
use crate::key::{Key, Mode};
use crate::line::{ChordAt, Feel};
use crate::meter::Meter;
use crate::neck::Neck;
use crate::notate::WrittenBar;
use crate::swing;
use crate::time::Duration;

use super::harmony::harmony;
use super::note::note;
use super::sheet::{Place, Sheet, Staff};
use super::xml::Xml;

/// Writes the bar with this index.
pub(super) fn measure(
    xml: &mut Xml,
    sheet: &Sheet<'_>,
    index: usize,
    places: &[Place<'_>],
    starts_system: bool,
) -> Result<()> {
    let (bars, written) = (sheet.piece.line().bars(), &sheet.piece.written().bars);
    let bar = &written[index];
    let before = index.checked_sub(1).map(|before| &written[before]);
    let number = bars.number(index).to_string();
    let implicit = (number == "0").then_some(("implicit", "yes"));
    let attributes: Vec<_> = [("number", number.as_str())].into_iter().chain(implicit).collect();
    xml.within("measure", &attributes, |xml| -> Result<()> {
        if starts_system {
            xml.empty("print", &[("new-system", "yes")]);
        }
        signatures(xml, sheet, bar, before);
        pace(xml, sheet, bar, before);
        upper(xml, sheet, bar, places)?;
        if sheet.has_tab() {
            moved(xml, sheet, "backup", bar.span.length()?)?;
            for place in places {
                note(xml, sheet, place, Staff::Tab)?;
            }
        }
        if index + 1 == written.len() {
            xml.within("barline", &[("location", "right")], |xml| xml.value("bar-style", "light-heavy"));
        }
        Ok(())
    })
}

/// The notes of the upper staff with the chords above them. A chord inside a held note is reached by going back from the note's end.
fn upper(xml: &mut Xml, sheet: &Sheet<'_>, bar: &WrittenBar, places: &[Place<'_>]) -> Result<()> {
    let staff = sheet.upper();
    let chords = sheet.piece.line().chords();
    let first = chords.partition_point(|chord| chord.onset < bar.span.start());
    let after = chords.partition_point(|chord| chord.onset < bar.span.end());
    let mut chords = chords[first..after].iter().peekable();
    for place in places {
        let (start, length) = (bar.onset(place.symbol)?, place.symbol.length);
        let end = start.checked_add(length)?;
        let is_due = |chord: &&ChordAt| chord.onset <= start;
        while let Some(chord) = chords.next_if(is_due) {
            harmony(xml, &chord.symbol, staff.number());
        }
        note(xml, sheet, place, staff)?;
        while let Some(chord) = chords.next_if(|chord| chord.onset < end) {
            let back = end.checked_since(chord.onset)?;
            moved(xml, sheet, "backup", back)?;
            harmony(xml, &chord.symbol, staff.number());
            moved(xml, sheet, "forward", back)?;
        }
    }
    Ok(())
}

fn moved(xml: &mut Xml, sheet: &Sheet<'_>, element: &str, length: Duration) -> Result<()> {
    let units = sheet.units(length)?;
    xml.within(element, &[], |xml| xml.value("duration", units));
    Ok(())
}

/// What is new at the start of a bar: unit of time, key, meter, clefs, strings.
fn signatures(xml: &mut Xml, sheet: &Sheet<'_>, bar: &WrittenBar, before: Option<&WrittenBar>) {
    let key = before.is_none_or(|before| before.key != bar.key);
    let meter = before.is_none_or(|before| time(before.meter) != time(bar.meter));
    if !key && !meter {
        return;
    }
    xml.within("attributes", &[], |xml| {
        if before.is_none() {
            xml.value("divisions", sheet.divisions());
        }
        if key {
            self::key(xml, bar.key);
        }
        if meter {
            self::meter(xml, bar.meter);
        }
        if before.is_none() {
            if sheet.has_tab() {
                xml.value("staves", 2);
            }
            clefs(xml, sheet);
            strings(xml, sheet, &sheet.piece.line().heading().neck);
        }
    });
}

fn key(xml: &mut Xml, key: Key) {
    xml.within("key", &[], |xml| {
        xml.value("fifths", key.fifths());
        xml.value("mode", if key.mode() == Mode::Minor { "minor" } else { "major" });
    });
}

fn meter(xml: &mut Xml, meter: Meter) {
    let (beats, unit) = time(meter);
    xml.within("time", &[], |xml| {
        xml.value("beats", beats);
        xml.value("beat-type", unit);
    });
}

/// A time signature. The groups of a meter are said where they are unequal and unusual: few programs read sums.
fn time(meter: Meter) -> (String, u8) {
    let groups: Vec<u8> = meter.groups().collect();
    let is_plain = meter == meter.usual() || groups.iter().all(|group| *group == groups[0]);
    let beats = match is_plain {
        true => meter.count().to_string(),
        false => groups.iter().map(u8::to_string).collect::<Vec<_>>().join("+"),
    };
    (beats, meter.unit())
}

/// A treble clef with an 8 below, as guitar music is written, so that pitches are sounding ones without a transposition.
fn clefs(xml: &mut Xml, sheet: &Sheet<'_>) {
    let number: &[_] = if sheet.has_tab() { &[("number", "1")] } else { &[] };
    xml.within("clef", number, |xml| {
        xml.value("sign", "G");
        xml.value("line", 2);
        xml.value("clef-octave-change", -1);
    });
    if sheet.has_tab() {
        xml.within("clef", &[("number", "2")], |xml| {
            xml.value("sign", "TAB");
            xml.value("line", 5);
        });
    }
}

/// The open strings from the lowest, without the capo, and the capo. Lines count from the bottom.
fn strings(xml: &mut Xml, sheet: &Sheet<'_>, neck: &Neck) {
    let number: &[_] = if sheet.has_tab() { &[("number", "2")] } else { &[] };
    xml.within("staff-details", number, |xml| {
        if sheet.has_tab() {
            xml.value("staff-lines", neck.strings());
        }
        for (line, open) in (1..).zip(neck.tuning().open()) {
            let line: i32 = line;
            xml.within("staff-tuning", &[("line", &line.to_string())], |xml| {
                xml.value("tuning-step", open.name.letter.as_char());
                if open.name.alter.half_steps() != 0 {
                    xml.value("tuning-alter", open.name.alter.half_steps());
                }
                xml.value("tuning-octave", open.octave);
            });
        }
        if neck.capo() > 0 {
            xml.value("capo", neck.capo());
        }
    });
}

/// The tempo at the start, and how eighths swing wherever that changes: in meters of eighths, they don't.
fn pace(xml: &mut Xml, sheet: &Sheet<'_>, bar: &WrittenBar, before: Option<&WrittenBar>) {
    let swings = bar.meter.has_quarter_beats();
    if before.is_some_and(|before| before.meter.has_quarter_beats() == swings) {
        return;
    }
    let heading = sheet.piece.line().heading();
    let tempo = heading.tempo.to_string();
    let feel = if swings { heading.feel } else { Feel::Straight };
    if before.is_some() {
        return xml.within("sound", &[], |xml| swing(xml, sheet, feel));
    }
    xml.within("direction", &[("placement", "above")], |xml| {
        xml.within("direction-type", &[], |xml| {
            xml.within("metronome", &[], |xml| {
                xml.value("beat-unit", "quarter");
                xml.value("per-minute", &tempo);
            });
        });
        let words = match heading.feel {
            Feel::Straight => Some("Straight"),
            _ => swings.then_some("Swing"),
        };
        if let Some(words) = words {
            xml.within("direction-type", &[], |xml| xml.value("words", words));
        }
        if let Some(staff) = sheet.upper().number() {
            xml.value("staff", staff);
        }
        xml.within("sound", &[("tempo", &tempo)], |xml| swing(xml, sheet, feel));
    });
}

/// How eighths swing: as whole numbers in their lowest terms, exact to a hundredth.
fn swing(xml: &mut Xml, sheet: &Sheet<'_>, feel: Feel) {
    let (long, short) = swing::ratio_parts(feel, sheet.piece.line().heading().tempo);
    let hundredths = (200 * long + short) / (2 * short);
    xml.within("swing", &[], |xml| match (feel, Duration::new(hundredths, 100)) {
        (Feel::Straight, _) | (_, Err(_)) => xml.empty("straight", &[]),
        (_, Ok(ratio)) => {
            xml.value("first", ratio.numer());
            xml.value("second", ratio.denom());
            xml.value("swing-type", "eighth");
            xml.value("swing-style", feel);
        }
    });
}
