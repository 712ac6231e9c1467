//! How much of a line is recast.

use crate::naming::by_name;

/// How much of a line is recast.
///
/// What counts as one half-bar is what the meter groups: half a bar of 4/4, all of 3/4, each dotted beat of 6/8 ([`Meter::window_starts`]). So
/// does the part of one that a pickup starts in. A density says how many plain half-bars there are at least between two that are recast,
/// in a line of any length. So a line of up to eight half-bars is recast once when this is done sparingly, and no passage ever has more than its
/// share. Rests and long notes count as the half-bars that they fill.
///
/// A figure that reaches into a half-bar recasts it.
///
/// ```
/// use halfbar_core::advise::Density;
///
/// let density: Density = "often".parse()?;
/// assert_eq!(density.plain_between(), 3);
/// let wrong = "twice".parse::<Density>().unwrap_err();
/// assert_eq!(wrong.to_string(), "`twice` is not a density: write `sparingly`, `often`, `alternately` or `everywhere`");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// [`Meter::window_starts`]: crate::meter::Meter::window_starts
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Default, Hash)]
pub enum Density {
    /// At most one of any eight half-bars in a row: once in a phrase of four bars.
    #[default]
    Sparingly,
    /// At most one of any four in a row.
    Often,
    /// At most every other one.
    Alternately,
    /// Every half-bar that can be recast, whatever speaks against it.
    Everywhere,
}

impl Density {
    /// All densities, the lowest first.
    pub const ALL: [Density; 4] =
        [Density::Sparingly, Density::Often, Density::Alternately, Density::Everywhere];

    /// Its name.
    pub fn name(self) -> &'static str {
        match self {
            Density::Sparingly => "sparingly",
            Density::Often => "often",
            Density::Alternately => "alternately",
            Density::Everywhere => "everywhere",
        }
    }

    /// The least number of plain half-bars between two that are recast.
    pub fn plain_between(self) -> usize {
        match self {
            Density::Sparingly => 7,
            Density::Often => 3,
            Density::Alternately => 1,
            Density::Everywhere => 0,
        }
    }
}

by_name!(Density, "a density");
