//! The part of the neck that an exercise stays in, and how its copies stay there.

use std::collections::BTreeMap;

use crate::bars::Place;
use crate::hand::{self, Fretting, FrettingPlan};
use crate::line::{Event, Line, NoteId, Part};
use crate::neck::{Fret, Neck, StringNo, Strings};
use crate::pitch::Pitch;
use crate::technique::{Constraint, ConstraintSpan};

use super::CopyAt;
use super::error::Result;

/// The part of the neck that an exercise stays in.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Region {
    /// The strings to stay on, if not all.
    pub strings: Option<Strings>,
    /// The highest fret, counted from the capo as in tab. A copy goes above it only if it fits in no octave below.
    pub up_to: Fret,
}

impl Default for Region {
    /// All strings, and the fourteen frets that most bodies leave free (common practice, no source).
    fn default() -> Region {
        Region { strings: None, up_to: Fret(14) }
    }
}

impl Region {
    /// Whether it has a pitch: on this string, if one is given, and on an open one only if `open`. Frets above the
    /// highest one count unless `below`.
    pub(super) fn has(
        &self,
        neck: &Neck,
        pitch: Pitch,
        string: Option<StringNo>,
        open: bool,
        below: bool,
    ) -> bool {
        pitch.midi().is_some_and(|key| {
            neck.places(key).any(|(place, fret)| {
                string.is_none_or(|string| string == place)
                    && self.strings.is_none_or(|strings| strings.contains(place))
                    && (open || fret.0 > 0)
                    && (!below || fret <= self.up_to)
            })
        })
    }
}

/// Keeps copies at or below a fret where they have room there, and, if `one_shape`, gives those that lie alike on the
/// strings they are pinned to the same fingers. Also returns where the copies start that go higher.
pub(super) fn settled(
    line: Line,
    copies: &[CopyAt],
    up_to: Fret,
    one_shape: bool,
) -> Result<(Line, Vec<Place>)> {
    let plan = hand::fret(&line, None)?;
    let mut laid = Laid { line, plan };
    let mut held = vec![false; copies.len()];
    let mut shaped: Vec<Outline> = Vec::new();
    // One change may ask for another. Each round settles a copy or an outline for good.
    loop {
        let stray = copies
            .iter()
            .zip(&mut held)
            .find(|(copy, held)| !**held && !copy.above && laid.goes_above(copy, up_to));
        if let Some((copy, held)) = stray {
            *held = true;
            laid.hold(copy, Constraint::Frets(Fret(0), up_to));
            continue;
        }
        let uneven = laid.uneven(copies).filter(|_| one_shape).find(|(outline, _)| !shaped.contains(outline));
        let Some((outline, alike)) = uneven else { break };
        shaped.push(outline);
        laid.give_fingers(&alike)?;
    }
    let above = copies.iter().filter(|copy| laid.goes_above(copy, up_to));
    let above: std::result::Result<_, _> =
        above.map(|copy| laid.line.bars().place(copy.span.start())).collect();
    Ok((laid.line, above?))
}

/// A shape wherever it is on its strings: the string of each note, and its fret counted from the first one's.
type Outline = Vec<(StringNo, i16)>;

/// The notes of a copy, and where they are fretted.
type Played = Vec<(NoteId, Fretting)>;

/// Copies on the neck.
struct Laid {
    line: Line,
    plan: FrettingPlan,
}

impl Laid {
    /// The notes of a copy.
    fn notes(&self, copy: &CopyAt) -> impl Iterator<Item = (&Event, Fretting)> {
        let events = self.line.events();
        let [first, last] = [copy.span.start(), copy.span.end()]
            .map(|edge| events.partition_point(|event| event.onset < edge));
        events[first..last].iter().filter_map(|event| Some((event, self.plan.of(event.id)?)))
    }

    fn goes_above(&self, copy: &CopyAt, fret: Fret) -> bool {
        self.notes(copy).any(|(_, at)| at.fret > fret)
    }

    /// Takes another line, if it can be played.
    fn try_line(&mut self, line: Line) {
        if let Ok(plan) = hand::fret(&line, Some(&self.plan)) {
            *self = Laid { line, plan };
        }
    }

    /// Sets a constraint for a copy. Slurred notes may not be able to follow: their only common string may be above.
    fn hold(&mut self, copy: &CopyAt, want: Constraint) {
        let mut holds = self.line.constraints().to_vec();
        holds.push(ConstraintSpan { span: copy.span, want });
        self.try_line(self.line.clone().with_constraints(holds));
    }

    /// The outlines that several copies have, with different fingers.
    fn uneven(&self, copies: &[CopyAt]) -> impl Iterator<Item = (Outline, Vec<Played>)> + use<> {
        let mut outlines: BTreeMap<Outline, Vec<Played>> = BTreeMap::new();
        for copy in copies {
            let is_set = self.notes(copy).all(|(event, at)| event.pin.string.is_some() && at.fret.0 > 0);
            let played: Played = self.notes(copy).map(|(event, at)| (event.id, at)).collect();
            if let (true, Some((_, first))) = (is_set, played.first()) {
                let fret = |at: &Fretting| i16::from(at.fret.0) - i16::from(first.fret.0);
                let outline = played.iter().map(|(_, at)| (at.string, fret(at))).collect();
                outlines.entry(outline).or_default().push(played);
            }
        }
        let differ = |a: &Played, b: &Played| a.iter().zip(b).any(|((_, a), (_, b))| a.finger != b.finger);
        outlines.into_iter().filter(move |(_, alike)| alike.iter().any(|copy| differ(copy, &alike[0])))
    }

    /// Pins the fingers of one copy for all that lie alike: of the lowest, since the fingers have the fewest choices there.
    fn give_fingers(&mut self, alike: &[Played]) -> Result<()> {
        let lowest = alike.iter().min_by_key(|copy| copy.first().map(|(_, at)| at.fret));
        let mut parts: Vec<Part> =
            self.line.events().iter().map(|event| event.lasting(event.duration)).collect();
        for ((note, _), (_, at)) in
            alike.iter().flat_map(|copy| copy.iter().zip(lowest.into_iter().flatten()))
        {
            if let Some(part) = parts.get_mut(note.0 as usize) {
                part.pin.finger = Some(at.finger);
            }
        }
        let line = &self.line;
        let pinned = Line::new(line.heading().clone(), line.bars().clone(), parts, line.chords().to_vec())?;
        self.try_line(pinned.with_constraints(line.constraints().to_vec()));
        Ok(())
    }
}
