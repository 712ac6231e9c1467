//! What speaks for recasting a half-bar, and what against it. All values are common practice, no source: only their order and their
//! proportions matter.

/// It leads into a new chord, where listeners expect something to happen.
pub(super) const INTO_CHANGE: i32 = 3;
/// A phrase ends: a new rhythm there is a turn. Where one starts, listeners have to hear the plain rhythm first.
pub(super) const ENDS_PHRASE: i32 = 2;
pub(super) const STARTS_PHRASE: i32 = -2;
/// Its notes belong together, or part of them belongs to others.
pub(super) const ONE_NAME: i32 = 2;
pub(super) const CUTS_NAME: i32 = -2;
/// The hands have little to do where time is short, or too much.
pub(super) const EASY: i32 = 3;
pub(super) const AWKWARD: i32 = -4;
/// Quick notes are too quick at this tempo.
pub(super) const FAST: i32 = -3;
/// It was there in the bar before.
pub(super) const SAME_SPOT: i32 = -1;

/// Notes shorter than this are near the floor of what is played, in milliseconds (common practice, no source).
pub(super) const FAST_MS: i64 = 110;
