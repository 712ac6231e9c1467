//! Directions.

use crate::naming::by_name;

/// Which way a shape goes.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
#[allow(missing_docs)]
pub enum Way {
    #[default]
    Up,
    Down,
}

impl Way {
    /// Both.
    pub const ALL: [Way; 2] = [Way::Up, Way::Down];

    /// `up` or `down`.
    pub fn name(self) -> &'static str {
        ["up", "down"][self as usize]
    }
}

by_name!(Way, "a direction");
