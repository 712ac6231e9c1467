//! What costs how much. Costs are small whole numbers; only their proportions matter.
//!
//! Their order is common practice (no source): a shift costs most, then an open string and a stretch, a skipped string, a change of string;
//! the height on the neck decides the rest. A [`FingeringStyle`] changes weights and nothing else.

use crate::neck::StringNo;
use crate::technique::FingeringStyle;
use crate::time::Duration;

/// What a plan's costs are counted in.
pub type Cost = u32;

/// One weight for each thing that can cost the fretting hand.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct FrettingWeights {
    /// Moving the hand at all: the eye and the thumb have to follow.
    pub(super) shift: Cost,
    /// For each fret that it moves.
    pub(super) shift_by_fret: Cost,
    /// Leaving four frets to four fingers.
    pub(super) stretch: Cost,
    /// For each ten millimeters that the hand is spread beyond [`RELAXED_MM`].
    pub(super) stretch_per_10_mm: Cost,
    /// Going to a neighboring string.
    pub(super) change: Cost,
    /// For each string that is skipped.
    pub(super) skip: Cost,
    /// The same finger for two notes at different frets.
    pub(super) same_finger: Cost,
    /// The same finger a half step along its string, without leaving the position.
    pub(super) half_step: Cost,
    /// The same finger laid over two strings at one fret, by finger: the index is made for it.
    pub(super) roll: [Cost; 4],
    /// Two fingers at one fret.
    pub(super) doubled: Cost,
    /// An open string in a swung line rings on and sounds different.
    pub(super) open: Cost,
    /// For each fret that a note lies below [`EASY_FRETS`].
    pub(super) low: Cost,
    /// For each two frets that it lies above them: enough to choose between two places, not to move a hand that is there.
    pub(super) height: Cost,
    /// For each fret from [`HIGH`] on: the body of the guitar is in the way.
    pub(super) high: Cost,
    /// Two fingers at one fret that cross: the higher one on the lower string.
    pub(super) crossed: Cost,
    /// A half step from one string to another: two notes that belong together are parted.
    pub(super) split: Cost,
    /// For each fret beyond what sounds clear on a string.
    pub(super) dull: Cost,
    /// Arriving in the second half of a half-bar.
    pub(super) late: Cost,
    /// On to the next cell of a sequence with the same shape, at most.
    pub(super) shape_shift: Cost,
    /// A cell of a sequence in another shape than the cell before it; 0 in styles that don't ask.
    pub(super) new_shape: Cost,
    /// How many notes a string should have, where the style cares.
    pub(super) notes_per_string: Option<u8>,
    /// For each note more or less than that.
    pub(super) miscount: Cost,
    /// A hammer, a pull or a slide from one string to another can't be played as written: more than anything else in a few notes.
    pub(super) apart: Cost,
}

/// One weight for each thing that can cost the picking hand.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct PickingWeights {
    /// Another string with the same stroke, round the outside of two strings, and inside, where the pick has to turn between them: the
    /// narrower way.
    pub(super) crossing: [Cost; 3],
    /// The same in economy picking, which sweeps where that saves a turn inside.
    pub(super) economy: [Cost; 3],
    /// Starting against the beat, up on it or down off it, where strokes do not simply alternate: as much as a shift.
    pub(super) against_beat: Cost,
    /// Leaving the stroke out into a note on the beat, where lines are often slurred: a half step, or farther up or down.
    pub(super) slur_half_step: Cost,
    pub(super) hammer: Cost,
    pub(super) pull: Cost,
    /// Leaving it out off the beat.
    pub(super) slur_off_beat: Cost,
    /// Striking a note all the same that could be hammered on or pulled off on the beat in a line faster than [`FAST_EIGHTHS`].
    pub(super) haste: [Cost; 2],
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
/// The last fret of a string that sounds clear.
pub(super) fn bright(string: StringNo) -> u8 {
    match string.0 {
        1 | 2 => u8::MAX,
        3 => 15,
        4 => 13,
        5 => 12,
        _ => 11,
    }
}
/// Two notes that follow each other sooner than eighths at this tempo, in quarter notes a minute, are hammered into the beat rather than struck
/// (common practice of jazz phrasing, no source). Swing aside: the pick goes down and up in a beat, wherever the second eighth falls.
pub(super) const FAST_EIGHTHS: u16 = 160;
/// The least and the most that a shift costs for the time there is, in percent: as much as its weights say in an eighth note, half of it in a
/// quarter note. After a rest or a note so long that the hand starts anew it hardly costs anything.
const EASE: (Cost, Cost) = (30, 150);
const EASE_FRESH: Cost = 15;

/// What a shift costs that has so many quarter notes, in percent of its weights.
pub(super) fn ease(time: Duration, fresh: bool) -> Cost {
    if fresh {
        return EASE_FRESH;
    }
    let percent = (50 * time.denom()).checked_div(time.numer()).unwrap_or(0);
    Cost::try_from(percent).unwrap_or(EASE.1).clamp(EASE.0, EASE.1)
}

const IN_POSITION: FrettingWeights = FrettingWeights {
    shift: 27,
    shift_by_fret: 5,
    stretch: 11,
    stretch_per_10_mm: 3,
    change: 2,
    skip: 5,
    same_finger: 12,
    half_step: 7,
    roll: [4, 5, 4, 6],
    doubled: 5,
    open: 36,
    low: 2,
    height: 1,
    high: 3,
    crossed: 8,
    split: 2,
    dull: 1,
    late: 2,
    shape_shift: 12,
    new_shape: 20,
    notes_per_string: None,
    miscount: 0,
    apart: 2_000,
};

impl FrettingWeights {
    pub(super) const fn of(style: FingeringStyle) -> FrettingWeights {
        let position = IN_POSITION;
        match style {
            FingeringStyle::Position => position,
            FingeringStyle::Along => FrettingWeights {
                new_shape: 0,
                shift: 6,
                shift_by_fret: 1,
                change: 26,
                skip: 12,
                same_finger: 3,
                stretch: 16,
                ..position
            },
            FingeringStyle::OnePerString => FrettingWeights {
                notes_per_string: Some(1),
                miscount: 24,
                new_shape: 0,
                shift: 14,
                shift_by_fret: 4,
                ..position
            },
            FingeringStyle::ThreePerString => FrettingWeights {
                notes_per_string: Some(3),
                miscount: 24,
                new_shape: 0,
                shift: 12,
                shift_by_fret: 4,
                stretch: 4,
                ..position
            },
        }
    }
}

pub(super) const PICKING: PickingWeights = PickingWeights {
    crossing: [0, 1, 2],
    economy: [1, 2, 4],
    against_beat: 24,
    slur_half_step: 1,
    hammer: 2,
    pull: 3,
    slur_off_beat: 4,
    haste: [5, 4],
    slide: 10,
    broken: 30,
};
