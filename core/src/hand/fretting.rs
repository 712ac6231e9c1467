//! The fretting hand: what there is to fret in a plain line, what states the hand can be in, and what these cost. Nothing in here knows what is
//! recast, how fast the line is played, or how it is picked: a player who has learned a line keeps it at every tempo and in every rhythm.

use std::sync::Arc;

use crate::line::{Event, Heading, Legato, Line, NoteId};
use crate::neck::{Neck, StringNo};
use crate::technique::Constraint;
use crate::time::Duration;

use super::beats::Beat;
use super::cells::{self, InCell, Key, Shaped};
use super::error::{FingeringError, Result};
use super::reach::{Fretting, Reach, Ways};
use super::search::Hand;
use super::terms::Term;
use super::weights::{Cost, EASY_FRETS, FrettingWeights, HIGH, RELAXED_MM, bright, ease};

/// A note this long gives the hands time to start anew.
pub(super) const TIME_TO_RETURN: Duration = Duration::of(2, 1);

/// A note to be fretted.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct ToFret {
    /// Every way to fret it that is left by what is settled; at least one.
    pub(super) ways: Ways,
    /// From the start of the note before, in beats.
    time: Duration,
    /// What a shift costs in that time, in percent.
    ease: Cost,
    /// Nothing comes before it, or a rest, or a note so long that the hand starts anew.
    fresh: bool,
    /// It lies in the second half of a half-bar, where figures have their shortest notes.
    late: bool,
    /// It is a half step from the note before.
    half_step: bool,
    /// It is the first note of its bar.
    pub(super) opens_bar: bool,
    /// How the note before leads into it.
    led: Option<Legato>,
    /// Its place in a sequence, and how it is fretted in the shapes of its cell.
    cell: Option<(InCell, Shaped)>,
}

/// The notes of a line, and what there is to fret.
pub(super) struct ToPlan {
    /// The notes that sound in the plain line, in order of time.
    pub(super) notes: Vec<NoteId>,
    /// Each of them with nothing settled.
    pub(super) free: Vec<Arc<ToFret>>,
    /// Each of them with what is settled.
    pub(super) settled: Vec<Arc<ToFret>>,
}

/// What there is to fret in a line.
pub(super) fn to_fret(line: &Line) -> Result<ToPlan> {
    let (bars, mut reach) = (line.bars(), Reach::of(&line.heading().neck));
    let (mut notes, mut keys, mut free) = (Vec::new(), Vec::new(), Vec::<ToFret>::new());
    // What is left of each note's ways, where something is settled for it.
    let mut settled: Vec<Option<Ways>> = Vec::new();
    let mut last: Option<(&Event, usize)> = None;
    for (index, event) in line.events().iter().enumerate() {
        let Some(pitch) = event.pitch else { continue };
        let led = index.checked_sub(1).and_then(|before| line.events()[before].legato);
        let wants: Vec<Constraint> = line.constraints_on(event).collect();
        let place = || bars.place(event.onset);
        let beat = Beat::at(bars, event.onset)?;
        let (all, left) = reach.ways(place, pitch, &wants)?;
        let mut note = ToFret {
            ways: all,
            time: Duration::ZERO,
            ease: 0,
            fresh: true,
            late: beat.is_late()?,
            half_step: false,
            opens_bar: last.is_none_or(|(_, bar)| bar != beat.bar),
            led,
            cell: None,
        };
        if let Some((from, _)) = last {
            let apart = event.onset.checked_since(from.onset)?;
            note.time = beat.count(apart)?;
            let midi = |pitch: crate::pitch::Pitch| pitch.midi().map_or(0, |key| key.0);
            note.half_step = from.pitch.is_some_and(|from| midi(from).abs_diff(midi(pitch)) == 1);
            let rested = from.id.0 + 1 != event.id.0 || from.duration >= TIME_TO_RETURN;
            note.fresh = rested && led.is_none();
            note.ease = ease(apart, note.fresh);
        }
        if let (Some(_), Some((from, _)), Some(before)) = (led, last, free.last()) {
            let pitches = [from.pitch.unwrap_or(pitch), pitch];
            let before = settled.last().and_then(Option::as_ref).unwrap_or(&before.ways);
            if let Some(strings) = reach.kept_apart([before, left.as_ref().unwrap_or(&note.ways)], pitches) {
                return Err(FingeringError::Apart { place: place()?, pitch, strings });
            }
        }
        keys.push(Key { midi: pitch.midi().map_or(0, |key| key.0), may_start: beat.is_on() || note.fresh });
        notes.push(event.id);
        settled.push(left);
        free.push(note);
        last = Some((event, beat.bar));
    }
    for (note, cell) in cells::find(&keys) {
        free[note].cell = Some((cell, Shaped::from([])));
    }
    let free: Vec<Arc<ToFret>> = free.into_iter().map(Arc::new).collect();
    let settled = free.iter().zip(settled).map(|(note, left)| match left {
        Some(ways) => Arc::new(ToFret { ways, ..ToFret::clone(note) }),
        None => Arc::clone(note),
    });
    Ok(ToPlan { notes, settled: settled.collect(), free })
}

/// The notes as a hand searches them: in sequences, with the shapes that their ways to be fretted leave.
pub(super) fn shaped(hand: &FrettingHand, mut notes: Vec<Arc<ToFret>>) -> Vec<Arc<ToFret>> {
    let cell = |note: &Arc<ToFret>| note.cell.as_ref().map(|(cell, _)| *cell);
    let mut start = if hand.weights.new_shape > 0 { 0 } else { notes.len() };
    while start < notes.len() {
        let cells: Vec<InCell> = notes[start..].iter().map_while(cell).collect();
        let length = cells.iter().skip(1).take_while(|cell| !cell.opens()).count() + cells.len().min(1);
        let sequence = &mut notes[start..start + length];
        let ways: Vec<&[Fretting]> = sequence.iter().map(|note| &*note.ways.plain).collect();
        let shapes = cells::shapes(&cells[..length], &ways);
        for ((note, cell), shapes) in sequence.iter_mut().zip(cells).zip(shapes) {
            *note = Arc::new(ToFret { cell: Some((cell, shapes)), ..ToFret::clone(note) });
        }
        start += length.max(1);
    }
    notes
}

impl ToFret {
    /// The note with fewer ways to fret it.
    pub(super) fn narrowed(&self, keep: impl Fn(&Fretting) -> bool) -> ToFret {
        ToFret { ways: self.ways.narrowed(keep), ..self.clone() }
    }

    /// The note with one way to fret it.
    pub(super) fn held(&self, at: Fretting) -> ToFret {
        ToFret { ways: Ways::just(at), ..self.clone() }
    }

    /// The note on a string and a fret, with all fingers. Two share a fret where a neighboring note lies there on a higher string.
    pub(super) fn on(&self, at: Fretting, neighbors: [Option<Fretting>; 2]) -> ToFret {
        let above = |other: Fretting| {
            other.fret == at.fret && matches!(at.string.0.checked_sub(other.string.0), Some(1 | 2))
        };
        let doubled = neighbors.into_iter().flatten().any(above);
        ToFret { ways: self.ways.on(at, doubled), ..self.clone() }
    }

    /// The shapes in which it can be played, as part of its cell.
    fn shapes(&self) -> &[(u16, Fretting)] {
        self.cell.as_ref().map_or(&[], |(_, shapes)| shapes)
    }

    /// Whether it is the first note of a cell.
    fn begins_cell(&self) -> bool {
        self.cell.as_ref().is_some_and(|(cell, _)| cell.place == 0)
    }

    /// Whether the note before leads into it.
    pub(super) fn is_led(&self) -> bool {
        self.led.is_some()
    }

    /// Whether the hand starts anew with it.
    pub(super) fn is_fresh(&self) -> bool {
        self.fresh
    }
}

/// The fretting hand on one neck in one style: what its states are, and what they cost.
///
/// A state is a fretting and, where the style counts the notes on a string, how many there were in a row.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct FrettingHand {
    capo: u8,
    /// How far the hand is spread that leaves four frets to four fingers, in mm, by its position: the index one fret back, the little
    /// finger one fret on. The same frets are nearer up the neck.
    spread: Vec<[u16; 2]>,
    pub(super) weights: FrettingWeights,
}

impl FrettingHand {
    pub(super) fn of(heading: &Heading) -> FrettingHand {
        let neck: &Neck = &heading.neck;
        // A neck is less than a meter long.
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let mm = |low: u8, high: u8| (neck.mm(high) - neck.mm(low)).round() as u16;
        let spread = (0..=neck.frets())
            .map(|position| [mm(position.saturating_sub(1), position + 3), mm(position, position + 4)]);
        let weights = FrettingWeights::of(heading.style);
        FrettingHand { capo: neck.capo(), spread: spread.collect(), weights }
    }

    /// How many runs on a string there are to tell apart.
    fn runs(&self) -> usize {
        usize::from(self.weights.notes_per_string.unwrap_or(1))
    }

    /// What a shift over so many frets costs.
    fn shift(&self, frets: u8, open: bool, note: &ToFret) -> Cost {
        // An open string leaves the hand free meanwhile.
        let percent = if open { note.ease / 2 } else { note.ease };
        let late = if note.late && !note.fresh { self.weights.late } else { 0 };
        (self.weights.shift + Cost::from(frets) * self.weights.shift_by_fret) * percent / 100 + late
    }

    fn stretched(&self, Fretting { fret, position, .. }: Fretting) -> Option<u16> {
        let [back, forward] = *self.spread.get(usize::from(position))?;
        match fret.0 {
            fret if fret < position => Some(back),
            fret if fret > position + 3 => Some(forward),
            _ => None,
        }
    }

    /// What it costs to go from one note to the next; `in_shape`, where a sequence goes on to its next cell.
    fn moving(
        &self,
        from: Fretting,
        to: Fretting,
        note: &ToFret,
        in_shape: bool,
        mut add: impl FnMut(Term, Cost),
    ) {
        let w = &self.weights;
        let frets = from.position.abs_diff(to.position);
        let open = from.finger.0 == 0 || to.finger.0 == 0;
        let same_string = from.string == to.string;
        if frets > 0 {
            let slides = note.led == Some(Legato::Slide) && same_string && from.finger == to.finger && !open;
            // A slide is the shift.
            let cost = if slides { Cost::from(frets) } else { self.shift(frets, open, note) };
            let cost = if in_shape { cost.min(w.shape_shift) } else { cost };
            add(Term::Shift { from: from.position, to: to.position, time: note.time }, cost);
        }
        match from.string.0.abs_diff(to.string.0) {
            0 => {}
            1 => add(Term::Change, w.change),
            n => add(Term::Skip { strings: n - 1 }, w.change + Cost::from(n - 1) * w.skip),
        }
        if from.finger == to.finger && !open && frets == 0 && !note.fresh {
            let finger = to.finger.0;
            if from.fret != to.fret {
                let slides = same_string && from.fret.0.abs_diff(to.fret.0) == 1;
                add(Term::SameFinger { finger }, if slides { w.half_step } else { w.same_finger });
            } else if !same_string {
                add(Term::Roll { finger }, w.roll[usize::from(finger - 1)]);
            }
        }
        let lower = to.string > from.string;
        if !open
            && frets == 0
            && from.fret == to.fret
            && !same_string
            && lower == (to.finger > from.finger)
            && from.finger != to.finger
        {
            add(Term::Crossed, w.crossed);
        }
        if note.half_step && !same_string && !note.fresh {
            add(Term::Split, w.split);
        }
        if note.led.is_some() && !same_string {
            add(Term::Apart, w.apart);
        }
    }
}

/// Where the fretting hand is, and what counts for the notes to come.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Fretted {
    pub(super) fretting: Fretting,
    /// How many notes in a row were on its string: 1, where the style doesn't count them.
    run: u8,
    /// The shape that the hand keeps in a sequence.
    shape: Option<u16>,
}

impl Hand for FrettingHand {
    type Note = ToFret;
    type State = Fretted;

    fn states(&self, note: &ToFret) -> usize {
        note.ways.plain.len() * self.runs() + note.shapes().len()
    }

    fn state(&self, note: &ToFret, number: usize) -> Fretted {
        let (plain, runs) = (&note.ways.plain, self.runs());
        match number.checked_sub(plain.len() * runs) {
            Some(shape) => {
                let (shape, fretting) = note.shapes()[shape];
                Fretted { fretting, run: 1, shape: Some(shape) }
            }
            None => {
                let run = u8::try_from(number % runs).unwrap_or(0) + 1;
                Fretted { fretting: plain[number / runs], run, shape: None }
            }
        }
    }

    fn alone(&self, Fretted { fretting, .. }: Fretted, mut add: impl FnMut(Term, Cost)) {
        let (w, fret) = (&self.weights, fretting.fret.0);
        if fretting.finger.0 == 0 {
            return add(Term::Open, w.open);
        }
        let (below, above) = (EASY_FRETS.0.saturating_sub(fret), fret.saturating_sub(EASY_FRETS.1));
        add(Term::Height { high: above > 0 }, w.low * Cost::from(below) + w.height * Cost::from(above / 2));
        add(Term::High, w.high * Cost::from((fret + self.capo).saturating_sub(HIGH)));
        add(Term::Dull, w.dull * Cost::from((fret + self.capo).saturating_sub(bright(fretting.string))));
        if let Some(mm) = self.stretched(fretting) {
            let over = Cost::from(mm).saturating_sub(RELAXED_MM);
            add(Term::Stretch { mm }, w.stretch + over * w.stretch_per_10_mm / 10);
        }
        if fretting.is_doubled() {
            add(Term::Doubled, w.doubled);
        }
    }

    fn first(&self, note: &ToFret, state: Fretted, _: impl FnMut(Term, Cost)) -> bool {
        state.run == 1 && (state.shape.is_none() || note.begins_cell())
    }

    fn next(&self, from: Fretted, note: &ToFret, to: Fretted, mut add: impl FnMut(Term, Cost)) -> bool {
        if let Some(wanted) = self.weights.notes_per_string {
            let (missed, run) = if note.fresh { (0, 1) } else { run_on(wanted, from, to.fretting.string) };
            if to.run != run {
                return false;
            }
            add(Term::Miscount { wanted }, self.weights.miscount * Cost::from(missed));
        }
        let same_shape = to.shape.is_some() && from.shape == to.shape;
        let mut in_shape = false;
        if let Some((cell, _)) = &note.cell {
            in_shape = same_shape && cell.place == 0 && cell.again;
            if cell.place > 0 && from.shape != to.shape {
                return false;
            }
            if cell.place == 0 && cell.again && !in_shape {
                add(Term::NewShape, self.weights.new_shape);
            }
        }
        self.moving(from.fretting, to.fretting, note, in_shape, add);
        true
    }

    fn at_least(&self, from: Fretted, note: &ToFret, to: Fretted) -> Cost {
        let missed = match self.weights.notes_per_string {
            Some(wanted) if !note.fresh => run_on(wanted, from, to.fretting.string).0,
            _ => 0,
        };
        let (from, to, shape) = (from.fretting, to.fretting, to.shape);
        let change = if from.string == to.string { 0 } else { self.weights.change };
        let frets = from.position.abs_diff(to.position);
        let shift = match frets {
            0 => 0,
            _ if note.led.is_some() || shape.is_some() => 1,
            _ => self.shift(frets, from.finger.0 == 0 || to.finger.0 == 0, note),
        };
        self.weights.miscount * Cost::from(missed) + change + shift
    }

    /// In styles that count the notes on a string: the string and the run.
    fn class(&self, state: Fretted) -> u32 {
        match self.weights.notes_per_string {
            Some(wanted) => u32::from((state.fretting.string.0 - 1) * wanted + state.run - 1),
            None => 0,
        }
    }

    fn after(&self, note: &ToFret, to: Fretted) -> u32 {
        match self.weights.notes_per_string {
            Some(wanted) if !note.fresh => {
                let on_string = |run: u8| 1 << ((to.fretting.string.0 - 1) * wanted + run - 1);
                let same = (1..=wanted).filter(|&run| (run + 1).min(wanted) == to.run).map(on_string);
                let others = !(1..=wanted).map(on_string).sum::<u32>();
                same.sum::<u32>() | if to.run == 1 { others } else { 0 }
            }
            _ => u32::MAX,
        }
    }
}

/// How many notes are missing on a string that is left, or too many on one that is not, and how many there are now in a row, where `wanted`
/// are wanted.
fn run_on(wanted: u8, from: Fretted, string: StringNo) -> (u8, u8) {
    match from.fretting.string == string {
        true => (u8::from(from.run >= wanted), (from.run + 1).min(wanted)),
        false => (wanted - from.run, 1),
    }
}
