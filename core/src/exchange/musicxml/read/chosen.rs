//! One voice: its tied notes as one, with their grace notes; and one of those that sound together.

use std::collections::BTreeMap;

use crate::bars::Place;
use crate::exchange::choice::Keep;
use crate::exchange::error::{ExchangeError, Result};
use crate::exchange::musicxml::{MusicXmlError, Spot};
use crate::line::Legato;
use crate::pitch::{MidiKey, Pitch};
use crate::technique::Pin;
use crate::time::{Duration, Onset, Span};

use super::bars::Timeline;
use super::direction::count;
use super::model::{Edge, LeftOut, Note, Score, Sound, Staff, Wrong};
use super::voices;

/// A note at its time in the line.
#[derive(Clone, Copy, Debug)]
pub(super) struct Chosen {
    pub(super) onset: Onset,
    pub(super) duration: Duration,
    pub(super) pitch: Pitch,
    pub(super) grace: Option<Pitch>,
    pub(super) hand: Pin,
    pub(super) legato: Option<Legato>,
    /// The index of its bar in the file.
    bar: usize,
}

/// The voice that is read.
pub(super) struct Reading<'s> {
    pub(super) score: &'s Score,
    pub(super) part: usize,
    pub(super) staff: &'s Staff,
    /// The index of the voice in the staff.
    pub(super) voice: usize,
    pub(super) timeline: &'s Timeline,
}

impl Chosen {
    fn key(&self) -> Option<MidiKey> {
        self.pitch.midi()
    }

    pub(super) fn end(&self) -> Result<Onset> {
        Ok(self.onset.checked_add(self.duration)?)
    }
}

impl Reading<'_> {
    /// Its notes and rests as they are in the file, in order of time, each with the index of its bar.
    fn written(&self) -> Vec<(usize, &Note)> {
        let (Some(part), Some(voice)) = (self.score.parts.get(self.part), self.staff.voices.get(self.voice))
        else {
            return Vec::new();
        };
        let bars = part.bars.iter().enumerate();
        let notes = bars.flat_map(|(bar, content)| content.notes.iter().map(move |note| (bar, note)));
        let mut notes: Vec<(usize, &Note)> = notes
            .filter(|(_, note)| note.staff == self.staff.number && voice.members.contains(&note.voice))
            .collect();
        notes.sort_by_key(|(bar, note)| (*bar, note.onset));
        notes
    }

    /// Its notes, one after another.
    pub(super) fn chosen(&self, keep: Keep, left_out: &mut LeftOut) -> Result<Vec<Chosen>> {
        let written = self.written();
        let on_tab = self.on_tab();
        let mut notes: Vec<Chosen> = Vec::new();
        // By pitch, the index of the note that goes on.
        let mut open: BTreeMap<MidiKey, usize> = BTreeMap::new();
        let mut graces: Vec<(usize, &Note)> = Vec::new();
        for (bar, note) in written {
            note.left_out.iter().for_each(|what| count(left_out, what));
            let pitch = match note.sound {
                Sound::Rest => continue,
                Sound::Wrong(_) if note.is_grace => continue,
                Sound::Wrong(wrong) => return Err(self.wrong(wrong, bar, note).into()),
                Sound::Pitch(pitch) => pitch,
            };
            if note.is_grace {
                graces.push((bar, note));
                continue;
            }
            let onset = self.onset(bar, note)?;
            let key = pitch.midi().ok_or_else(|| self.wrong(Wrong::Pitch, bar, note))?;
            let (hand, legato) = match on_tab.get(&(bar, note.onset, key)) {
                Some(tab) => (over(note.hand, tab.hand), note.legato.or(tab.legato)),
                None => (note.hand, note.legato),
            };
            // Some programs leave out where a tie stops: it does at the next note of this pitch.
            let before = open.get(&key).copied();
            let before =
                before.filter(|before| notes.get(*before).is_some_and(|held| held.end().ok() == Some(onset)));
            let index = before.unwrap_or(notes.len());
            match notes.get_mut(index) {
                Some(held) => {
                    held.duration = held.duration.checked_add(note.duration)?;
                    held.legato = legato.or(held.legato);
                }
                None => {
                    let near =
                        graces.last().filter(|(other, grace)| (*other, grace.onset) == (bar, note.onset));
                    let grace = near.and_then(|(_, grace)| grace.pitch());
                    // The pick strikes the grace note.
                    let stroke = hand.stroke.or(near.and_then(|(_, grace)| grace.hand.stroke));
                    let hand = Pin { stroke, ..hand };
                    let more = graces.len() - usize::from(grace.is_some());
                    (0..more).for_each(|_| count(left_out, "grace note"));
                    graces.clear();
                    notes.push(Chosen { onset, duration: note.duration, pitch, grace, hand, legato, bar });
                }
            }
            match note.tied_to {
                true => open.insert(key, index),
                false => open.remove(&key),
            };
        }
        graces.iter().for_each(|_| count(left_out, "grace note"));
        self.apart(notes, keep, left_out)
    }

    /// One of the notes that sound together, at any time.
    fn apart(&self, notes: Vec<Chosen>, keep: Keep, left_out: &mut LeftOut) -> Result<Vec<Chosen>> {
        let mut kept: Vec<Chosen> = Vec::new();
        for mut note in notes {
            let Some(held) = kept.last_mut() else {
                kept.push(note);
                continue;
            };
            if held.end()? <= note.onset {
                kept.push(note);
                continue;
            }
            let wins = match keep {
                Keep::Single => {
                    return Err(ExchangeError::Together { place: self.place(note.bar, note.onset)? });
                }
                Keep::Top => note.key() > held.key(),
                Keep::Bottom => note.key() < held.key(),
            };
            if wins && held.onset == note.onset {
                note.grace = note.grace.or(held.grace);
                *held = note;
                count(left_out, "note sounding together with another");
            } else if wins {
                held.duration = note.onset.checked_since(held.onset)?;
                held.legato = None;
                kept.push(note);
            } else {
                count(left_out, "note sounding together with another");
            }
        }
        Ok(kept)
    }

    /// Where the file has a tuplet with its own sign.
    pub(super) fn tuplets(&self) -> Result<Vec<Span>> {
        let (mut spans, mut open) = (Vec::new(), BTreeMap::new());
        for (bar, note) in self.written() {
            for (edge, number) in &note.tuplets {
                let onset = self.onset(bar, note)?;
                match edge {
                    Edge::Start => drop(open.insert((note.voice, *number), onset)),
                    Edge::Stop => {
                        let start = open.remove(&(note.voice, *number));
                        let end = onset.checked_add(note.duration)?;
                        spans.extend(start.and_then(|start| Span::new(start, end)));
                    }
                }
            }
        }
        Ok(spans)
    }

    /// What the tab staff says about each note.
    fn on_tab(&self) -> BTreeMap<(usize, Duration, MidiKey), &Note> {
        let tab = self.staff.tab.and_then(|tab| Some((tab, self.score.parts.get(self.part)?)));
        let notes = tab
            .into_iter()
            .flat_map(|(tab, part)| voices::notes(part).filter(move |(_, note)| note.staff == tab));
        notes.filter_map(|(bar, note)| Some(((bar, note.onset, note.pitch()?.midi()?), note))).collect()
    }

    /// When a note starts in the line.
    fn onset(&self, bar: usize, note: &Note) -> Result<Onset> {
        let place = self.timeline.places.get(bar).ok_or(MusicXmlError::Empty)?;
        if note.end() > place.room && note.sounds() {
            let mut spot = self.spot(bar, place.start)?;
            spot.beat = Duration::QUARTER;
            let meter = place.meter;
            return Err(MusicXmlError::Long { spot, length: note.end(), meter }.into());
        }
        Ok(place.start.checked_add(note.onset)?)
    }

    fn wrong(&self, wrong: Wrong, bar: usize, note: &Note) -> MusicXmlError {
        let start = self.timeline.places.get(bar).map_or(Onset::ZERO, |place| place.start);
        let onset = start.checked_add(note.onset).unwrap_or(start);
        let nowhere = Spot { part: String::new(), bar: String::new(), beat: Duration::QUARTER };
        let spot = self.spot(bar, onset).unwrap_or(nowhere);
        match wrong {
            Wrong::Microtone => MusicXmlError::Microtone { spot },
            Wrong::Unpitched => MusicXmlError::Unpitched { spot },
            Wrong::Pitch => MusicXmlError::Pitch { spot },
            Wrong::Length => MusicXmlError::Length { spot },
        }
    }

    /// A place as the file counts it.
    fn spot(&self, bar: usize, onset: Onset) -> Result<Spot> {
        let part = self.score.parts.get(self.part);
        let number = part.and_then(|part| part.bars.get(bar)).map_or("", |bar| bar.number.as_str());
        let beat = self.timeline.bars.place(onset)?.beat;
        Ok(Spot { part: part.map_or(String::new(), |part| part.name.clone()), bar: number.into(), beat })
    }

    /// A place with the file's number of the bar, if that is a number.
    fn place(&self, bar: usize, onset: Onset) -> Result<Place> {
        let place = self.timeline.bars.place(onset)?;
        Ok(Place { bar: self.spot(bar, onset)?.bar.parse().unwrap_or(place.bar), ..place })
    }
}

/// What one staff says about a note, and then the other.
fn over(one: Pin, other: Pin) -> Pin {
    Pin {
        string: one.string.or(other.string),
        fret: one.fret.or(other.fret),
        finger: one.finger.or(other.finger),
        stroke: one.stroke.or(other.stroke),
    }
}
