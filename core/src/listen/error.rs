//! Why taps don't tell a latency.

use super::{LEAST_TAPS, MOST_SPREAD_MS};

/// Taps that a device's latency can't be measured by.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[non_exhaustive]
pub enum LatencyError {
    /// Too few taps.
    #[error(
        "{taps} taps on a steady click are too few to measure the latency: tap at least {LEAST_TAPS} times, each near a click"
    )]
    FewTaps {
        /// How many fell on a click of their own.
        taps: usize,
    },
    /// Taps that don't go with their clicks.
    #[error(
        "the taps scatter by {spread_ms} ms; the latency can be measured up to {MOST_SPREAD_MS} ms: tap more evenly, with the click"
    )]
    UnsteadyTaps {
        /// How far they scatter, in milliseconds, as a standard deviation.
        spread_ms: u32,
    },
}

impl LatencyError {
    /// A short name that stays the same when the words change.
    pub fn code(&self) -> &'static str {
        match self {
            LatencyError::FewTaps { .. } => "few-taps",
            LatencyError::UnsteadyTaps { .. } => "unsteady-taps",
        }
    }
}
