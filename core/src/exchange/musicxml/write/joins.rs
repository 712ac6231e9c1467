//! Where slurs, slides, hammer-ons and pull-offs start and stop.
//!
//! A slur runs over all notes that lead on by hammer-ons and pull-offs, their tied parts included, as it is drawn. Each hammer-on and pull-off
//! is said as well, from note to note, since a slur alone doesn't say how the notes are played. A grace note has a slur of its own to its note;
//! whatever leads into the note leads into the grace note first.

use crate::attack::{Attack, Attacks};
use crate::line::Legato;
use crate::notate::Symbol;
use crate::pitch::Pitch;

use super::sheet::Place;

/// One end of something that joins two notes.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum End {
    Stop,
    Start,
}

impl End {
    pub(super) fn name(self) -> &'static str {
        match self {
            End::Stop => "stop",
            End::Start => "start",
        }
    }
}

/// The slur over several notes, and that of a grace note.
const SLUR: &str = "1";
const GRACE: &str = "2";

/// What starts and stops at a note, stops first.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub(super) struct Joins {
    /// With their numbers.
    pub(super) slurs: Vec<(End, &'static str)>,
    pub(super) slides: Vec<End>,
    /// Hammer-ons and pull-offs.
    pub(super) fingers: Vec<(End, Attack)>,
}

/// What joins the grace note of a symbol to others.
pub(super) fn of_grace(place: &Place<'_>, grace: Pitch, attacks: &Attacks) -> Joins {
    let mut joins = Joins::default();
    joins.come_in(place, grace, attacks);
    joins.slurs.push((End::Start, GRACE));
    joins
}

/// What joins a symbol to others.
pub(super) fn of_symbol(place: &Place<'_>, attacks: &Attacks) -> Joins {
    let mut joins = Joins::default();
    let symbol = place.symbol;
    let Some(pitch) = symbol.pitch else { return joins };
    let begins = attacks.of(symbol.note).and_then(Attack::legato);
    let leads = attacks.leads(symbol.note);
    match symbol.grace {
        Some(_) => joins.slurs.push((End::Stop, GRACE)),
        None if !symbol.tied_from => joins.come_in(place, pitch, attacks),
        None => {}
    }
    // From the first symbol of the first note to the last symbol of the last one.
    if !symbol.tied_to && begins == Some(Legato::Slur) && leads != Some(Legato::Slur) {
        joins.slurs.push((End::Stop, SLUR));
    }
    if !symbol.tied_from && leads == Some(Legato::Slur) && begins != Some(Legato::Slur) {
        joins.slurs.push((End::Start, SLUR));
    }
    if !symbol.tied_to
        && let (Some(legato), Some(to)) = (leads, place.after.and_then(first_pitch))
    {
        joins.put(End::Start, Attack::led(legato, pitch, to));
    }
    joins
}

impl Joins {
    /// What leads into a note that begins with this pitch.
    fn come_in(&mut self, place: &Place<'_>, to: Pitch, attacks: &Attacks) {
        let legato = attacks.of(place.symbol.note).and_then(Attack::legato);
        if let (Some(legato), Some(from)) = (legato, place.before.and_then(|before| before.pitch)) {
            self.put(End::Stop, Attack::led(legato, from, to));
        }
    }

    fn put(&mut self, end: End, attack: Attack) {
        match attack {
            Attack::Slid => self.slides.push(end),
            attack => self.fingers.push((end, attack)),
        }
    }
}

/// The pitch that is heard first.
fn first_pitch(symbol: &Symbol) -> Option<Pitch> {
    symbol.grace.map(|grace| grace.pitch).or(symbol.pitch)
}
