//! What a note costs by itself, and what it costs to go from one note to the next. Every cost goes through a sink, so that the search,
//! which only adds up, and the reasons, which want each term, can't disagree.

use crate::line::{Heading, Legato};
use crate::neck::{MOST_FRETS, Stroke};
use crate::technique::PickingStyle;

use super::Fretting;
use super::steps::Step;
use super::terms::Term;
use super::weights::{Cost, EASY_FRETS, HIGH, RELAXED_MM, UNHURRIED, Weights};

/// What is charged for one line: its neck, its style's weights and its way of picking.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Costs {
    capo: u8,
    /// How far the hand is spread that leaves four frets to four fingers, in mm, by its position: the index one fret back, the little
    /// finger one fret on. The same frets are nearer up the neck.
    spread: Vec<[u16; 2]>,
    pub(super) weights: Weights,
    pub(super) strokes: PickingStyle,
}

/// What the hands remember besides the last fretting.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Default, Hash)]
pub(super) struct Memory {
    /// The last stroke; `None` where the next one is free, as after a slur.
    pub(super) stroke: Option<Stroke>,
    /// How many notes in a row the last stroke has played: 1, 2, or 3 for more.
    pub(super) swept: u8,
    /// The position that the hand has come from, 0 when it has settled.
    pub(super) home: u8,
    /// How many notes in a row were on this string, where the style counts them.
    pub(super) run: u8,
}

/// How a note is made to sound.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
pub(super) enum Attack {
    Struck,
    Led(Legato),
}

impl Costs {
    pub(super) fn new(heading: &Heading) -> Costs {
        let neck = &heading.neck;
        // A neck is less than a metre long.
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let mm = |low: u8, high: u8| (neck.mm(high) - neck.mm(low)).round() as u16;
        let spread = (0..=neck.frets())
            .map(|position| [mm(position.saturating_sub(1), position + 3), mm(position, position + 4)]);
        Costs {
            capo: neck.capo(),
            spread: spread.collect(),
            weights: Weights::of(heading.style),
            strokes: heading.picking.strokes,
        }
    }

    /// What a note costs by itself.
    pub(super) fn alone(&self, fretting: Fretting, mut add: impl FnMut(Term, Cost)) {
        let (w, fret) = (&self.weights, fretting.fret.0);
        if fretting.finger.0 == 0 {
            return add(Term::Open, w.open);
        }
        let (below, above) = (EASY_FRETS.0.saturating_sub(fret), fret.saturating_sub(EASY_FRETS.1));
        let height = w.low * Cost::from(below) + w.height * Cost::from(above / 2);
        if height > 0 {
            add(Term::Height { high: above > 0 }, height);
        }
        let high = (fret + self.capo).saturating_sub(HIGH);
        if high > 0 {
            add(Term::High, w.high * Cost::from(high));
        }
        if let Some(mm) = self.stretched(fretting) {
            let over = Cost::from(mm).saturating_sub(RELAXED_MM);
            add(Term::Stretch { mm }, w.stretch + over * w.stretch_per_10_mm / 10);
        }
    }

    fn stretched(&self, Fretting { fret, position, .. }: Fretting) -> Option<u16> {
        let [back, forward] = *self.spread.get(usize::from(position))?;
        match fret.0 {
            fret if fret < position => Some(back),
            fret if fret > position + 3 => Some(forward),
            _ => None,
        }
    }

    /// What the fretting hand is charged for going from one note to the next, but for what it remembers.
    pub(super) fn moving(&self, from: Fretting, to: Fretting, step: &Step, mut add: impl FnMut(Term, Cost)) {
        let w = &self.weights;
        let frets = Cost::from(from.position.abs_diff(to.position));
        let open = from.finger.0 == 0 || to.finger.0 == 0;
        let same_string = from.string == to.string;
        if frets > 0 {
            let slides = step.led == Some(Legato::Slide) && same_string && from.finger == to.finger && !open;
            // The slide is the shift.
            let cost = if slides { frets } else { self.shift(frets, open, step) };
            add(Term::Shift { from: from.position, to: to.position, time: step.time, ms: step.ms }, cost);
        }
        match from.string.0.abs_diff(to.string.0) {
            0 => {}
            1 => add(Term::Change, w.change),
            n => add(Term::Skip { strings: n - 1 }, w.change + Cost::from(n - 1) * w.skip),
        }
        if from.finger == to.finger && !open && frets == 0 && !step.fresh {
            let finger = to.finger.0;
            if from.fret != to.fret {
                add(Term::SameFinger { finger }, w.same_finger);
            } else if !same_string {
                add(Term::Roll { finger }, w.roll);
            }
        }
        if step.led.is_some() && !same_string {
            add(Term::Apart, w.apart);
        }
    }

    /// What a shift costs. An open string leaves the hand free meanwhile: it has twice the time.
    fn shift(&self, frets: Cost, open: bool, step: &Step) -> Cost {
        let percent = if open { (step.hurry / 2).max(UNHURRIED.0) } else { step.hurry };
        (self.weights.shift + frets * self.weights.shift_by_fret) * percent / 100
    }

    /// The least that [`Costs::moving`] charges for each number of frets between two positions.
    pub(super) fn shifts(&self, open: bool, step: &Step) -> [Cost; MOST_FRETS as usize + 1] {
        let mut shifts = [0; MOST_FRETS as usize + 1];
        for (frets, cost) in (0..).zip(&mut shifts).skip(1) {
            *cost = if step.led == Some(Legato::Slide) { frets } else { self.shift(frets, open, step) };
        }
        shifts
    }

    /// What the fretting hand is charged for what it remembers, and what it remembers next: `home` and `run`.
    pub(super) fn remembering(
        &self,
        before: Memory,
        from: Fretting,
        to: Fretting,
        step: &Step,
        mut add: impl FnMut(Term, Cost),
    ) -> (u8, u8) {
        let shifts = from.position != to.position;
        if shifts && !step.fresh && to.position == before.home {
            add(Term::Back { to: to.position }, self.weights.back);
        }
        let home = match shifts {
            _ if step.fresh => 0,
            true => from.position,
            false => before.home,
        };
        let Some(wanted) = self.weights.notes_per_string else { return (home, 0) };
        if step.fresh {
            return (home, 1);
        }
        let (missed, run) = match from.string == to.string {
            true => (u8::from(before.run >= wanted), (before.run + 1).min(wanted)),
            false => (wanted - before.run.min(wanted), 1),
        };
        if missed > 0 {
            add(Term::Miscount { wanted }, self.weights.miscount * Cost::from(missed));
        }
        (home, run)
    }

    /// Every way to sound the first note: stroke, and what it costs. Picking by turns starts with the beat: turned round, every beat that
    /// follows would have the up stroke.
    pub(super) fn starting(&self, step: &Step, mut each: impl FnMut(Stroke, Option<(Term, Cost)>)) {
        for stroke in [Stroke::Down, Stroke::Up] {
            let against = Some((Term::AgainstBeat { stroke }, self.weights.against_beat));
            match (step.stroke, self.strokes) {
                (Some(settled), _) if settled != stroke => {}
                (None, PickingStyle::Alternate) if stroke != step.natural => {}
                (None, PickingStyle::Beat) if stroke != step.by_beat => {}
                (None, PickingStyle::Economy | PickingStyle::Sweep) if stroke != step.natural => {
                    each(stroke, against)
                }
                _ => each(stroke, None),
            }
        }
    }

    /// Every way to sound a note after another: how, the stroke that the next one follows, how many notes that has played, and what it
    /// costs.
    pub(super) fn sounding(
        &self,
        before: Memory,
        from: Fretting,
        to: Fretting,
        step: &Step,
        mut each: impl FnMut(Attack, Option<Stroke>, u8, Option<(Term, Cost)>),
    ) {
        if let Some(join) = step.led {
            return each(Attack::Led(join), None, 0, None);
        }
        // A sweep is three notes at least: one of two may not end.
        let sweep_is_open = self.strokes == PickingStyle::Sweep && before.swept == 2;
        let mut haste = None;
        if step.may_slur
            && !step.fresh
            && step.stroke.is_none()
            && !sweep_is_open
            && let Some(join) = slurred(from, to)
        {
            let on_beat = usize::from(step.natural == Stroke::Up);
            let cost = if join == Legato::Slide { self.weights.slide } else { self.weights.slur[on_beat] };
            let rises = to.fret > from.fret;
            each(Attack::Led(join), None, 0, Some((Term::Slurred { legato: join, rises }, cost)));
            if step.hasty && rises && join == Legato::Slur {
                haste = Some((Term::Haste, self.weights.haste));
            }
        }
        let Some(last) = before.stroke.filter(|_| !step.fresh) else {
            if !sweep_is_open {
                self.starting(step, |stroke, charge| each(Attack::Struck, Some(stroke), 1, charge.or(haste)));
            }
            return;
        };
        // Down strokes go on to higher-sounding strings, which have lower numbers.
        let onward = match last {
            Stroke::Down => to.string < from.string,
            Stroke::Up => to.string > from.string,
        };
        let neighbour = from.string.0.abs_diff(to.string.0) == 1;
        for stroke in [last.other(), last] {
            let (again, settled) = (stroke == last, step.stroke == Some(stroke));
            let allowed = match self.strokes {
                PickingStyle::Alternate => !again,
                PickingStyle::Beat => stroke == step.by_beat,
                PickingStyle::Economy => again == onward,
                PickingStyle::Sweep if again => onward && neighbour,
                PickingStyle::Sweep => !sweep_is_open,
            };
            if !settled && (step.stroke.is_some() || !allowed) {
                continue;
            }
            let charge = match again {
                _ if !allowed => Some((Term::Broken { stroke }, self.weights.broken)),
                // Lower string down, then higher string up, is outside.
                false if from.string != to.string && onward => Some((Term::Outside, self.weights.outside)),
                false if from.string != to.string => Some((Term::Inside, self.weights.inside)),
                _ => haste,
            };
            let sweeps = self.strokes == PickingStyle::Sweep && again && allowed;
            let swept = if sweeps { (before.swept + 1).min(3) } else { 1 };
            each(Attack::Struck, Some(stroke), swept, charge);
            if sweeps && settled && swept == 2 {
                // A pinned stroke may come again without the third note that makes a sweep.
                each(Attack::Struck, Some(stroke), 1, Some((Term::Broken { stroke }, self.weights.broken)));
            }
        }
    }

    /// Every last stroke that there can be after a step, wherever the hand comes from and goes.
    pub(super) fn strokes_after(&self, before: Memory, step: &Step, mut each: impl FnMut(Memory)) {
        let mut last = |stroke, swept| each(Memory { stroke, swept, ..Memory::default() });
        if step.led.is_some() {
            return last(None, 0);
        }
        if step.may_slur && !step.fresh && step.stroke.is_none() {
            last(None, 0);
        }
        let goes_on = before.stroke.filter(|_| !step.fresh);
        for stroke in [Stroke::Down, Stroke::Up] {
            let possible = match (step.stroke, self.strokes) {
                (Some(settled), _) => stroke == settled,
                (None, PickingStyle::Beat) => stroke == step.by_beat,
                (None, PickingStyle::Alternate) => stroke == goes_on.map_or(step.natural, Stroke::other),
                (None, PickingStyle::Economy | PickingStyle::Sweep) => true,
            };
            if possible {
                last(Some(stroke), 1);
                if self.strokes == PickingStyle::Sweep && goes_on == Some(stroke) {
                    last(Some(stroke), (before.swept + 1).min(3));
                }
            }
        }
    }

    /// Whether a line may end so.
    pub(super) fn may_end(&self, memory: Memory) -> bool {
        self.strokes != PickingStyle::Sweep || memory.swept != 2
    }

    /// The most that [`Costs::gap`] can be.
    pub(super) fn widest_gap(&self) -> Cost {
        self.weights.back + self.weights.miscount * Cost::from(self.weights.notes_per_string.unwrap_or(0))
    }

    /// The most that a memory can cost over another with the same stroke: back to a home, once, and the notes that it has more or fewer
    /// on its string.
    pub(super) fn gap(&self, of: Memory, over: Memory) -> Cost {
        let home = if of.home == over.home || of.home == 0 { 0 } else { self.weights.back };
        home + self.weights.miscount * Cost::from(of.run.abs_diff(over.run))
    }
}

/// How a note can be led into without a stroke: within a position by another finger, or by the same finger along the string.
fn slurred(from: Fretting, to: Fretting) -> Option<Legato> {
    /// As far as a finger is slid in a line.
    const FARTHEST_SLIDE: u8 = 4;
    /// As far as a finger is hammered on an open string.
    const FARTHEST_SLUR: u8 = 12;
    let far = from.fret.0.abs_diff(to.fret.0);
    if from.string != to.string || far == 0 || far > FARTHEST_SLUR {
        return None;
    }
    if from.position == to.position {
        let rises = to.fret > from.fret;
        return (rises == (to.finger > from.finger) && to.finger != from.finger).then_some(Legato::Slur);
    }
    let slides = from.finger == to.finger && from.finger.0 > 0 && far <= FARTHEST_SLIDE;
    slides.then_some(Legato::Slide)
}
