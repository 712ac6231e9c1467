//! Bars and what is played in them, in words.

use std::fmt::{self, Write};

use crate::attack::Attack;
use crate::bars::BarsError;
use crate::hand::Fretting;
use crate::harmony::NameSign;
use crate::line::{Feel, Line, NoteId};
use crate::neck::Stroke;
use crate::notate::{Symbol, Written, WrittenBar};

use crate::names;
use crate::score::{Annotations, Score};

/// A bar in words.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Bar {
    /// Its number, what changes at it, and its chords: `Bar 5, now in 3/4, F minor 7, B flat 7 on beat 3`.
    pub opening: String,
    /// Its notes and rests in order.
    pub events: Vec<Event>,
}

/// A note or rest in words.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Event {
    /// Its identity.
    pub note: NoteId,
    /// Whether it started in an earlier bar.
    pub is_held: bool,
    /// What it is, when it starts, how it is notated and how it is played.
    pub says: String,
}

impl fmt::Display for Bar {
    /// Writes the opening, then the events in order.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.opening)?;
        for (index, event) in self.events.iter().enumerate() {
            write!(f, "{}{}", if index == 0 { ": " } else { "; " }, event.says)?;
        }
        f.write_str(".")
    }
}

/// A line in words: how many bars it has, its meter, key, tempo and feel.
pub fn heading(line: &Line) -> String {
    let heading = line.heading();
    let feel = match heading.feel {
        Feel::Straight => "straight eighths",
        Feel::SwingAuto | Feel::Swing(_) => "swing",
    };
    let count = line.bar_count();
    format!(
        "{count} {} in {}, {}, {} quarter notes per minute, {feel}.",
        if count == 1 { "bar" } else { "bars" },
        line.bars().meter(0),
        names::key(line.bars().key(0)),
        heading.tempo
    )
}

/// The most bars in a summary.
const MOST_BARS: usize = 16;

/// The heading, and the chords and pitches of the first bars: the text alternative of a picture.
pub fn summary(line: &Line, written: &Written) -> String {
    let mut text = heading(line);
    for (index, bar) in written.bars.iter().enumerate().take(MOST_BARS) {
        let _ = write!(text, " {}:", opening(line, bar, index));
        let (mut gap, before) = (" ", text.len());
        for symbol in bar.symbols.iter().filter(|symbol| !symbol.tied_from) {
            if let Some(pitch) = symbol.pitch {
                let _ = write!(text, "{gap}{}", names::pitch(pitch));
                gap = ", ";
            }
        }
        if text.len() == before {
            text += " no new notes";
        }
        text.push('.');
    }
    match written.bars.len().saturating_sub(MOST_BARS) {
        0 => {}
        1 => text += " One more bar.",
        more => {
            let _ = write!(text, " {more} more bars.");
        }
    }
    text
}

/// The bar with this index, with these annotations.
///
/// # Errors
/// [`BarsError::Bar`] if there is no such bar.
pub fn bar(score: Score<'_>, index: usize, added: Annotations) -> Result<Bar, BarsError> {
    let bar =
        score.written.bars.get(index).ok_or(BarsError::Bar { index, bars: score.written.bars.len() })?;
    let mut events = Vec::new();
    let mut first = 0;
    for symbols in bar.symbols.chunk_by(|a, b| a.note == b.note) {
        events.push(Event {
            note: symbols[0].note,
            is_held: symbols[0].tied_from,
            says: said(score, bar, first, symbols, added)?,
        });
        first += symbols.len();
    }
    Ok(Bar { opening: opening(score.line, bar, index), events })
}

/// Whether the bar with this index reads the same in both pieces with these annotations, so that a page only has to update the bars that
/// changed.
pub fn is_said_alike(one: Score<'_>, other: Score<'_>, index: usize, added: Annotations) -> bool {
    let (Some(bar), Some(before)) = (one.written.bars.get(index), other.written.bars.get(index)) else {
        return false;
    };
    let mut notes = bar.symbols.iter().map(|symbol| symbol.note);
    // A chord may be that of an earlier bar.
    let tone = |score: Score<'_>, note| added.chord_tones && score.is_chord_tone(note);
    let degree = |score: Score<'_>, note| score.degree(note).filter(|_| added.shows_degrees());
    let same_names =
        |note| !added.names || one.names_from(note).map(begun).eq(other.names_from(note).map(begun));
    bar == before
        && notes.all(|note| {
            played(one, note) == played(other, note)
                && tone(one, note) == tone(other, note)
                && degree(one, note) == degree(other, note)
                && same_names(note)
        })
        && opening(one.line, bar, index) == opening(other.line, before, index)
}

fn opening(line: &Line, bar: &WrittenBar, index: usize) -> String {
    let bars = line.bars();
    let mut text = match bars.number(index) {
        0 => "Bar 0, the pickup".to_string(),
        number => format!("Bar {number}"),
    };
    if let Some(before) = index.checked_sub(1) {
        let (meter, old) = (bars.meter(index), bars.meter(before));
        if (meter.count(), meter.unit()) != (old.count(), old.unit()) {
            let _ = write!(text, ", now in {}/{}", meter.count(), meter.unit());
        }
        if bars.key(index) != bars.key(before) {
            let _ = write!(text, ", now in {}", names::key(bars.key(index)));
        }
    }
    let first = line.chords().partition_point(|chord| chord.onset < bar.span.start());
    for chord in line.chords()[first..].iter().take_while(|chord| chord.onset < bar.span.end()) {
        let _ = write!(text, ", {}", names::chord(&chord.symbol));
        if chord.onset > bar.span.start()
            && let Ok(place) = bars.place(chord.onset)
        {
            let _ = write!(text, " on {}", names::beat(place.beat));
        }
    }
    text
}

/// One note or rest in words. Its first symbol has the index `first` in its bar.
fn said(
    score: Score<'_>,
    bar: &WrittenBar,
    first: usize,
    symbols: &[Symbol],
    added: Annotations,
) -> Result<String, BarsError> {
    let symbol = &symbols[0];
    if bar.is_silent() {
        return Ok("rest for the whole bar".into());
    }
    let mut values = String::new();
    for (symbol, index) in symbols.iter().zip(first..) {
        let gap = match (values.is_empty(), symbol.pitch) {
            (true, _) => "",
            (false, Some(_)) => " tied to ",
            (false, None) => " and ",
        };
        let _ = write!(values, "{gap}{}", names::value(symbol.value, symbol.pitch.is_some()));
        if let Some(tuplet) = bar.tuplets_of(index).last() {
            let _ = write!(values, " in {}", names::tuplet(tuplet.actual));
        }
    }
    let beat = || -> Result<String, BarsError> {
        Ok(names::beat(score.line.bars().place(bar.onset(symbol)?)?.beat))
    };
    let mut text = match symbol.pitch {
        None => return Ok(format!("{values}, {}", beat()?)),
        Some(pitch) if symbol.tied_from => format!("{} held over, {values}", names::pitch(pitch)),
        Some(pitch) => format!("{}, {}, {values}", names::pitch(pitch), beat()?),
    };
    if symbols.last().is_some_and(|last| last.tied_to) {
        text += " tied over the bar line";
    }
    if let Some(grace) = symbol.grace {
        let _ = write!(text, ", after a grace note {}", names::pitch(grace.pitch));
    }
    if added.chord_tones && !symbol.tied_from && score.is_chord_tone(symbol.note) {
        text += ", chord tone";
    }
    if let Some(degree) = score.degree(symbol.note).filter(|_| added.shows_degrees() && !symbol.tied_from) {
        let _ = write!(text, ", degree{} {}", names::alter(degree.alter()), degree.number());
    }
    if symbol.accent {
        text += ", accented";
    }
    if let Some((fretting, attack)) = played(score, symbol.note).filter(|_| !symbol.tied_from) {
        text += &on_the_neck(fretting, added.shows_fingers());
        text += begins(attack);
    }
    if added.names && !symbol.tied_from {
        for name in score.names_from(symbol.note) {
            let (begins, says) = begun(name);
            let _ = write!(text, ", {begins}{says}");
        }
    }
    Ok(text)
}

/// What is said of a name where it begins.
fn begun(name: &NameSign) -> (&str, &str) {
    (if name.is_landing { "" } else { "begins " }, &name.spoken)
}

/// What both hands do for a note.
fn played(score: Score<'_>, note: NoteId) -> Option<(Fretting, Attack)> {
    Some((score.fingering.of(note)?, score.fingering.attacks().of(note)?))
}

fn on_the_neck(Fretting { string, fret, finger, .. }: Fretting, fingers: bool) -> String {
    match fret.0 {
        0 => format!(", string {} open", string.0),
        fret if fingers => format!(", string {} fret {fret}, finger {}", string.0, finger.0),
        fret => format!(", string {} fret {fret}", string.0),
    }
}

fn begins(attack: Attack) -> &'static str {
    match attack {
        Attack::Struck(Stroke::Down) => ", down",
        Attack::Struck(Stroke::Up) => ", up",
        Attack::Hammered => ", hammered on",
        Attack::Pulled => ", pulled off",
        Attack::Slid => ", slid into",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::line::Degrees;
    use crate::{Piece, harmony, read};

    fn bars(text: &str) -> Vec<String> {
        let reading = read::text(text);
        assert_eq!(reading.diagnostics, []);
        let piece = Piece::new(reading.line.unwrap(), reading.casting).unwrap();
        (0..piece.written().bars.len())
            .map(|index| {
                piece
                    .describe(index, Annotations { fingers: true, ..Annotations::default() })
                    .unwrap()
                    .to_string()
            })
            .collect()
    }

    #[test]
    fn a_pickup_changes_and_chords() {
        let said =
            bars("key: Eb\nmeter: 4/4\npickup: 1/2\nC4^2 | @Fm7 r:2 @Bb7alt/D r:2 | 3/4 =Cm C4:3^2 | r:3 |");
        assert_eq!(
            said[0],
            "Bar 0, the pickup: C 4, beat 4 and a half, eighth note, string 2 fret 1, finger 1, up."
        );
        assert_eq!(
            said[1],
            "Bar 1, F minor 7, B flat 7 altered over D on beat 3: half rest, beat 1; half rest, beat 3."
        );
        assert!(
            said[2].starts_with("Bar 2, now in 3/4, now in C minor: C 4, beat 1, dotted half note, "),
            "{}",
            said[2]
        );
    }

    #[test]
    fn ties_are_one_note() {
        let said = bars(
            "feel: swing 2\nrecast: split-last at 1.1 tied\nF3 Ab C Eb  G F Eb C:1/2~ | C:2 r:3/2 D4^4.12 |",
        );
        assert!(
            said[0].contains(
                "; A flat 3, beat 1 and a half, eighth note tied to eighth note in a triplet, string"
            ),
            "{}",
            said[0]
        );
    }

    #[test]
    fn what_changes_is_told_apart() {
        let piece = |text: &str| {
            let reading = read::text(text);
            Piece::new(reading.line.unwrap(), reading.casting).unwrap()
        };
        let before = piece("@Fm7 F3 Ab C Eb G F Eb C^3 | C4:4^2 |");
        let alike_with = |added, text: &str| {
            [0, 1, 2].map(|index| is_said_alike(piece(text).score(), before.score(), index, added))
        };
        let alike = |text: &str| alike_with(Annotations::default(), text);
        assert_eq!(alike("@Fm7 F3 Ab C Eb G F Eb C^3 | C4:4^2 |"), [true, true, false]);
        assert_eq!(alike("@F7 F3 Ab C Eb G F Eb C^3 | C4:4^3 |"), [false, false, false]);
        assert_eq!(alike("@Fm7 F3 Ab C Eb G F D C^3 | C4:4^2 |"), [false, true, false]);
        assert_eq!(alike("pickup: 4/2\n@Fm7 r:2 | C4:4^2 |"), [false, false, false]);
        // The chord of the first bar is that of the second one, too.
        let tones = Annotations { chord_tones: true, ..Annotations::default() };
        let changed = "@Gm7 F3 Ab C Eb G F Eb C^3 | C4:4^2 |";
        assert_eq!((alike(changed)[1], alike_with(tones, changed)[1]), (true, false));
    }

    #[test]
    fn chord_tones() {
        let reading = read::text("@Bb7alt F4:1 Gb:1 F:1 Gb:1~ | @Ebmaj7 Gb:1 G:1 r:2 |");
        let piece = Piece::new(reading.line.unwrap(), reading.casting).unwrap();
        let tones = |added| {
            let bars = [0, 1].map(|index| piece.describe(index, added).unwrap().events);
            let tones = bars.concat().into_iter().map(|event| event.says.contains(", chord tone"));
            tones.collect::<Vec<_>>()
        };
        // What is held over was struck over the first chord.
        let wanted = [false, true, false, true, false, true, false];
        assert_eq!(tones(Annotations { chord_tones: true, ..Annotations::default() }), wanted);
        assert_eq!(tones(Annotations::default()), [false; 7]);
    }

    #[test]
    fn names_are_said_where_they_begin() {
        let piece = |text: &str| {
            let reading = read::text(text);
            assert_eq!(reading.diagnostics, []);
            let line = reading.line.unwrap();
            let signs = harmony::names(&line).signs(&line);
            Piece::new(line, reading.casting).unwrap().with_names(signs.into())
        };
        let added = Annotations { names: true, degrees: Degrees::Yes, ..Annotations::default() };
        let text = "key: Eb\n@Fm7 Bb3 G Ab C  Eb G F Eb | @Bb7 D:4 |";
        let named = piece(text);
        let bars = [0, 1].map(|index| named.describe(index, added).unwrap().events);
        let ends = |said: &str, end: &str| assert!(said.ends_with(end), "{said}");
        ends(&bars[0][0].says, ", begins enclosure of the flat 3");
        ends(&bars[0][2].says, ", begins A flat major 7 arpeggio, root position, up");
        ends(&bars[0][5].says, ", begins F dorian, down");
        ends(&bars[1][0].says, ", lands flat 7 to 3, a half step");
        assert!(bars[0][0].says.contains(", degree 11, ") && bars[0][2].says.contains(", degree flat 3, "));
        let plain = named.describe(0, Annotations::default()).unwrap().to_string();
        assert!(!plain.contains("begins") && !plain.contains("degree"));
        // A name whose first note isn't played begins with its second one.
        let kept = piece("key: Eb\nrecast: accent-3 at 1.1 keep-last\n@Fm7 Ab3:1/4 C:1/4 Eb G r  r:2 |");
        assert_eq!(kept.timed().windows[0].left_out, [NoteId(0)]);
        let said = kept.describe(0, added).unwrap().events;
        assert_eq!(said.iter().filter(|event| event.says.contains("begins A flat major 7")).count(), 1);

        let renamed = piece(&format!("call: mine at 1.1 to 1.2\n{text}"));
        let alike = |added| [0, 1].map(|index| is_said_alike(named.score(), renamed.score(), index, added));
        assert_eq!((alike(added), alike(Annotations::default())), ([false, true], [true, true]));
        // Where a name stands in a list isn't said.
        let moved = |sign: &NameSign| NameSign { index: sign.index.map(|index| index + 1), ..sign.clone() };
        let moved: Vec<NameSign> = named.names().unwrap().iter().map(moved).collect();
        let moved = named.clone().with_names(moved.into());
        assert!([0, 1].iter().all(|&index| is_said_alike(named.score(), moved.score(), index, added)));
        // The first note of this one isn't played, and a rest comes before its second one.
        let rested = piece("recast: accent-3 at 1.1 keep-first\n@Fm7 Ab3:1/4 C:1/4 Eb G r  F Eb C Bb |");
        assert_eq!(rested.timed().windows[0].left_out, [NoteId(3)]);
        let sign = NameSign { first: NoteId(3), last: NoteId(6), ..named.names().unwrap()[1].clone() };
        let said = rested.with_names([sign].into()).describe(0, added).unwrap().events;
        let begins: Vec<_> = said.iter().map(|event| event.says.contains("begins A flat major 7")).collect();
        assert_eq!(begins, [false, false, false, false, true, false, false, false]);
    }

    #[test]
    fn what_the_hands_do() {
        let said = bars("C4^2_ D^2_ C^2_s D^2 E4^1.0 G4 F E |");
        for says in [", hammered on", ", pulled off", ", slid into", "string 1 open"] {
            assert!(said[0].contains(says), "{says}: {}", said[0]);
        }
    }
}
