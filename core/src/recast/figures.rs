//! The catalogue of figures: data, not code. Adding a figure is adding an entry.

use std::fmt;
use std::str::FromStr;

use crate::time::Duration;

/// A rhythm that fills a window with a given number of notes.
#[derive(PartialEq, Eq, Debug)]
pub struct Figure {
    /// What the text format and the page call it.
    pub name: &'static str,
    /// What it sounds like, in a phrase.
    pub says: &'static str,
    /// How long the window is.
    pub span: Duration,
    /// The sounding lengths of its notes when it is written under one triplet bracket.
    bracket: &'static [Duration],
    /// The sounding lengths of its notes when it is written beat by beat: plain eighths where a swing feel carries them, an
    /// eighth-note triplet elsewhere, a tie where a note sounds over the beat.
    tied: &'static [Duration],
}

/// The two ways to write a figure. They are the same sound only when the swing ratio is 2.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash, Default)]
pub enum Spelling {
    /// The whole window under one triplet bracket.
    #[default]
    Bracket,
    /// Each beat on its own, tied where a note sounds over the beat.
    Tied,
}

const HALF: Duration = Duration::EIGHTH;
const THIRD: Duration = Duration::of(1, 3);
const TWO_THIRDS: Duration = Duration::of(2, 3);
const FIVE_SIXTHS: Duration = Duration::of(5, 6);
const HALF_BAR: Duration = Duration::of(2, 1);

/// The figure at the heart of it and its two reorderings: a quarter-note triplet with one third split.
static CATALOGUE: [Figure; 3] = [
    Figure {
        name: "split-last",
        says: "two long, then two quick: the last third is split",
        span: HALF_BAR,
        bracket: &[TWO_THIRDS, TWO_THIRDS, THIRD, THIRD],
        tied: &[HALF, FIVE_SIXTHS, THIRD, THIRD],
    },
    Figure {
        name: "split-middle",
        says: "long, two quick, long: the middle third is split",
        span: HALF_BAR,
        bracket: &[TWO_THIRDS, THIRD, THIRD, TWO_THIRDS],
        tied: &[HALF, HALF, THIRD, TWO_THIRDS],
    },
    Figure {
        name: "split-first",
        says: "two quick, then two long: the first third is split",
        span: HALF_BAR,
        bracket: &[THIRD, THIRD, TWO_THIRDS, TWO_THIRDS],
        tied: &[THIRD, THIRD, TWO_THIRDS, TWO_THIRDS],
    },
];

impl Figure {
    /// Every figure, in the order in which they are offered.
    pub fn all() -> &'static [Figure] {
        &CATALOGUE
    }

    /// The figure of this name.
    pub fn named(name: &str) -> Option<&'static Figure> {
        CATALOGUE.iter().find(|figure| figure.name == name)
    }

    /// How many notes it takes.
    pub fn notes(&self) -> usize {
        self.bracket.len()
    }

    /// The sounding lengths of its notes in quarter notes, in this spelling. They fill the window.
    pub fn durations(&self, spelling: Spelling) -> &'static [Duration] {
        match spelling {
            Spelling::Bracket => self.bracket,
            Spelling::Tied => self.tied,
        }
    }
}

impl Spelling {
    /// Both, in the order in which they are offered.
    pub const ALL: [Spelling; 2] = [Spelling::Bracket, Spelling::Tied];

    /// What the text format calls it.
    pub fn name(self) -> &'static str {
        match self {
            Spelling::Bracket => "bracket",
            Spelling::Tied => "tied",
        }
    }
}

impl FromStr for Spelling {
    type Err = ();

    fn from_str(text: &str) -> Result<Spelling, ()> {
        Spelling::ALL.into_iter().find(|spelling| spelling.name() == text).ok_or(())
    }
}

impl fmt::Display for Spelling {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_spelling_fills_the_window_with_the_same_notes() {
        for figure in Figure::all() {
            for spelling in Spelling::ALL {
                let durations = figure.durations(spelling);
                assert_eq!(
                    Duration::sum(durations.iter().copied()),
                    Ok(figure.span),
                    "{} {spelling}",
                    figure.name
                );
                assert_eq!(durations.len(), figure.notes(), "{} {spelling}", figure.name);
            }
        }
    }
}
