//! The neck with a passage of the line on it. It reads like the tab: strings are horizontal, with the
//! highest-sounding one on top.

use std::fmt::Write;

use crate::attack::Attack;
use crate::chord::Degree;
use crate::harmony::degree;
use crate::line::{Event, NoteId};
use crate::names;
use crate::naming::by_name;
use crate::neck::{Finger, Fret, Neck, StringNo, Stroke};
use crate::pitch::{Alter, Pitch};
use crate::scene::{Group, Item, NeckCell, NeckPicture, NeckPlace, Point, Role, Sp};
use crate::score::Score;
use crate::time::{Onset, Span};

use crate::engrave::Setter;
use crate::font::{Face, Glyph};

/// What the discs show.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default, Hash)]
#[non_exhaustive]
pub enum Labels {
    /// The note's name.
    #[default]
    Names,
    /// Its degree over the current chord; nothing if there is no chord.
    Degrees,
    /// The finger; 0 for an open string.
    Fingers,
}

impl Labels {
    /// All choices, in the order they are offered.
    pub const ALL: [Labels; 3] = [Labels::Names, Labels::Degrees, Labels::Fingers];

    /// `names`, `degrees` or `fingers`.
    pub fn name(self) -> &'static str {
        match self {
            Labels::Names => "names",
            Labels::Degrees => "degrees",
            Labels::Fingers => "fingers",
        }
    }
}

by_name!(Labels, "a kind of label");

/// How the neck is shown.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default, Hash)]
pub struct FretboardLook {
    /// What the discs show.
    pub labels: Labels,
    /// Whether the nut is on the right, as a left-handed player sees it.
    pub left_handed: bool,
    /// The first and last fret to show in any case, with 0 for the open strings. More are shown if notes need
    /// them. `None` shows only what the notes need.
    pub frets: Option<(u8, u8)>,
}

/// The distance from string to string: a disc and the numbers above it.
const STRING_GAP: Sp = 4.5;
/// The radius of a disc and the width of its ring; that of a chord's root is thicker toward the outside. Where
/// there are only grace notes, the disc is smaller.
const RADIUS: Sp = 1.5;
const RING: Sp = 0.14;
const ROOT_RING: Sp = 0.36;
const GRACE_SIZE: f64 = 0.72;
/// The size of labels in staff spaces per em, unless there is less room.
const LABEL: Sp = 1.9;
const LABEL_ROOM: Sp = 2.2;
/// The size of the note numbers above a disc, in staff spaces per em.
const ORDER: Sp = 1.35;
const ORDER_GAP: Sp = 0.2;
/// If there are more than this, only the first ones are shown.
const MOST_ORDERS: usize = 4;
/// The thickness of the highest string, and how much thicker each one below it is.
const STRING: (Sp, Sp) = (0.08, 0.02);
const WIRE: Sp = 0.12;
/// The nut and the capo: their thickness, and how far they extend past the outer strings. The fret wires
/// extend as far as the nut.
const NUT: (Sp, Sp) = (0.5, 0.25);
const CAPO: (Sp, Sp) = (0.9, 0.7);
/// The least that is shown.
const FEWEST_FRETS: u8 = 5;
const LEAST_WIDTH: Sp = 28.0;
/// The width of the narrowest fret, and the free room in it beside the numbers.
const NARROWEST: Sp = 2.0 * RADIUS + 0.6;
const FREE: Sp = 0.5;
/// How far strings continue past the outer frets.
const GOES_ON: Sp = 0.9;
/// The room above the first string and below the last.
const ABOVE: Sp = RADIUS + ORDER_GAP + ORDER;
const BELOW: Sp = 4.0;
/// The size of fret numbers in staff spaces per em, and the height of their baseline above the lower edge.
const NUMBER: Sp = 1.6;
const FOOT: Sp = 0.4;
/// The radius of an inlay's dot, how far two of them are apart, and how far below the last string they are.
const INLAY: Sp = 0.26;
const INLAY_GAP: Sp = 1.0;
const UNDER_DISC: Sp = 2.05;
/// The frets with a number and a dot, counted from the nut: those where a guitar has inlays (common practice, no source).
const INLAYS: [u8; 10] = [3, 5, 7, 9, 12, 15, 17, 19, 21, 24];

/// A note at its place on the neck.
struct Touch {
    note: NoteId,
    pitch: Pitch,
    string: StringNo,
    fret: Fret,
    /// `None` for a grace note, for which the plan has no finger.
    finger: Option<Finger>,
    stroke: Option<Stroke>,
    is_grace: bool,
    degree: Option<Degree>,
}

/// The part of the neck that a passage of the line needs, with all notes that sound in it, including those
/// held over into it.
///
/// ```
/// use halfbar_core::fretboard::FretboardLook;
/// use halfbar_core::neck::{Fret, StringNo};
/// use halfbar_core::{Piece, read};
///
/// let reading = read::text("@Fm7 F3^4.3 Ab C Eb G F Eb C |");
/// let piece = Piece::new(reading.line.expect("a full bar"), reading.casting)?;
/// let picture = piece.fretboard(piece.line().bar(0)?, &FretboardLook::default());
/// let first = &picture.places[0];
/// assert_eq!((first.string, first.fret, first.notes.len()), (StringNo(4), Fret(3), 1));
/// # Ok::<(), halfbar_core::Error>(())
/// ```
pub fn fretboard(score: Score<'_>, stretch: Span, look: &FretboardLook) -> NeckPicture {
    let neck = &score.line.heading().neck;
    let touches = touches(score, stretch);
    let places = places(&touches, look.labels);
    let board = Board::of(neck, &places, look);
    let mut groups = vec![board.strings(&places), board.wires()];
    groups.extend(board.nut());
    groups.push(board.numbers());
    let capo = match neck.capo() {
        0 => String::new(),
        capo => format!(", capo on fret {capo}"),
    };
    let title = match board.nut {
        true => format!("Open strings to fret {}{capo}", board.last),
        false => format!("Frets {} to {}{capo}", board.first, board.last),
    };
    NeckPicture {
        width: board.width,
        height: board.foot() + BELOW,
        title,
        description: describe(&touches, look.labels),
        groups,
        places: (places.iter())
            .map(|place| NeckPlace {
                notes: place.notes.clone(),
                string: place.string,
                fret: place.fret,
                group: board.disc(place),
            })
            .collect(),
        cells: board.cells(),
    }
}

/// The notes that sound in a passage, each preceded by its grace note.
fn touches(score: Score<'_>, stretch: Span) -> Vec<Touch> {
    let Score { line, timed, fingering: plan, .. } = score;
    let chord = |onset: Onset| line.chord_at(onset.max(stretch.start()));
    let sounds = |event: &&Event| event.span().is_ok_and(|span| span.overlaps(stretch));
    let mut touches = Vec::new();
    for event in timed.events.iter().filter(sounds) {
        let (Some(pitch), Some(fretting)) = (event.pitch, plan.of(event.id)) else { continue };
        let (chord, frets) = (chord(event.onset), line.heading().neck.frets());
        let degree = |pitch: Pitch| degree(pitch.name, chord?);
        let touch = Touch {
            note: event.id,
            pitch,
            string: fretting.string,
            fret: fretting.fret,
            finger: Some(fretting.finger),
            stroke: plan.attacks().of(event.id).and_then(Attack::stroke),
            is_grace: false,
            degree: degree(pitch),
        };
        let before = event.grace.filter(|_| event.onset >= stretch.start());
        if let Some((grace, fret)) =
            before.and_then(|grace| Some((grace, fretting.grace_fret(grace, pitch, frets)?)))
        {
            let degree = degree(grace);
            touches.push(Touch {
                pitch: grace,
                fret,
                finger: None,
                stroke: None,
                is_grace: true,
                degree,
                ..touch
            });
        }
        touches.push(touch);
    }
    touches
}

/// A string and fret with everything that happens there.
struct Place {
    string: StringNo,
    fret: Fret,
    notes: Vec<NoteId>,
    /// The different labels of its notes.
    labels: Vec<Label>,
    /// Which of the notes they are, counted from 1 without the grace notes.
    order: Vec<usize>,
    /// Whether one of them is the root of its chord.
    is_root: bool,
}

/// A sign and letters.
#[derive(Clone, PartialEq)]
struct Label {
    /// Before the letters of a degree, but after those of a name.
    sign: i8,
    sign_first: bool,
    letters: String,
}

impl Label {
    fn of(touch: &Touch, labels: Labels) -> Option<Label> {
        let (sign, letters) = match labels {
            Labels::Names => {
                (touch.pitch.name.alter.half_steps(), touch.pitch.name.letter.as_char().to_string())
            }
            Labels::Degrees => {
                let degree = touch.degree?;
                (degree.alter().half_steps(), degree.number().to_string())
            }
            Labels::Fingers => (0, touch.finger?.0.to_string()),
        };
        Some(Label { sign, sign_first: labels != Labels::Names, letters })
    }
}

/// Every place once, in the order of their first notes.
fn places(touches: &[Touch], labels: Labels) -> Vec<Place> {
    let (mut places, mut count) = (Vec::<Place>::new(), 0);
    for touch in touches {
        let (string, fret) = (touch.string, touch.fret);
        let at = places.iter().position(|place| (place.string, place.fret) == (string, fret));
        let at = at.unwrap_or_else(|| {
            places.push(Place {
                string,
                fret,
                notes: Vec::new(),
                labels: Vec::new(),
                order: Vec::new(),
                is_root: false,
            });
            places.len() - 1
        });
        let place = &mut places[at];
        place.notes.push(touch.note);
        place.is_root |=
            touch.degree.is_some_and(|degree| degree.number() == 1 && degree.alter() == Alter::NATURAL);
        place.labels.extend(Label::of(touch, labels).filter(|label| !place.labels.contains(label)));
        if !touch.is_grace {
            count += 1;
            place.order.push(count);
        }
    }
    places
}

impl Place {
    /// `2 6`, or `1 3 5 ...` if there are many.
    fn order(&self) -> String {
        let many = self.order.len() > MOST_ORDERS;
        let told = if many { MOST_ORDERS - 1 } else { self.order.len() };
        let mut words: Vec<String> = self.order[..told].iter().map(usize::to_string).collect();
        words.extend(many.then(|| "...".into()));
        words.join(" ")
    }

    /// The size of its disc relative to others.
    fn size(&self) -> f64 {
        if self.order.is_empty() { GRACE_SIZE } else { 1.0 }
    }

    /// From its center to its outer edge.
    fn radius(&self) -> Sp {
        RADIUS * self.size() + self.ring() - RING
    }

    /// The width of its ring.
    fn ring(&self) -> Sp {
        if self.is_root { ROOT_RING } else { RING }
    }

    /// The room it needs between two frets.
    fn room(&self) -> Sp {
        (Face::Regular.width(&self.order()) * ORDER + FREE).max(NARROWEST)
    }
}

/// The part of the neck that is shown, and its size.
struct Board<'a> {
    neck: &'a Neck,
    /// The first and the last fret. If the nut is shown, it is before the first one.
    first: u8,
    last: u8,
    nut: bool,
    left_handed: bool,
    /// Staff spaces per mm along the strings.
    scale: f64,
    /// Where the first line across the strings is.
    start: Sp,
    width: Sp,
}

impl<'a> Board<'a> {
    fn of(neck: &'a Neck, places: &[Place], look: &FretboardLook) -> Board<'a> {
        // Show one fret on either side of those used; open strings need the nut.
        let around = |place: &Place| (place.fret.0.saturating_sub(1), place.fret.0.saturating_add(1));
        let used = places.iter().map(around).chain(look.frets);
        let used = used.reduce(|(a, b), (first, last)| (a.min(first), b.max(last)));
        let (first, last) = used.unwrap_or((0, FEWEST_FRETS));
        let last = last.max(first.max(1).saturating_add(FEWEST_FRETS - 1)).min(neck.frets());
        let first = first.min((last + 1).saturating_sub(FEWEST_FRETS)).max(1);
        let nut = first == 1;

        let mm = |fret: u8| neck.mm(fret) - neck.mm(fret - 1);
        let fretted = places.iter().filter(|place| place.fret.0 > 0);
        let rooms = fretted.map(|place| place.room() / mm(place.fret.0));
        let least = (NARROWEST / mm(last)).max(LEAST_WIDTH / (neck.mm(last) - neck.mm(first - 1)));
        let scale = rooms.fold(least, f64::max);
        let open = places.iter().filter(|place| place.fret.0 == 0).map(Place::room);
        let start = if nut { open.fold(NARROWEST, Sp::max) + nut_size(neck).0 } else { GOES_ON };
        let width = start + (neck.mm(last) - neck.mm(first - 1)) * scale + GOES_ON;
        Board { neck, first, last, nut, left_handed: look.left_handed, scale, start, width }
    }

    /// Where the line of a fret is for a right-handed player.
    fn wire(&self, fret: u8) -> Sp {
        self.start + (self.neck.mm(fret) - self.neck.mm(self.first - 1)) * self.scale
    }

    /// Where a fret begins and ends for a right-handed player; 0 is the room before the nut.
    fn reach(&self, fret: u8) -> (Sp, Sp) {
        match fret.checked_sub(1) {
            Some(before) => (self.wire(before), self.wire(fret)),
            None => (0.0, self.start - nut_size(self.neck).0),
        }
    }

    /// A range of x as the player sees it.
    fn seen(&self, (left, right): (Sp, Sp)) -> (Sp, Sp) {
        if self.left_handed { (self.width - right, self.width - left) } else { (left, right) }
    }

    fn center(&self, fret: u8) -> Sp {
        let (left, right) = self.seen(self.reach(fret));
        f64::midpoint(left, right)
    }

    fn string(&self, string: StringNo) -> Sp {
        ABOVE + STRING_GAP * f64::from(string.0.saturating_sub(1))
    }

    /// The lowest-sounding string.
    fn foot(&self) -> Sp {
        self.string(StringNo(self.neck.strings()))
    }

    /// The frets that are shown, along with the open strings if there is a nut.
    fn frets(&self) -> impl Iterator<Item = u8> {
        self.nut.then_some(0).into_iter().chain(self.first..=self.last)
    }

    /// A bar across the strings.
    fn bar(&self, group: &mut Group, reach: (Sp, Sp), over: Sp) {
        let (left, right) = self.seen(reach);
        let height = self.foot() - ABOVE + 2.0 * over;
        group.put(left, ABOVE - over, Item::Rect { width: right - left, height });
    }

    /// The strings, interrupted by the discs.
    fn strings(&self, places: &[Place]) -> Group {
        let mut group = Group::new(Role::Strings, None, None);
        for string in (1..=self.neck.strings()).map(StringNo) {
            let thick = STRING.0 + STRING.1 * f64::from(string.0 - 1);
            let y = self.string(string) - thick / 2.0;
            let mut start = if self.nut { self.start } else { 0.0 };
            let mut put = |start: Sp, end: Sp| {
                let (left, right) = self.seen((start, end));
                group.put(left, y, Item::Rect { width: right - left, height: thick });
            };
            let here = |fret| places.iter().find(|place| (place.string, place.fret) == (string, Fret(fret)));
            for place in (self.first..=self.last).filter_map(here) {
                let (left, right) = self.reach(place.fret.0);
                let center = f64::midpoint(left, right);
                put(start, center - place.radius());
                start = center + place.radius();
            }
            put(start, self.width);
        }
        group
    }

    fn wires(&self) -> Group {
        let mut group = Group::new(Role::Wires, None, None);
        for fret in self.first - u8::from(!self.nut)..=self.last {
            let x = self.wire(fret);
            self.bar(&mut group, (x - WIRE / 2.0, x + WIRE / 2.0), NUT.1);
        }
        group
    }

    /// The nut, or the capo in its place.
    fn nut(&self) -> Option<Group> {
        let mut group = Group::new(Role::Nut, None, None);
        let (thick, over) = nut_size(self.neck);
        self.bar(&mut group, (self.start - thick, self.start), over);
        if self.neck.capo() > 0 {
            let text = format!("Capo {}", self.neck.capo());
            let left = (self.start - Face::Semibold.width(&text) * NUMBER).max(0.0);
            let reach = (left, left + Face::Semibold.width(&text) * NUMBER);
            let y = self.foot() + BELOW - FOOT;
            group.put(self.seen(reach).0, y, Item::Text { face: Face::Semibold, size: NUMBER, text });
        }
        self.nut.then_some(group)
    }

    /// The fret numbers below the neck, and the dots that a player finds them by. A capo moves the numbers, not the dots.
    fn numbers(&self) -> Group {
        let mut group = Group::new(Role::FretNumber, None, None);
        for fret in self.first..=self.last {
            let from_nut = fret.saturating_add(self.neck.capo());
            let dots: &[Sp] = match INLAYS.contains(&from_nut) {
                // Two at the octave, as on the neck.
                true if from_nut % 12 == 0 => &[-INLAY_GAP / 2.0, INLAY_GAP / 2.0],
                true => &[0.0],
                false if fret == self.first => &[],
                false => continue,
            };
            for x in dots {
                let dot = Item::disc(INLAY);
                group.put(self.center(fret) + x, self.foot() + UNDER_DISC, dot);
            }
            let text = fret.to_string();
            let left = self.center(fret) - Face::Regular.width(&text) * NUMBER / 2.0;
            let number = Item::Text { face: Face::Regular, size: NUMBER, text };
            group.put(left, self.foot() + BELOW - FOOT, number);
        }
        group
    }

    /// A ring with its label, and the order above it.
    fn disc(&self, place: &Place) -> Group {
        let (x, y) = (self.center(place.fret.0), self.string(place.string));
        let mut group = Group::new(Role::Place, None, None);
        group.put(x, y, Item::ring(place.radius(), place.radius(), place.ring()));
        let (room, mut size) = (LABEL_ROOM * place.size(), LABEL * place.size());
        let mut label = set(&place.labels, size);
        if label.x > room {
            size *= room / label.x;
            label = set(&place.labels, size);
        }
        let (cap, _) = Face::Semibold.extent("0");
        for placed in label.items {
            group.put(x - label.x / 2.0 + placed.at.x, y - cap * size / 2.0 + placed.at.y, placed.item);
        }
        let text = place.order();
        let left = x - Face::Regular.width(&text) * ORDER / 2.0;
        if !text.is_empty() {
            let y = y - place.radius() - ORDER_GAP;
            group.put(left, y, Item::Text { face: Face::Regular, size: ORDER, text });
        }
        group
    }

    /// Everything that can be tapped, side by side.
    fn cells(&self) -> Vec<NeckCell> {
        let strings = (1..=self.neck.strings()).map(StringNo);
        let cells = strings.flat_map(|string| {
            self.frets().map(move |fret| {
                let (left, right) = self.seen(self.reach(fret));
                let at = Point::new(left, self.string(string) - STRING_GAP / 2.0);
                NeckCell { string, fret: Fret(fret), at, width: right - left, height: STRING_GAP }
            })
        });
        cells.collect()
    }
}

/// The thickness of the nut, or the capo in its place, and how far it extends past the outer strings.
fn nut_size(neck: &Neck) -> (Sp, Sp) {
    if neck.capo() > 0 { CAPO } else { NUT }
}

/// Labels side by side, separated by a slash.
fn set(labels: &[Label], size: Sp) -> Setter {
    let mut setter = Setter::default();
    for (index, label) in labels.iter().enumerate() {
        if index > 0 {
            setter.text("/", size, 0.0);
        }
        if !label.sign_first {
            setter.text(&label.letters, size, 0.0);
        }
        if label.sign != 0 {
            setter.sign(Glyph::accidental(label.sign), size, 0.0);
        }
        if label.sign_first {
            setter.text(&label.letters, size, 0.0);
        }
    }
    setter
}

/// Every note in words.
fn describe(touches: &[Touch], labels: Labels) -> String {
    let mut text = String::new();
    for touch in touches {
        if !text.is_empty() {
            text.push_str("; ");
        }
        text.push_str(&names::pitch(touch.pitch));
        let _ = write!(text, " on string {} ", touch.string.0);
        let _ = match touch.fret.0 {
            0 => write!(text, "open"),
            fret => write!(text, "fret {fret}"),
        };
        if let Some(degree) = touch.degree.filter(|_| labels == Labels::Degrees) {
            let _ = write!(text, ",{} {}", names::alter(degree.alter()), degree.number());
        }
        if touch.is_grace {
            text.push_str(", grace note");
        }
        if let Some(finger) = touch.finger.filter(|finger| finger.0 > 0) {
            let _ = write!(text, ", finger {}", finger.0);
        }
        if let Some(stroke) = touch.stroke {
            let _ = write!(text, ", {}", stroke.name());
        }
    }
    text.push_str(if text.is_empty() { "No notes." } else { "." });
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::font::Glyph;
    use crate::{Piece, read};

    fn piece(text: &str) -> Piece {
        let reading = read::text(text);
        assert!(reading.diagnostics.is_empty(), "{:?}", reading.diagnostics);
        Piece::new(reading.line.unwrap(), reading.casting).unwrap()
    }

    fn picture(text: &str, look: FretboardLook) -> NeckPicture {
        let piece = piece(text);
        fretboard(piece.score(), piece.line().bar(0).unwrap(), &look)
    }

    const LEFT: FretboardLook = FretboardLook { labels: Labels::Names, left_handed: true, frets: None };
    const TEXTS: [&str; 6] = [
        "@C6 E2^6.0 G^6.3 A^5.0 C^5.3 D^4.0 E^4.2 G^3.0 C^2.1 |",
        "neck: 24 frets\nB5^1.19 D#^1.23 E^1.24 C#^1.21 B^1.19 G#^2.21 F#^2.19 E^2.17 |",
        "neck: capo 2\nF#2^6.0 A^6.3 B^5.0 D^5.3 E^4.0 F#^4.2 (G#)A^3.0 D^2.1 |",
        "tuning: seven-string\nB1 D E F# G A B D |",
        "G3:1/4 A:1/4 G:1/4 A:1/4 G:1/4 A:1/4 G:1/4 A:1/4 G:1/4 A:1/4 G:1/4 A:1/4 r:1 |",
        "r:4 |",
    ];

    /// The ring of a place.
    fn middle(place: &NeckPlace) -> Point {
        place.group.items[0].at
    }

    #[test]
    fn every_note_has_its_disc_in_its_cell() {
        for text in TEXTS {
            for look in [FretboardLook::default(), LEFT] {
                let (piece, picture) = (piece(text), picture(text, look));
                for note in piece.fingering().notes() {
                    let fretting = piece.fingering().of(*note).unwrap();
                    let here =
                        |place: &&NeckPlace| (place.string, place.fret) == (fretting.string, fretting.fret);
                    let place = picture.places.iter().find(here).unwrap();
                    assert!(place.notes.contains(note), "{text}: {note:?}");
                    let cell = picture
                        .cells
                        .iter()
                        .find(|cell| (cell.string, cell.fret) == (place.string, place.fret));
                    let (cell, at) = (cell.unwrap(), middle(place));
                    assert!((cell.at.x + cell.width / 2.0 - at.x).abs() < 1e-9);
                    assert!((cell.at.y + cell.height / 2.0 - at.y).abs() < 1e-9);
                    // The disc is within its fret.
                    let [left, _, right, _] = place.group.items[0].bounds();
                    assert!(cell.at.x <= left && right <= cell.at.x + cell.width, "{text}: {note:?}");
                }
                let places: Vec<_> = picture.places.iter().map(|place| (place.string, place.fret)).collect();
                let twice = (1..places.len()).any(|index| places[..index].contains(&places[index]));
                assert!(!twice, "{text}: {places:?}");
            }
        }
    }

    #[test]
    fn all_ink_lies_in_the_picture() {
        for text in TEXTS {
            for labels in Labels::ALL {
                for left_handed in [false, true] {
                    let picture = picture(text, FretboardLook { labels, left_handed, frets: None });
                    for group in picture.groups() {
                        let Some([left, top, right, bottom]) = group.bounds() else { continue };
                        let inside = left > -1e-9 && right < picture.width + 1e-9;
                        assert!(inside && top >= 0.0 && bottom <= picture.height, "{text}: {group:?}");
                    }
                }
            }
        }
    }

    #[test]
    fn strings_break_at_discs_and_end_within_the_frets() {
        for text in TEXTS {
            for look in [FretboardLook::default(), LEFT] {
                let picture = picture(text, look);
                let bounds = |role: Role| picture.groups.iter().find(|group| group.role == role)?.bounds();
                let (strings, wires) = (bounds(Role::Strings).unwrap(), bounds(Role::Wires).unwrap());
                assert!(wires[1] < strings[1] && strings[3] < wires[3], "{text}: {strings:?} {wires:?}");
                assert!(strings[1] - wires[1] < NUT.1 && wires[3] - strings[3] < NUT.1);
                let lines = picture.groups.iter().find(|group| group.role == Role::Strings).unwrap();
                for place in &picture.places {
                    let [left, top, right, bottom] = place.group.items[0].bounds();
                    for line in &lines.items {
                        let [start, above, end, below] = line.bounds();
                        let beside = end <= left + 1e-9 || start >= right - 1e-9;
                        assert!(beside || below < top || above > bottom, "{text}: {:?}", place.notes);
                    }
                }
            }
        }
    }

    #[test]
    fn left_handed_is_mirrored() {
        for text in TEXTS {
            let (right, left) = (picture(text, FretboardLook::default()), picture(text, LEFT));
            assert_eq!(right.width, left.width);
            for (one, other) in right.places.iter().zip(&left.places) {
                assert!((middle(one).x + middle(other).x - right.width).abs() < 1e-9);
                assert_eq!(middle(one).y, middle(other).y);
            }
        }
    }

    #[test]
    fn everything_can_be_tapped() {
        for text in TEXTS {
            let picture = picture(text, FretboardLook::default());
            let strings = piece(text).line().heading().neck.strings();
            let frets = |string: u8| {
                let cells = picture.cells.iter().filter(move |cell| cell.string.0 == string);
                cells.map(|cell| cell.fret.0).collect::<Vec<_>>()
            };
            let shown = frets(1);
            assert!(
                shown.len() >= usize::from(FEWEST_FRETS) && shown.windows(2).all(|two| two[0] + 1 == two[1])
            );
            assert!((1..=strings).all(|string| frets(string) == shown), "{text}");
            // 24 pixels at 12 to the staff space.
            assert!(picture.cells.iter().all(|cell| cell.width >= 2.0 && cell.height >= 2.0), "{text}");
            let overlap = |a: &NeckCell, b: &NeckCell| {
                (a.at.x + a.width).min(b.at.x + b.width) - a.at.x.max(b.at.x) > 1e-9
                    && (a.at.y + a.height).min(b.at.y + b.height) - a.at.y.max(b.at.y) > 1e-9
            };
            for (index, cell) in picture.cells.iter().enumerate() {
                assert!(!picture.cells[..index].iter().any(|other| overlap(cell, other)), "{text}: {cell:?}");
            }
        }
    }

    /// How many dots are under each fret with a number, and that number.
    fn dots(text: &str) -> Vec<(String, usize)> {
        let look = FretboardLook { frets: Some((1, 14)), ..FretboardLook::default() };
        let picture = picture(text, look);
        let numbers = picture.groups.iter().find(|group| group.role == Role::FretNumber).unwrap();
        let (mut dots, mut told) = (0, Vec::new());
        for placed in &numbers.items {
            match &placed.item {
                Item::Text { text, .. } => told.push((text.clone(), std::mem::take(&mut dots))),
                _ => dots += 1,
            }
        }
        told
    }

    #[test]
    fn dots_are_where_the_neck_has_them() {
        let told = |text: &str| {
            dots(text).iter().map(|(fret, dots)| format!("{fret}:{dots}")).collect::<Vec<_>>().join(" ")
        };
        assert_eq!(told("r:4 |"), "1:0 3:1 5:1 7:1 9:1 12:2");
        // A capo at 2 leaves them where they are, so the third fret's dot is under the first one from there.
        assert_eq!(told("neck: capo 2\nr:4 |"), "1:1 3:1 5:1 7:1 10:2 13:1");
    }

    #[test]
    fn only_roots_have_a_thick_ring() {
        let picture = picture("@C7 Bb3:1 C4:1 E:1 r:1 |", FretboardLook::default());
        let rings: Vec<bool> = picture
            .places
            .iter()
            .map(|place| {
                let [left, _, right, _] = place.group.items[0].bounds();
                (right - left) / 2.0 > RADIUS + 1e-9
            })
            .collect();
        assert_eq!(rings, [false, true, false]);
    }

    /// Twelve frets halve the string, so each fret is the twelfth root of 1/2 of the one before it.
    #[test]
    fn frets_narrow() {
        let look = FretboardLook { frets: Some((0, 12)), ..FretboardLook::default() };
        let picture = picture("r:4 |", look);
        let widths: Vec<_> =
            picture.cells.iter().filter(|cell| cell.string.0 == 1 && cell.fret.0 > 0).collect();
        assert_eq!(widths.len(), 12);
        for two in widths.windows(2) {
            assert!((two[1].width / two[0].width - 0.5f64.powf(1.0 / 12.0)).abs() < 1e-6);
        }
    }

    #[test]
    fn labels_have_real_signs() {
        let signs = |text: &str, labels: Labels| {
            let look = FretboardLook { labels, ..FretboardLook::default() };
            let picture = picture(text, look);
            let each = picture.places.iter().map(|place| {
                place.group.items.iter().find_map(|placed| match placed.item {
                    Item::Glyph(glyph, _) => Some(glyph),
                    _ => None,
                })
            });
            each.collect::<Vec<_>>()
        };
        let text = "@C7 Bb3:1 F#:1 E:1 r:1 |";
        assert_eq!(signs(text, Labels::Names), [Some(Glyph::Flat), Some(Glyph::Sharp), None]);
        assert_eq!(signs(text, Labels::Degrees), [Some(Glyph::Flat), Some(Glyph::Sharp), None]);
        assert_eq!(signs(text, Labels::Fingers), [None; 3]);
    }

    #[test]
    fn words_say_the_same() {
        let look = FretboardLook { labels: Labels::Degrees, ..FretboardLook::default() };
        let picture = picture("@Cm7 Eb3^4.1 D^4.0 r:3 |", look);
        assert_eq!(picture.title, "Open strings to fret 5");
        assert!(picture.description.starts_with("E flat 3 on string 4 fret 1, flat 3, finger 1, down; "));
        assert!(picture.description.contains("; D 3 on string 4 open, 9"), "{}", picture.description);
    }
}
