//! What names cost. The cheapest names of a line are the ones that are given to it. All values are common practice, no source, in the order
//! in which musicians think of things, tuned by the panel of the tests and by open data.

/// A cost.
pub(super) type Cost = u32;

/// The most notes under one name.
pub(super) const LONGEST: usize = 16;

/// Any name.
pub(super) const NAME: Cost = 10;
/// Its tones are those of the chord it is over, or of the chord's first scale; of a later scale, by its rank from 1; of the key; of none of these.
pub(super) const CHORD_OR_SCALE: Cost = 1;
pub(super) const LATER_SCALE: [Cost; 3] = [2, 3, 4];
pub(super) const KEY: Cost = 3;
pub(super) const OUTSIDE: Cost = 7;
/// A run in a scale that isn't the chord's first one, by its rank.
pub(super) const SCALE_RANK: [Cost; 5] = [0, 1, 2, 3, 4];
/// Each note under another chord, and at most.
pub(super) const OTHER_CHORD: Cost = 1;
pub(super) const OTHER_CHORDS: Cost = 3;
/// Over a change of chords: the name suits both, or only one. A note or two before the change are an anticipation.
pub(super) const CHANGE_BOTH: Cost = 2;
pub(super) const CHANGE_ONE: Cost = 4;
pub(super) const ANTICIPATION: Cost = 1;
/// A member of the chord is missing: another one, or the root of the chord that it is over.
pub(super) const MISSING: Cost = 4;
pub(super) const ROOTLESS: Cost = 3;
/// Three notes only.
pub(super) const THREE_TRIAD: Cost = 4;
pub(super) const THREE_VOICING: Cost = 2;
pub(super) const THREE_RUN: Cost = 3;
/// What is less than straight.
pub(super) const FOLDED: Cost = 3;
pub(super) const TURN: Cost = 2;
pub(super) const SKIP: Cost = 2;
pub(super) const OFF_BEAT: Cost = 2;
pub(super) const LENT: Cost = 2;
pub(super) const BRIDGED: Cost = 2;
pub(super) const BROKEN: Cost = 4;
pub(super) const SKIPPED_MEMBER: Cost = 3;
/// Less usual kinds of names.
pub(super) const VOICING: Cost = 2;
pub(super) const PATTERN: Cost = 2;
pub(super) const PENTATONIC: Cost = 2;
pub(super) const PASSING: Cost = 3;
/// Notes that lead to one outside their name.
pub(super) const BY_HALF_STEP: Cost = 8;
pub(super) const BY_WHOLE_STEP: Cost = 9;
pub(super) const ENCLOSURE: Cost = 8;
pub(super) const WEAK_TARGET: Cost = 3;
pub(super) const NEIGHBOR: Cost = 12;
/// A note that a line lands on, and loose ones: a chord tone, two of them, another tone of the scale, any other.
pub(super) const LANDING: Cost = 5;
pub(super) const CHORD_TONE: Cost = 9;
pub(super) const TWO_CHORD_TONES: Cost = 14;
pub(super) const SCALE_TONE: Cost = 11;
pub(super) const OTHER_TONE: Cost = 13;

/// The cost for a rank; the last one for all that come after.
pub(super) fn by_rank(costs: &[Cost], rank: usize) -> Cost {
    costs.get(rank).or(costs.last()).copied().unwrap_or(0)
}

/// How much more than the first reading another one may cost: of the same notes, and of a stretch.
pub(super) const OTHER_READING: Cost = 4;
pub(super) const OTHER_STRETCH: Cost = 6;
/// The most other readings that are given.
pub(super) const OTHERS: usize = 3;

/// Chords by how rare they are. Where the symbol says so, even a rare one costs nothing.
pub(super) const SHAPES: [(Cost, &[&str]); 5] = [
    (0, &["maj7", "m7", "7", "m7b5", "", "m"]),
    (1, &["dim", "dim7", "m(maj7)", "maj7#5"]),
    (2, &["aug", "7#5", "maj9", "m9", "9", "7b9"]),
    (3, &["6", "m6", "7b5"]),
    (4, &["sus4", "7sus4"]),
];
