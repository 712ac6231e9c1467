//! The catalogue of figures: data, not code. To add a figure, add an entry.

use std::fmt;
use std::sync::{Arc, LazyLock};

use crate::naming::quoted;
use crate::time::{Duration, TimeError};
use crate::timed::Spelling;
use crate::value::{Base, TICKS};

/// A rhythm that fills a window with a fixed number of notes.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Figure {
    name: String,
    label: String,
    says: String,
    span: Duration,
    /// What it sounds like, note by note.
    literal: Vec<Stretch>,
    /// The same beat by beat, where plain swung eighths carry part of it.
    tied: Vec<Stretch>,
    spellings: Vec<Spelling>,
    accented: bool,
}

/// A note or rest of a figure.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Stretch {
    /// How long it lasts.
    pub duration: Duration,
    /// Whether it is a note; otherwise it is a rest.
    pub sounds: bool,
}

/// The error for lengths that don't make a figure.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[non_exhaustive]
pub enum FigureError {
    /// Something that isn't a length.
    #[error("`{text}` is not a length: write quarter notes, such as `2/3`, or `r1` for a rest")]
    Length {
        /// The text that was read.
        text: String,
    },
    /// No notes at all.
    #[error("a figure needs at least one note")]
    Silent,
    /// More than a bar of 4/4.
    #[error("these lengths add up to {sum} quarter notes; a figure can be at most {LONGEST} long")]
    Long {
        /// The sum of the lengths.
        sum: Duration,
    },
    /// A sum that doesn't fill a window.
    #[error(
        "these lengths add up to {sum} quarter notes; a figure is a multiple of 1/2, so take away {over} or add {under}"
    )]
    Sum {
        /// The sum of the lengths.
        sum: Duration,
        /// How much it exceeds the next smaller window.
        over: Duration,
        /// How much it falls short of the next larger window.
        under: Duration,
    },
}

/// An entry in the catalogue.
struct Entry {
    name: &'static str,
    label: &'static str,
    says: &'static str,
    /// Lengths in quarter notes; `r` before a length makes it a rest.
    lengths: &'static str,
    /// The spellings that make sense, the usual one first.
    spellings: &'static [Spelling],
    /// Whether the first note is accented.
    accented: bool,
}

impl Entry {
    const fn new(
        name: &'static str,
        label: &'static str,
        lengths: &'static str,
        spellings: &'static [Spelling],
        says: &'static str,
    ) -> Entry {
        Entry { name, label, says, lengths, spellings, accented: false }
    }

    const fn accented(self) -> Entry {
        Entry { accented: true, ..self }
    }
}

use Spelling::{Bracket, Grouped, Plain, Tied};

#[rustfmt::skip]
const CATALOGUE: [Entry; 17] = [
    Entry::new("split-last", "quarter-note triplet, last note split", "2/3 2/3 1/3 1/3", &[Bracket, Tied, Plain], "two long, then two quick: the last third is split"),
    Entry::new("split-middle", "quarter-note triplet, middle note split", "2/3 1/3 1/3 2/3", &[Bracket, Tied, Plain], "long, two quick, long: the middle third is split"),
    Entry::new("split-first", "quarter-note triplet, first note split", "1/3 1/3 2/3 2/3", &[Bracket, Tied, Plain], "two quick, then two long: the first third is split"),
    Entry::new("triplet-quarter", "triplet + quarter note", "1/3 1/3 1/3 1", &[Plain], "a triplet that lands on the next beat"),
    Entry::new("quarter-triplet", "quarter note + triplet", "1 1/3 1/3 1/3", &[Plain], "a beat held, then a triplet"),
    Entry::new("dotted-pairs", "dotted eighth + sixteenth", "3/4 1/4 3/4 1/4", &[Plain], "long, short, twice: stiffer than swing"),
    Entry::new("late-sixteenths", "rest + four sixteenths", "r1 1/4 1/4 1/4 1/4", &[Plain], "a beat of silence, then all four at double speed"),
    Entry::new("long-first-of-3", "long-short-short", "1 1/4 1/4", &[Plain], "three notes in three eighths, the first one long"),
    Entry::new("long-middle-of-3", "short-long-short", "1/4 1 1/4", &[Plain], "three notes in three eighths, the middle one long"),
    Entry::new("long-last-of-3", "short-short-long", "1/4 1/4 1", &[Plain], "three notes in three eighths, the last one long"),
    Entry::new("long-first-of-5", "long-short-short + two eighths", "1 1/4 1/4 1/2 1/2", &[Plain], "five notes in five eighths, the first one long"),
    Entry::new("long-second-of-5", "eighth + long-short-short + eighth", "1/2 1 1/4 1/4 1/2", &[Plain], "five notes in five eighths, the second one long"),
    Entry::new("long-middle-of-5", "two eighths + long-short-short", "1/2 1/2 1 1/4 1/4", &[Plain], "five notes in five eighths, the middle one long"),
    Entry::new("long-fourth-of-5", "short + two eighths + long-short", "1/4 1/2 1/2 1 1/4", &[Plain], "five notes in five eighths, the fourth one long"),
    Entry::new("long-last-of-5", "short-short + two eighths + long", "1/4 1/4 1/2 1/2 1", &[Plain], "five notes in five eighths, the last one long"),
    Entry::new("accent-3", "groups of 3", "1/2 1/2 1/2", &[Plain, Grouped], "plain eighths, every third one accented").accented(),
    Entry::new("accent-5", "groups of 5", "1/2 1/2 1/2 1/2 1/2", &[Plain, Grouped], "plain eighths, every fifth one accented").accented(),
];

static FIGURES: LazyLock<Vec<Arc<Figure>>> = LazyLock::new(|| {
    // Every entry is valid, which a test checks.
    let figures = CATALOGUE.iter().filter_map(|entry| {
        let figure = Figure::new(entry.name, entry.lengths).ok()?;
        let (label, says, spellings) = (entry.label.into(), entry.says.into(), entry.spellings.to_vec());
        Some(Arc::new(Figure { label, says, spellings, accented: entry.accented, ..figure }))
    });
    figures.collect()
});

impl Figure {
    /// Every figure in the catalogue, in the order they are offered.
    pub fn all() -> &'static [Arc<Figure>] {
        &FIGURES
    }

    /// The figure in the catalogue with this name.
    pub fn named(name: &str) -> Option<Arc<Figure>> {
        FIGURES.iter().find(|figure| figure.name == name).map(Arc::clone)
    }

    /// A figure from its lengths in quarter notes.
    ///
    /// ```
    /// use halfbar_core::recast::{Figure, Spelling};
    ///
    /// let lilt = Figure::new("lilt", "2/3 1/3 r1/3 2/3")?;
    /// assert_eq!((lilt.notes(), lilt.span().to_string()), (3, "2".to_string()));
    /// assert_eq!(lilt.spellings(), [Spelling::Bracket, Spelling::Tied, Spelling::Plain]);
    /// let wrong = Figure::new("wrong", "2/3 2/3 1/3 1/4").unwrap_err();
    /// assert!(wrong.to_string().starts_with("these lengths add up to 23/12"));
    /// # Ok::<(), halfbar_core::recast::FigureError>(())
    /// ```
    ///
    /// # Errors
    /// A [`FigureError`] if a length can't be read, nothing sounds, or the sum isn't a multiple of an eighth.
    pub fn new(name: &str, lengths: &str) -> Result<Figure, FigureError> {
        let literal: Vec<Stretch> = lengths.split_whitespace().map(stretch).collect::<Result<_, _>>()?;
        if !literal.iter().any(|stretch| stretch.sounds) {
            return Err(FigureError::Silent);
        }
        let out_of_reach = |_| FigureError::Length { text: quoted(lengths) };
        let span = Duration::sum(literal.iter().map(|stretch| stretch.duration)).map_err(out_of_reach)?;
        if span > LONGEST {
            return Err(FigureError::Long { sum: span });
        }
        if !span.is_multiple_of(Duration::EIGHTH) {
            let below = span.floor_to(Duration::EIGHTH).map_err(out_of_reach)?;
            let over = span.checked_sub(below).map_err(out_of_reach)?;
            let under = Duration::EIGHTH.checked_sub(over).map_err(out_of_reach)?;
            return Err(FigureError::Sum { sum: span, over, under });
        }
        let mut figure = Figure {
            name: name.into(),
            label: String::new(),
            says: String::new(),
            span,
            tied: beat_by_beat(&literal).map_err(out_of_reach)?,
            literal,
            spellings: Vec::new(),
            accented: false,
        };
        if figure.tuplet().is_some() {
            figure.spellings.push(Spelling::Bracket);
        }
        if figure.literal != figure.tied {
            figure.spellings.push(Spelling::Tied);
        }
        figure.spellings.push(Spelling::Plain);
        Ok(figure)
    }

    /// Its name in the text format.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// What players call it, in a few words; empty for a user-defined figure.
    ///
    /// ```
    /// use halfbar_core::recast::Figure;
    ///
    /// let figure = Figure::named("late-sixteenths").expect("in the catalogue");
    /// assert_eq!(figure.label(), "rest + four sixteenths");
    /// ```
    pub fn label(&self) -> &str {
        &self.label
    }

    /// What it sounds like, in a phrase; empty for a user-defined figure.
    pub fn says(&self) -> &str {
        &self.says
    }

    /// The length of its window: a multiple of an eighth.
    pub fn span(&self) -> Duration {
        self.span
    }

    /// The number of notes it takes.
    pub fn notes(&self) -> usize {
        self.literal.iter().filter(|stretch| stretch.sounds).count()
    }

    /// Whether its first note is accented.
    pub fn is_accented(&self) -> bool {
        self.accented
    }

    /// The spellings that make sense, the usual one first.
    pub fn spellings(&self) -> &[Spelling] {
        &self.spellings
    }

    /// Its notes and rests in this spelling. Together they fill the window.
    pub fn stretches(&self, spelling: Spelling) -> &[Stretch] {
        match spelling {
            Spelling::Bracket | Spelling::Plain | Spelling::Grouped => &self.literal,
            Spelling::Tied => &self.tied,
        }
    }

    /// The single tuplet that can hold all of it, as actual and normal number: 3 in the time of 2. `None` if
    /// no single tuplet can.
    pub fn tuplet(&self) -> Option<(u8, u8)> {
        const NUMBERS: [(u8, u8); 6] = [(6, 4), (3, 2), (5, 4), (7, 4), (5, 3), (7, 6)];
        let wide = self.span > Duration::QUARTER;
        NUMBERS.into_iter().filter(|_| wide).find(|&(actual, normal)| {
            let unit = self.span.checked_div(i64::from(normal));
            let written = unit.is_ok_and(|unit| Base::from_length(unit).is_some());
            let Ok(part) = self.span.checked_div(i64::from(actual)) else { return false };
            let mut lengths = self.literal.iter().map(|stretch| stretch.duration);
            written
                && match actual {
                    // A six is only for six equal notes; anything else reads better as a three.
                    6 => lengths.all(|length| length == part) && part.denom() % 3 == 0,
                    // Halves of a unit only: anything finer mixes with plain notes and reads badly under a
                    // bracket.
                    _ => {
                        lengths
                            .clone()
                            .all(|length| part.checked_div(2).is_ok_and(|half| length.is_multiple_of(half)))
                            && lengths.any(|length| length.denom() % i64::from(actual) == 0)
                    }
                }
        })
    }
}

/// Reads `2/3`, or `r2/3` for a rest.
fn stretch(text: &str) -> Result<Stretch, FigureError> {
    let (sounds, length) = text.strip_prefix('r').map_or((true, text), |length| (false, length));
    let duration: Option<Duration> = length.parse().ok();
    let duration = duration.filter(|&d| d > Duration::ZERO && d <= LONGEST && TICKS % d.denom() == 0);
    duration
        .map(|duration| Stretch { duration, sounds })
        .ok_or_else(|| FigureError::Length { text: quoted(text) })
}

/// The longest figure: a bar of 4/4.
const LONGEST: Duration = Duration::of(4, 1);

/// The lengths with every swung beat made plain. Where the only start inside a beat lies at two thirds of it,
/// it moves to the half, because two plain eighths swung 2 : 1 sound the same.
fn beat_by_beat(literal: &[Stretch]) -> Result<Vec<Stretch>, TimeError> {
    let mut starts = Vec::with_capacity(literal.len() + 1);
    let mut at = Duration::ZERO;
    for stretch in literal {
        starts.push(at);
        at = at.checked_add(stretch.duration)?;
    }
    let two_thirds = Duration::of(2, 3);
    let mut moved = Vec::with_capacity(starts.len() + 1);
    for &start in &starts {
        let beat = start.floor_to(Duration::QUARTER)?;
        let next = beat.checked_add(Duration::QUARTER)?;
        let alone = starts.iter().filter(|&&other| other > beat && other < next).count() == 1;
        let plain = alone && start.checked_sub(beat)? == two_thirds;
        moved.push(if plain { beat.checked_add(Duration::EIGHTH)? } else { start });
    }
    moved.push(at);
    let ends = moved.iter().skip(1);
    let pairs = moved.iter().zip(ends).zip(literal);
    pairs
        .map(|((&start, &end), stretch)| Ok(Stretch { duration: end.checked_sub(start)?, ..*stretch }))
        .collect()
}

impl fmt::Display for Figure {
    /// Writes its lengths, as [`Figure::new`] reads them.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (index, stretch) in self.literal.iter().enumerate() {
            let gap = if index > 0 { " " } else { "" };
            let rest = if stretch.sounds { "" } else { "r" };
            write!(f, "{gap}{rest}{}", stretch.duration)?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lengths(figure: &Figure, spelling: Spelling) -> String {
        let lengths = figure.stretches(spelling).iter().map(|stretch| stretch.duration.to_string());
        lengths.collect::<Vec<_>>().join(" ")
    }

    #[test]
    fn every_entry_is_a_figure() {
        assert_eq!(Figure::all().len(), CATALOGUE.len());
        for figure in Figure::all() {
            for &spelling in figure.spellings() {
                let sum = Duration::sum(figure.stretches(spelling).iter().map(|stretch| stretch.duration));
                assert_eq!(sum, Ok(figure.span()), "{} {spelling}", figure.name());
            }
            assert_eq!(figure.spellings().contains(&Bracket), figure.spellings()[0] == Bracket);
            assert!(
                !figure.spellings().contains(&Bracket) || figure.tuplet() == Some((3, 2)),
                "{}",
                figure.name()
            );
            assert_eq!(Figure::new("again", &figure.to_string()).unwrap().literal, figure.literal);
        }
    }

    /// The table of the two spellings is arithmetic, found in every lesson on the subject (common practice,
    /// no source).
    #[test]
    fn beat_by_beat_is_derived() {
        for (name, expected) in [
            ("split-last", "1/2 5/6 1/3 1/3"),
            ("split-middle", "1/2 1/2 1/3 2/3"),
            ("split-first", "1/3 1/3 2/3 2/3"),
        ] {
            assert_eq!(lengths(&Figure::named(name).unwrap(), Tied), expected, "{name}");
        }
    }

    #[test]
    fn own_figures() {
        let five = Figure::new("five", "2/5 2/5 2/5 2/5 2/5").unwrap();
        assert_eq!((five.tuplet(), five.spellings()), (Some((5, 4)), [Bracket, Plain].as_slice()));
        assert_eq!(Figure::new("two", "1 1").unwrap().spellings(), [Plain]);
        assert_eq!(Figure::new("x", "r1 r1"), Err(FigureError::Silent));
        assert_eq!(Figure::new("x", ""), Err(FigureError::Silent));
        assert!(matches!(Figure::new("x", "1/11 1"), Err(FigureError::Length { .. })));
        assert!(matches!(Figure::new("x", "4 1"), Err(FigureError::Long { .. })));
        assert!(matches!(Figure::new("x", "0 1"), Err(FigureError::Length { .. })));
        let sum = FigureError::Sum {
            sum: Duration::of(23, 12),
            over: Duration::of(5, 12),
            under: Duration::of(1, 12),
        };
        assert_eq!(Figure::new("x", "2/3 2/3 1/3 1/4"), Err(sum));
    }
}
