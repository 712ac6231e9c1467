//! The part of the neck that an exercise stays in, and how its copies stay there.

use std::collections::BTreeMap;

use crate::bars::Place;
use crate::hand::{self, Fretting, FrettingPlan};
use crate::line::{Event, Line, NoteId, Part};
use crate::neck::{Finger, Fret, Neck, StringNo, Strings};
use crate::pitch::Pitch;
use crate::technique::{Constraint, ConstraintSpan, Pin};
use crate::time::Span;

use super::error::Result;

/// A copy as it is laid out.
pub(super) struct CopyAt {
    pub(super) span: Span,
    /// No octave of it stays at or below the highest fret.
    pub(super) above: bool,
    /// The index of its first part.
    pub(super) first: usize,
    /// What the player has fixed, moved by as many frets as the copy.
    pub(super) fixed: Option<Fixed>,
}
use super::fixed::Fixed;

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
    pub(crate) fn has(
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

/// A line of copies that are settled on the neck.
pub(super) struct Settled {
    pub(super) line: Line,
    /// Where the copies start that go above the highest fret.
    pub(super) above: Vec<Place>,
    /// Where the copies start that can't be fretted as is fixed for them.
    pub(super) unfixed: Vec<Place>,
}

/// Frets copies as is fixed for them, keeps them at or below a fret, both where they have room there, and, if
/// `one_shape`, gives those that lie alike on the strings they are pinned to the same fingers.
pub(super) fn settled(line: Line, copies: &[CopyAt], up_to: Fret, one_shape: bool) -> Result<Settled> {
    let plan = hand::fret(&line, None)?;
    let mut laid = Laid { line, plan };
    let (mut is_fixed, mut unfixed) = (vec![false; copies.len()], Vec::new());
    for (copy, is_fixed) in copies.iter().zip(&mut is_fixed) {
        if let Some(fixed) = &copy.fixed {
            *is_fixed = laid.fix(copy, fixed, up_to)?;
            let place = laid.line.bars().place(copy.span.start())?;
            unfixed.extend((!*is_fixed).then_some(place));
        }
    }
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
        let uneven = laid
            .uneven(copies, &is_fixed)
            .filter(|_| one_shape)
            .find(|(outline, _)| !shaped.contains(outline));
        let Some((outline, alike)) = uneven else { break };
        shaped.push(outline);
        laid.give_fingers(alike)?;
    }
    let above = copies.iter().filter(|copy| laid.goes_above(copy, up_to));
    let above: std::result::Result<_, _> =
        above.map(|copy| laid.line.bars().place(copy.span.start())).collect();
    Ok(Settled { above: above?, unfixed, line: laid.line })
}

/// A shape wherever it is on its strings: the string of each note, and its fret counted from the first one's.
type Outline = Vec<(StringNo, i16)>;

/// A copy on the neck.
#[derive(Clone)]
struct Played {
    /// Its notes, and where they are fretted.
    notes: Vec<(NoteId, Fretting)>,
    /// It is fretted as the player has fixed it.
    is_fixed: bool,
}

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

    /// Another line, if it can be played.
    fn playing(&self, line: Line) -> Option<Laid> {
        hand::fret(&line, Some(&self.plan)).ok().map(|plan| Laid { line, plan })
    }

    /// Takes another line, if it can be played.
    fn try_line(&mut self, line: Line) {
        if let Some(laid) = self.playing(line) {
            *self = laid;
        }
    }

    /// The line with other pins.
    fn pinned(&self, pin: impl Fn(&Event) -> Pin) -> Result<Line> {
        let line = &self.line;
        let parts =
            line.events().iter().map(|event| Part { pin: pin(event), ..event.lasting(event.duration) });
        let pinned = Line::new(line.heading().clone(), line.bars().clone(), parts, line.chords().to_vec())?;
        Ok(pinned.with_constraints(line.constraints().to_vec()).with_calls(line.calls().to_vec()))
    }

    /// Frets a copy as is fixed for it, if it can be played at or below a fret like that. Returns whether it can.
    fn fix(&mut self, copy: &CopyAt, fixed: &Fixed, up_to: Fret) -> Result<bool> {
        let pin_of =
            |event: &Event| (event.id.0 as usize).checked_sub(copy.first).and_then(|at| fixed.pins.get(at));
        let line = self.pinned(|event| match pin_of(event) {
            Some(pin) => Pin { stroke: event.pin.stroke, string: pin.string.or(event.pin.string), ..*pin },
            None => event.pin,
        })?;
        let holds = [line.constraints(), &fixed.holds].concat();
        let Some(mut laid) = self.playing(line.with_constraints(holds)) else { return Ok(false) };
        if laid.goes_above(copy, up_to) && !copy.above {
            laid.hold(copy, Constraint::Frets(Fret(0), up_to));
        }
        let is_pinned =
            |event: &Event| pin_of(event).is_some_and(|pin| pin.string.is_some() || pin.fret.is_some());
        let is_above =
            laid.notes(copy).any(|(event, at)| at.fret > up_to && (!copy.above || is_pinned(event)));
        if !is_above {
            *self = laid;
        }
        Ok(!is_above)
    }

    /// Sets a constraint for a copy. Slurred notes may not be able to follow: their only common string may be above.
    fn hold(&mut self, copy: &CopyAt, want: Constraint) {
        let mut holds = self.line.constraints().to_vec();
        holds.push(ConstraintSpan { span: copy.span, want });
        self.try_line(self.line.clone().with_constraints(holds));
    }

    /// The outlines that several copies have, with different fingers. `fixed` says which are fretted as the player has fixed it.
    fn uneven(
        &self,
        copies: &[CopyAt],
        fixed: &[bool],
    ) -> impl Iterator<Item = (Outline, Vec<Played>)> + use<> {
        let mut outlines: BTreeMap<Outline, Vec<Played>> = BTreeMap::new();
        for (copy, &is_fixed) in copies.iter().zip(fixed) {
            let is_set = self.notes(copy).all(|(event, at)| event.pin.string.is_some() && at.fret.0 > 0);
            let notes: Vec<_> = self.notes(copy).map(|(event, at)| (event.id, at)).collect();
            if let (true, Some((_, first))) = (is_set, notes.first()) {
                let fret = |at: &Fretting| i16::from(at.fret.0) - i16::from(first.fret.0);
                let outline = notes.iter().map(|(_, at)| (at.string, fret(at))).collect();
                outlines.entry(outline).or_default().push(Played { notes, is_fixed });
            }
        }
        let fingers = |copy: &Played| copy.notes.iter().map(|(_, at)| at.finger).collect::<Vec<_>>();
        outlines
            .into_iter()
            .filter(move |(_, alike)| alike.iter().any(|copy| fingers(copy) != fingers(&alike[0])))
    }

    /// Pins the fingers of one copy for all that lie alike: of one with fixed fingers, if there is any, and of the lowest of those, since
    /// the fingers have the fewest choices there. Copies that are too near the nut for fixed fingers get other ones, alike again.
    fn give_fingers(&mut self, mut alike: Vec<Played>) -> Result<()> {
        let first = |copy: &&Played| (!copy.is_fixed, copy.notes.first().map(|(_, at)| at.fret));
        while let Some(from) = alike.iter().min_by_key(first).cloned() {
            if let Some(laid) = self.playing(self.fingered_like(&from, &alike)?) {
                *self = laid;
                break;
            }
            let (count, mut left) = (alike.len(), Vec::new());
            for copy in alike {
                match self.playing(self.fingered_like(&from, std::slice::from_ref(&copy))?) {
                    Some(laid) => *self = laid,
                    None => left.push(copy),
                }
            }
            if left.len() == count {
                break;
            }
            alike = left;
        }
        Ok(())
    }

    /// The line with the fingers of one copy pinned for others.
    fn fingered_like(&self, from: &Played, copies: &[Played]) -> Result<Line> {
        let pairs = copies.iter().flat_map(|copy| copy.notes.iter().zip(&from.notes));
        let fingers: BTreeMap<NoteId, Finger> =
            pairs.map(|((note, _), (_, at))| (*note, at.finger)).collect();
        let finger = |event: &Event| fingers.get(&event.id).copied().or(event.pin.finger);
        self.pinned(|event| Pin { finger: finger(event), ..event.pin })
    }
}
