//! What costs how much. Costs are small whole numbers; only their proportions matter.
//!
//! Their order is common practice (no source): a shift costs most, then a stretch, a skipped string, a change of string; the height on
//! the neck decides the rest. A [`FingeringStyle`] changes weights and nothing else.

use crate::technique::FingeringStyle;

/// What a plan's costs are counted in.
pub type Cost = u32;

/// One weight for each thing that can cost.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Weights {
    /// Moving the hand at all: the eye and the thumb have to follow.
    pub(super) shift: Cost,
    /// For each fret that it moves.
    pub(super) shift_by_fret: Cost,
    /// Going back to a position that has just been left: two shifts where staying away would have been one.
    pub(super) back: Cost,
    /// Leaving four frets to four fingers.
    pub(super) stretch: Cost,
    /// For each ten millimetres that the hand is spread beyond [`RELAXED_MM`].
    pub(super) stretch_per_10_mm: Cost,
    /// Going to a neighbouring string.
    pub(super) change: Cost,
    /// For each string that is skipped.
    pub(super) skip: Cost,
    /// The same finger for two notes at different frets.
    pub(super) same_finger: Cost,
    /// The same finger laid over two strings at one fret.
    pub(super) roll: Cost,
    /// An open string in a swung line rings on and sounds different.
    pub(super) open: Cost,
    /// For each fret that a note lies below [`EASY_FRETS`].
    pub(super) low: Cost,
    /// For each two frets that it lies above them: enough to choose between two places, not to move a hand that is there.
    pub(super) height: Cost,
    /// For each fret from [`HIGH`] on: the body of the guitar is in the way.
    pub(super) high: Cost,
    /// How many notes a string should have, where the style cares.
    pub(super) notes_per_string: Option<u8>,
    /// For each note more or less than that.
    pub(super) miscount: Cost,
    /// A hammer, a pull or a slide from one string to another can't be played as written: more than anything else in a few notes.
    pub(super) apart: Cost,
    /// The pick goes round the outside of two strings.
    pub(super) outside: Cost,
    /// The pick has to turn between two strings: the narrower way.
    pub(super) inside: Cost,
    /// Starting against the beat, up on it or down off it, where strokes do not simply take turns: as much as a shift.
    pub(super) against_beat: Cost,
    /// Leaving the stroke out into a note on the beat, where lines are often slurred, or off it.
    pub(super) slur: [Cost; 2],
    /// Striking a note all the same that could be hammered on the beat in a line faster than [`FAST_EIGHTH_MS`].
    pub(super) haste: Cost,
    /// A slide that the plan chooses.
    pub(super) slide: Cost,
    /// A stroke that breaks the way of picking, because it is pinned.
    pub(super) broken: Cost,
}

/// The span of a hand at rest over five frets, in mm.
pub(super) const RELAXED_MM: Cost = 60;
/// Where frets are neither wide nor more than a hand in position 4 needs. Where a shape lies twice on the neck, as scales do, players take the
/// lower one (common practice, no source).
pub(super) const EASY_FRETS: (u8, u8) = (2, 7);
/// The fret, counted from the nut, from which the body of the guitar is in the way.
pub(super) const HIGH: u8 = 15;
/// Two notes that follow each other sooner than eighths at 160 quarter notes a minute are hammered into the beat rather than struck (common
/// practice of jazz phrasing, no source). Swing aside: the pick goes down and up in a beat, wherever the second eighth falls.
pub(super) const FAST_EIGHTH_MS: f64 = 187.5;
/// A shift in this time, an eighth at 120 quarter notes a minute, costs what the weights say; in twice the time, half; in half the
/// time, twice as much. It goes no further either way.
const UNHURRIED_MS: u32 = 250;
/// The least and the most that a shift costs, in percent of its weight.
pub(super) const UNHURRIED: (Cost, Cost) = (50, 200);

/// What a shift costs in this time, in percent of its weight.
pub(super) fn hurry(ms: u32) -> Cost {
    (100 * UNHURRIED_MS / ms.max(1)).clamp(UNHURRIED.0, UNHURRIED.1)
}

const IN_POSITION: Weights = Weights {
    shift: 24,
    shift_by_fret: 4,
    back: 6,
    stretch: 10,
    stretch_per_10_mm: 3,
    change: 2,
    skip: 5,
    same_finger: 12,
    roll: 4,
    open: 18,
    low: 2,
    height: 1,
    high: 3,
    notes_per_string: None,
    miscount: 0,
    apart: 2_000,
    outside: 1,
    inside: 2,
    against_beat: 24,
    slur: [2, 4],
    haste: 5,
    slide: 10,
    broken: 30,
};

impl Weights {
    pub(super) const fn of(style: FingeringStyle) -> Weights {
        let position = IN_POSITION;
        match style {
            FingeringStyle::Position => position,
            FingeringStyle::Along => Weights {
                shift: 6,
                shift_by_fret: 1,
                back: 2,
                change: 26,
                skip: 12,
                same_finger: 3,
                stretch: 16,
                ..position
            },
            FingeringStyle::OnePerString => {
                Weights { notes_per_string: Some(1), miscount: 24, shift: 14, ..position }
            }
            FingeringStyle::ThreePerString => {
                Weights { notes_per_string: Some(3), miscount: 24, shift: 12, stretch: 4, ..position }
            }
        }
    }
}
