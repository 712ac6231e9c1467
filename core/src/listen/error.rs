//! Why taps don't give a latency.

/// The fewest taps that give a latency.
pub const LEAST_TAPS: usize = 4;

/// The most that taps may vary and still give a latency, in milliseconds. Tapping along with a click every
/// half second, people vary by about 4% of that, or 20 ms, and beginners by twice as much (Repp,
/// "Sensorimotor synchronization: a review of the tapping literature", 2005; from memory).
pub const MOST_SPREAD_MS: u32 = 40;

/// The error for taps that can't measure a device's latency.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[non_exhaustive]
pub enum LatencyError {
    /// Too few taps.
    #[error(
        "{taps} taps on a steady click are too few to measure the latency: tap at least {LEAST_TAPS} times, each near a click"
    )]
    FewTaps {
        /// How many taps matched a click of their own.
        taps: usize,
    },
    /// Taps that don't keep up with their clicks.
    #[error(
        "the taps vary by {spread_ms} ms, too much to measure the latency (at most {MOST_SPREAD_MS} ms): tap more steadily, along with the click"
    )]
    UnsteadyTaps {
        /// How much they vary: a standard deviation in milliseconds.
        spread_ms: u32,
    },
}

impl LatencyError {
    /// A short identifier that stays the same when the message is reworded.
    pub fn code(&self) -> &'static str {
        match self {
            LatencyError::FewTaps { .. } => "few-taps",
            LatencyError::UnsteadyTaps { .. } => "unsteady-taps",
        }
    }
}
