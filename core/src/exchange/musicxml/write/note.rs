//! Notes and rests. The order of the elements inside is that of the schema.

use crate::attack::Attack;
use crate::error::Result;
use crate::hand::Fretting;
use crate::neck::{Fret, StringNo, Stroke};
use crate::notate::{Accidental, Grace, Tuplet};
use crate::pitch::Pitch;
use crate::value::{Base, NoteValue};

use super::joins::{self, End, Joins};
use super::sheet::{Place, Sheet, Staff};
use super::xml::Xml;

/// Writes a symbol, and the grace note before it.
pub(super) fn note(xml: &mut Xml, sheet: &Sheet<'_>, place: &Place<'_>, staff: Staff) -> Result<()> {
    let symbol = place.symbol;
    if let Some(before) = symbol.grace {
        grace(xml, sheet, place, before, staff);
    }
    let duration = sheet.units(symbol.length)?;
    let is_silent = place.bar.is_silent();
    let id = place.id(staff);
    let hidden = (staff.is_tab() && symbol.pitch.is_none()).then_some(("print-object", "no"));
    let attributes: Vec<_> = [("id", id.as_str())].into_iter().chain(hidden).collect();
    xml.within("note", &attributes, |xml| {
        match symbol.pitch {
            Some(sounding) => pitch(xml, sounding),
            None if is_silent => xml.empty("rest", &[("measure", "yes")]),
            None => xml.empty("rest", &[]),
        }
        xml.value("duration", duration);
        for end in ties(place) {
            xml.empty("tie", &[("type", end.name())]);
        }
        xml.value("voice", staff.voice());
        // A whole rest means the bar, however long it is.
        if !is_silent {
            value(xml, symbol.value);
        }
        if let Some(sign) = symbol.accidental.filter(|_| !staff.is_tab()) {
            accidental(xml, sign);
        }
        time_modification(xml, place);
        if staff.is_tab() && symbol.pitch.is_some() {
            xml.value("stem", "none");
            if symbol.tied_from {
                xml.text("notehead", &[("parentheses", "yes")], "normal");
            }
        }
        if let Some(number) = staff.number() {
            xml.value("staff", number);
        }
        if !staff.is_tab() {
            for (number, beam) in (1..).zip(&symbol.beams) {
                let number: i32 = number;
                xml.text("beam", &[("number", &number.to_string())], beam.name());
            }
        }
        notations(xml, sheet, place, staff);
    });
    Ok(())
}

/// Writes a grace note: an eighth with a slash, which takes no time.
fn grace(xml: &mut Xml, sheet: &Sheet<'_>, place: &Place<'_>, grace: Grace, staff: Staff) {
    let fretted = fretted_grace(sheet, place, grace.pitch);
    if staff.is_tab() && fretted.is_none() {
        return;
    }
    let attacks = sheet.piece.fingering().attacks();
    xml.within("note", &[("id", &place.grace_id(staff))], |xml| {
        xml.empty("grace", &[("slash", "yes")]);
        pitch(xml, grace.pitch);
        xml.value("voice", staff.voice());
        value(xml, NoteValue { base: Base::Eighth, dots: 0 });
        if let Some(sign) = grace.accidental.filter(|_| !staff.is_tab()) {
            accidental(xml, sign);
        }
        xml.value("stem", if staff.is_tab() { "none" } else { "up" });
        if let Some(number) = staff.number() {
            xml.value("staff", number);
        }
        xml.within("notations", &[], |xml| {
            let joins = joins::of_grace(place, grace.pitch, attacks);
            slurs(xml, &joins);
            let technical = Technical {
                stroke: stroke(sheet, place).filter(|_| !staff.is_tab()),
                finger: None,
                place: fretted.filter(|_| staff.is_fretted()),
                joins: &joins,
            };
            technical.write(xml);
        });
    });
}

/// Where a grace note is fretted: on its note's string if it is there, otherwise as close as possible.
fn fretted_grace(sheet: &Sheet<'_>, place: &Place<'_>, grace: Pitch) -> Option<(StringNo, Fret)> {
    let neck = &sheet.piece.line().heading().neck;
    let Fretting { string, fret, .. } = sheet.piece.fingering().of(place.symbol.note)?;
    let places = neck.places(grace.midi()?);
    places.min_by_key(|&(other, at)| (other != string, at.0.abs_diff(fret.0)))
}

fn pitch(xml: &mut Xml, pitch: Pitch) {
    xml.within("pitch", &[], |xml| {
        xml.value("step", pitch.name.letter.as_char());
        if pitch.name.alter.half_steps() != 0 {
            xml.value("alter", pitch.name.alter.half_steps());
        }
        xml.value("octave", pitch.octave);
    });
}

fn value(xml: &mut Xml, value: NoteValue) {
    xml.value("type", value.base.name());
    for _ in 0..value.dots {
        xml.empty("dot", &[]);
    }
}

fn accidental(xml: &mut Xml, sign: Accidental) {
    let name = match sign.alter.half_steps() {
        2 => "double-sharp",
        1 => "sharp",
        0 => "natural",
        -1 => "flat",
        _ => "flat-flat",
    };
    let reminder: &[_] = &[("cautionary", "yes"), ("parentheses", "yes")];
    xml.text("accidental", if sign.courtesy { reminder } else { &[] }, name);
}

/// The tuplets around a symbol, multiplied. The unit is named where the symbol has another shape.
fn time_modification(xml: &mut Xml, place: &Place<'_>) {
    let Some(inner) = place.bar.tuplets_of(place.index).last() else { return };
    let product = |number: fn(&Tuplet) -> u8| -> u32 {
        place.bar.tuplets_of(place.index).map(|tuplet| u32::from(number(tuplet))).product()
    };
    xml.within("time-modification", &[], |xml| {
        xml.value("actual-notes", product(|tuplet| tuplet.actual));
        xml.value("normal-notes", product(|tuplet| tuplet.normal));
        if inner.unit != place.symbol.value.base {
            xml.value("normal-type", inner.unit.name());
        }
    });
}

/// The ends of ties, stops first.
fn ties(place: &Place<'_>) -> impl Iterator<Item = End> {
    let (from, to) = (place.symbol.tied_from, place.symbol.tied_to);
    [from.then_some(End::Stop), to.then_some(End::Start)].into_iter().flatten()
}

/// The stroke that begins a note, if the pick strikes it.
fn stroke(sheet: &Sheet<'_>, place: &Place<'_>) -> Option<Stroke> {
    sheet.piece.fingering().attacks().of(place.symbol.note).and_then(Attack::stroke)
}

fn notations(xml: &mut Xml, sheet: &Sheet<'_>, place: &Place<'_>, staff: Staff) {
    let symbol = place.symbol;
    let fingering = sheet.piece.fingering();
    let joins = joins::of_symbol(place, fingering.attacks());
    let fretting = fingering.of(symbol.note).filter(|_| symbol.pitch.is_some());
    let begins = !staff.is_tab() && !symbol.tied_from;
    let technical = Technical {
        stroke: stroke(sheet, place).filter(|_| begins && symbol.grace.is_none()),
        finger: fretting.map(|fretting| fretting.finger.0).filter(|finger| begins && *finger > 0),
        place: fretting.map(|fretting| (fretting.string, fretting.fret)).filter(|_| staff.is_fretted()),
        joins: &joins,
    };
    let accent = symbol.accent && !staff.is_tab();
    let tuplets = edges(place);
    let is_tied = symbol.tied_from || symbol.tied_to;
    let has_lines = is_tied || !joins.slurs.is_empty() || !joins.slides.is_empty() || !tuplets.is_empty();
    if !has_lines && technical.is_empty() && !accent {
        return;
    }
    xml.within("notations", &[], |xml| {
        for end in ties(place) {
            xml.empty("tied", &[("type", end.name())]);
        }
        slurs(xml, &joins);
        for (end, number, tuplet) in tuplets {
            self::tuplet(xml, place, end, number, tuplet, staff);
        }
        technical.write(xml);
        if accent {
            xml.within("articulations", &[], |xml| xml.empty("accent", &[]));
        }
    });
}

fn slurs(xml: &mut Xml, joins: &Joins) {
    for &(end, number) in &joins.slurs {
        xml.empty("slur", &[("type", end.name()), ("number", number)]);
    }
    for end in &joins.slides {
        xml.empty("slide", &[("type", end.name()), ("line-type", "solid")]);
    }
}

/// The tuplets that end and start at a symbol, with their numbers: inner ones stop first, outer ones start first.
fn edges<'a>(place: &Place<'a>) -> Vec<(End, usize, &'a Tuplet)> {
    let around: Vec<(usize, &Tuplet)> = (1..).zip(place.bar.tuplets_of(place.index)).collect();
    let starts = around.iter().filter(|(_, tuplet)| tuplet.symbols.start == place.index);
    let stops = around.iter().rev().filter(|(_, tuplet)| tuplet.symbols.end == place.index + 1);
    let stops = stops.map(|&(number, tuplet)| (End::Stop, number, tuplet));
    stops.chain(starts.map(|&(number, tuplet)| (End::Start, number, tuplet))).collect()
}

/// One end of a tuplet. Its own ratio and unit are said at the start, since the time modification of a note is the product of all around it.
/// On the tab, it isn't shown.
fn tuplet(xml: &mut Xml, place: &Place<'_>, end: End, number: usize, tuplet: &Tuplet, staff: Staff) {
    let number = number.to_string();
    let has_bracket = !staff.is_tab() && !place.bar.is_beamed(tuplet);
    let mut attributes = vec![("type", end.name()), ("number", &number)];
    match end {
        End::Stop => return xml.empty("tuplet", &attributes),
        End::Start => attributes.push(("bracket", if has_bracket { "yes" } else { "no" })),
    }
    if staff.is_tab() {
        attributes.push(("show-number", "none"));
    }
    xml.within("tuplet", &attributes, |xml| {
        for (element, count) in [("tuplet-actual", tuplet.actual), ("tuplet-normal", tuplet.normal)] {
            xml.within(element, &[], |xml| {
                xml.value("tuplet-number", count);
                xml.value("tuplet-type", tuplet.unit.name());
            });
        }
    });
}

/// What both hands do at a note.
struct Technical<'a> {
    stroke: Option<Stroke>,
    finger: Option<u8>,
    place: Option<(StringNo, Fret)>,
    joins: &'a Joins,
}

impl Technical<'_> {
    fn is_empty(&self) -> bool {
        let Technical { stroke, finger, place, joins } = self;
        stroke.is_none() && finger.is_none() && place.is_none() && joins.fingers.is_empty()
    }

    fn write(&self, xml: &mut Xml) {
        if self.is_empty() {
            return;
        }
        xml.within("technical", &[], |xml| {
            // By the standard, these signs are for plucked strings, too (MusicXML 4.0, elements down-bow and up-bow).
            match self.stroke {
                Some(Stroke::Down) => xml.empty("down-bow", &[]),
                Some(Stroke::Up) => xml.empty("up-bow", &[]),
                None => {}
            }
            if let Some(finger) = self.finger {
                xml.value("fingering", finger);
            }
            if let Some((string, fret)) = self.place {
                xml.value("string", string.0);
                xml.value("fret", fret.0);
            }
            for &(end, attack) in &self.joins.fingers {
                let (element, letter) =
                    if attack == Attack::Hammered { ("hammer-on", "H") } else { ("pull-off", "P") };
                match end {
                    End::Start => xml.text(element, &[("type", "start")], letter),
                    End::Stop => xml.empty(element, &[("type", "stop")]),
                }
            }
        });
    }
}
