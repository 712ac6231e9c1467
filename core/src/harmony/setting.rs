//! A line as naming sees it: its notes, with what their chords make of them.

use std::collections::HashMap;
use std::sync::Arc;

use crate::chord::{Chord, ChordSymbol, Quality};
use crate::key::{Key, Mode};
use crate::line::{Line, NoteId};
use crate::pitch::PitchName;
use crate::scale::{Scale, ScaleKind};
use crate::time::{Duration, Onset};

use super::name::{Charge, Term};
use super::scales::{key_scale, scales};
use super::tones::{Tones, class, fifths};
use super::weights::{self, Cost};

/// A note.
#[derive(Clone, Copy, Debug)]
pub(super) struct Tone {
    pub(super) id: NoteId,
    /// Half steps, as MIDI counts them.
    pub(super) key: i32,
    /// Its place among the twelve tones, from C.
    pub(super) class: u8,
    pub(super) name: PitchName,
    /// Where the name is in the circle of fifths, from C.
    pub(super) fifths: i32,
    /// Which of the line's note names it has.
    pub(super) tonic: usize,
    pub(super) onset: Onset,
    /// Which of the chords it is under.
    pub(super) over: usize,
    /// It starts on a beat.
    pub(super) is_on_beat: bool,
    /// There is a rest before it: a short one, or one that ends any name.
    pub(super) gap: bool,
    pub(super) breaks: bool,
    /// It lasts an eighth at most.
    pub(super) is_short: bool,
}

/// A chord with all that names ask about it.
#[derive(Clone, Debug)]
pub(super) struct Over {
    pub(super) symbol: ChordSymbol,
    /// The root and the quality, if there is a chord that can be read.
    pub(super) root: Option<u8>,
    pub(super) quality: Option<Quality>,
    pub(super) tones: Tones,
    pub(super) scales: Vec<(Scale, Tones)>,
    /// The scale of the key at that place.
    pub(super) key: Option<(Scale, Tones)>,
}

/// What the tones of a name are meant as.
#[derive(Clone, Copy, Debug)]
pub(super) enum Meant {
    /// A chord on this root.
    Chord(u8),
    /// A scale.
    Scale(Scale),
    Tones,
}

/// A line.
#[derive(Clone, Debug)]
pub(super) struct Setting {
    pub(super) notes: Vec<Tone>,
    pub(super) chords: Vec<Arc<Over>>,
    /// The pentatonic scales on each of the line's note names.
    pub(super) pentatonics: Vec<Vec<(Scale, Tones)>>,
}

impl Setting {
    pub(super) fn of(line: &Line) -> Setting {
        // Before the first chord there is none.
        let mut chords = vec![Arc::new(Over::of(&ChordSymbol::NoChord, key_at(line, Onset::ZERO)))];
        // Most lines have few chords, over and over.
        let mut known: HashMap<(&ChordSymbol, Key), Arc<Over>> = HashMap::new();
        for chord in line.chords() {
            let key = key_at(line, chord.onset);
            let over =
                known.entry((&chord.symbol, key)).or_insert_with(|| Arc::new(Over::of(&chord.symbol, key)));
            chords.push(Arc::clone(over));
        }
        let mut tonics: HashMap<PitchName, usize> = HashMap::new();
        let mut pentatonics = Vec::new();
        let mut notes: Vec<Tone> = Vec::new();
        let mut silence = Duration::ZERO;
        for event in line.events() {
            let Some((pitch, key)) = event.pitch.and_then(|pitch| Some((pitch, pitch.midi()?))) else {
                silence = silence.checked_add(event.duration).unwrap_or(event.duration);
                continue;
            };
            let over = line.chords().partition_point(|chord| chord.onset <= event.onset);
            let tonic = *tonics.entry(pitch.name).or_insert_with(|| {
                pentatonics.push(pentatonics_on(pitch.name));
                pentatonics.len() - 1
            });
            let is_on_beat = line.bars().split(event.onset).is_ok_and(|(bar, offset)| {
                let unit = line.bars().meter(bar).unit_length().max(Duration::QUARTER);
                offset.is_multiple_of(unit)
            });
            notes.push(Tone {
                id: event.id,
                key: key.0.into(),
                class: class(pitch.name),
                name: pitch.name,
                fifths: fifths(pitch.name),
                tonic,
                onset: event.onset,
                over,
                is_on_beat,
                gap: silence > Duration::ZERO,
                breaks: silence >= Duration::QUARTER,
                is_short: event.duration <= Duration::EIGHTH,
            });
            silence = Duration::ZERO;
        }
        Setting { notes, chords, pentatonics }
    }

    /// The chord that a note is under.
    pub(super) fn over(&self, note: usize) -> &Over {
        &self.chords[self.notes[note].over]
    }

    /// Where a name that starts with a note has to end at the latest.
    pub(super) fn reach(&self, first: usize) -> usize {
        let last = self.notes.len().min(first + weights::LONGEST);
        (first + 1..last).find(|&note| self.notes[note].breaks).unwrap_or(last)
    }

    /// What any name for some notes is charged for, whichever it is: that it is one, where it starts, and rests in it.
    pub(super) fn any(&self, first: usize, end: usize) -> Charges {
        let mut charges = Charges::default();
        charges.add(Term::Name, weights::NAME);
        if !self.notes[first].is_on_beat {
            charges.add(Term::OffBeat, weights::OFF_BEAT);
        }
        if self.notes[first + 1..end].iter().any(|note| note.gap) {
            charges.add(Term::Bridged, weights::BRIDGED);
        }
        charges
    }

    /// What a name is charged for the chords that its notes are under.
    pub(super) fn fit(&self, first: usize, end: usize, meant: Meant, charges: &mut Charges) {
        let own = &self.notes[first..end];
        let tones: Tones = own.iter().map(|note| note.class).collect();
        let chords = own[0].over..=own[own.len() - 1].over;
        // A name that goes over a change belongs to one of the chords.
        let under = |main: usize| {
            let chord = &self.chords[main];
            let term = if chord.root.is_some() { Term::Tones } else { Term::Key };
            let mut some = Charges::default().with(term, chord.suits(tones, meant));
            let elsewhere = own.iter().filter(|note| note.over != main).count();
            if elsewhere == 0 {
                return some;
            }
            let each = weights::OTHER_CHORD * u32::try_from(elsewhere).unwrap_or(u32::MAX);
            some.add(Term::OtherChord, each.min(weights::OTHER_CHORDS));
            let is_early = own[0].is_short && own[1..].iter().all(|note| note.over == main);
            if is_early {
                return some.with(Term::Anticipation, weights::ANTICIPATION);
            }
            let suits = |chord: usize| self.chords[chord].suits(tones, Meant::Tones) < weights::OUTSIDE;
            let suits_all = chords.clone().all(suits);
            some.with(Term::Change, if suits_all { weights::CHANGE_BOTH } else { weights::CHANGE_ONE })
        };
        let best = chords.clone().map(under).min_by_key(Charges::cost);
        best.iter().for_each(|best| charges.extend(best));
    }

    /// Whether any chord of some notes is like this.
    pub(super) fn says(&self, first: usize, end: usize, is: impl Fn(&Over) -> bool) -> bool {
        self.chords[self.notes[first].over..=self.notes[end - 1].over].iter().any(|over| is(over))
    }
}

/// The minor and the major pentatonic scale on a tonic. Where no key is written with that tonic, another name of it is used: B minor, not Cb minor.
fn pentatonics_on(tonic: PitchName) -> Vec<(Scale, Tones)> {
    let kinds = [("minor pentatonic", Mode::Minor), ("major pentatonic", Mode::Major)];
    let scale = |(name, mode): (&str, Mode)| {
        let has_key = |tonic: &PitchName| Key::new(*tonic, mode).is_ok();
        let readable = tonic.enharmonics().find(has_key).unwrap_or(tonic);
        Scale::new(readable, ScaleKind::usual(name)?).ok()
    };
    kinds.into_iter().filter_map(scale).map(|scale| (scale, scale.degrees().collect())).collect()
}

fn key_at(line: &Line, onset: Onset) -> Key {
    line.bars().split(onset).map_or(Key::C, |(bar, _)| line.bars().key(bar))
}

impl Over {
    fn of(symbol: &ChordSymbol, key: Key) -> Over {
        let chord = symbol.chord();
        let scales = chord.map(|chord| scales(chord, key)).unwrap_or_default();
        let with_tones = |scale: Scale| (scale, scale.degrees().collect::<Tones>());
        Over {
            symbol: symbol.clone(),
            root: chord.map(|chord| class(chord.root())),
            quality: chord.and_then(|chord| chord.quality().ok()),
            tones: chord.into_iter().flat_map(Chord::tones).map(|(_, name)| name).collect(),
            scales: scales.into_iter().map(with_tones).collect(),
            key: key_scale(key).map(with_tones),
        }
    }

    /// The chord, if there is one.
    pub(super) fn chord(&self) -> Option<&Chord> {
        self.symbol.chord()
    }

    /// What it costs that a name with these tones is over this chord.
    fn suits(&self, tones: Tones, meant: Meant) -> Cost {
        let holds = |&(_, scale): &(Scale, Tones)| scale.has_all(tones);
        let rank = match meant {
            Meant::Scale(scale) => self.scales.iter().position(|(own, _)| *own == scale),
            _ => self.scales.iter().position(holds),
        };
        let is_own = rank == Some(0) || (self.tones.has_all(tones) && !matches!(meant, Meant::Scale(_)));
        let is_key = self.key.filter(|key| match meant {
            Meant::Scale(scale) => key.0 == scale,
            _ => holds(key),
        });
        match (meant, rank, is_key, self.root) {
            (Meant::Chord(of), _, _, Some(root)) if is_own && of == root => 0,
            _ if is_own => weights::CHORD_OR_SCALE,
            // Where there is no chord, the key is all there is.
            (_, None, Some(_), None) => weights::CHORD_OR_SCALE,
            (_, Some(rank), is_key, _) => {
                let later = weights::by_rank(&weights::LATER_SCALE, rank.saturating_sub(1));
                if is_key.is_some() { later.min(weights::KEY) } else { later }
            }
            (_, None, Some(_), _) => weights::KEY,
            (_, None, None, _) => weights::OUTSIDE,
        }
    }
}

/// Charges as they are collected. There are many more of them than names in the end, so they are kept small and in place.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Charges {
    list: [(Term, u8); Charges::MOST],
    count: u8,
}

impl Default for Charges {
    fn default() -> Charges {
        Charges { list: [(Term::Name, 0); Charges::MOST], count: 0 }
    }
}

impl Charges {
    /// More than any name is charged for: many terms exclude each other.
    const MOST: usize = 16;

    pub(super) fn add(&mut self, term: Term, cost: Cost) {
        if cost == 0 {
            return;
        }
        debug_assert!(usize::from(self.count) < Charges::MOST, "{term:?} is one charge too many");
        if let Some(next) = self.list.get_mut(usize::from(self.count)) {
            // At 255, any name costs more than its notes do without one: more makes no difference.
            *next = (term, u8::try_from(cost).unwrap_or(u8::MAX));
            self.count += 1;
        }
    }

    pub(super) fn extend(&mut self, others: &Charges) {
        others.all().for_each(|charge| self.add(charge.term, charge.cost));
    }

    pub(super) fn all(&self) -> impl Iterator<Item = Charge> {
        let list = &self.list[..usize::from(self.count)];
        list.iter().map(|&(term, cost)| Charge { term, cost: cost.into() })
    }

    /// The same without those of a term.
    pub(super) fn without(&self, term: Term) -> Charges {
        let mut others = Charges::default();
        let kept = self.all().filter(|charge| charge.term != term);
        kept.for_each(|charge| others.add(charge.term, charge.cost));
        others
    }

    pub(super) fn cost(&self) -> Cost {
        self.all().map(|charge| charge.cost).sum()
    }

    /// The same with another charge.
    pub(super) fn with(mut self, term: Term, cost: Cost) -> Charges {
        self.add(term, cost);
        self
    }
}
