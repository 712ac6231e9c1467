//! Lines as they are made: notes in eighths, one after another.

use crate::bars::{Bars, Place};
use crate::chord::ChordSymbol;
use crate::drill::{Named, Renamed};
use crate::hand;
use crate::line::{ChordAt, Line, Part};
use crate::neck::Fret;
use crate::pitch::Pitch;
use crate::technique::{Constraint, ConstraintSpan, Pin};
use crate::time::{Duration, Onset, Span, TimeError};

use super::error::{MaterialError, Result};
use super::remark::Remark;
use super::setup::Setup;

/// A line that was made, and what is different in it than asked. It can be played as it is.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Made {
    /// The line.
    pub line: Line,
    /// What came out differently than asked.
    pub remarks: Vec<Remark>,
}

/// The most bars of a line that is made.
const LONGEST: usize = 512;

/// Whether a line may end at a moment.
///
/// # Errors
/// [`MaterialError::Long`] if not.
pub(super) fn not_too_long(bars: &Bars, end: Onset) -> Result<()> {
    let (bar, over) = bars.split(end)?;
    match bar + usize::from(over > Duration::ZERO) {
        0..=LONGEST => Ok(()),
        _ => Err(MaterialError::Long { bars: LONGEST }),
    }
}

/// A line on its way.
pub(super) struct Maker<'a> {
    setup: &'a Setup,
    parts: Vec<Part>,
    chords: Vec<ChordAt>,
    /// The chord that sounds, which decides how notes are spelled.
    over: Named,
    end: Onset,
    renamed: Vec<Renamed>,
    remarks: Vec<Remark>,
}

impl<'a> Maker<'a> {
    /// # Errors
    /// [`MaterialError::Pickup`] for a pickup that eighths don't fill.
    pub(super) fn new(setup: &'a Setup) -> Result<Maker<'a>> {
        let pickup = setup.bars.pickup();
        if !pickup.is_multiple_of(Duration::EIGHTH) {
            return Err(MaterialError::Pickup { pickup });
        }
        Ok(Maker {
            setup,
            parts: Vec::new(),
            chords: Vec::new(),
            over: Named::as_written(ChordSymbol::NoChord),
            end: Onset::ZERO,
            renamed: Vec::new(),
            remarks: Vec::new(),
        })
    }

    /// Where the line ends so far.
    pub(super) fn place(&self) -> Result<Place> {
        Ok(self.setup.bars.place(self.end)?)
    }

    pub(super) fn remark(&mut self, remark: Remark) {
        self.remarks.push(remark);
    }

    /// Starts a chord here.
    pub(super) fn chord(&mut self, symbol: &ChordSymbol) {
        self.over = Named::as_written(symbol.clone());
        if self.chords.last().is_none_or(|last| last.symbol != *symbol) {
            self.chords.push(ChordAt { onset: self.end, symbol: symbol.clone() });
        }
    }

    /// Adds an eighth, by a name that is easy to read.
    pub(super) fn note(&mut self, pitch: Pitch, pin: Pin) -> Result<()> {
        let (bars, place) = (&self.setup.bars, self.place()?);
        let (bar, _) = bars.split(self.end)?;
        let key = bars.key(bar);
        let named = self.over.pitch(pitch, key).unwrap_or(pitch);
        let same = self.renamed.iter().position(|renamed| renamed.key == key);
        let at = same.unwrap_or_else(|| {
            self.renamed.push(Renamed { place, key, names: Vec::new() });
            self.renamed.len() - 1
        });
        self.renamed[at].add(pitch.name, named.name, place);
        self.put(Part { pitch: Some(named), pin, ..Part::rest(Duration::EIGHTH) })
    }

    fn put(&mut self, part: Part) -> Result<()> {
        self.end = self.end.checked_add(part.duration)?;
        self.parts.push(part);
        not_too_long(&self.setup.bars, self.end)
    }

    /// Rests up to a moment, bar by bar.
    pub(super) fn rest_to(&mut self, end: Onset) -> Result<()> {
        while self.end < end {
            let (bar, _) = self.setup.bars.split(self.end)?;
            let stop = self.setup.bars.span(bar)?.end().min(end);
            self.put(Part::rest(stop.checked_since(self.end)?))?;
        }
        Ok(())
    }

    /// Rests up to the next beat: a quarter, or a group of the meter where beats are longer.
    pub(super) fn rest_to_beat(&mut self) -> Result<()> {
        let end = next_beat(self.setup, self.end)?;
        self.rest_to(end)
    }

    /// The line, its last bar filled with a rest.
    pub(super) fn made(mut self) -> Result<Made> {
        let bars = &self.setup.bars;
        let (bar, over) = bars.split(self.end)?;
        if over > Duration::ZERO {
            let (length, start) = (bars.meter(bar).bar(), bars.downbeat(bar)?);
            // After a pickup, the last bar may be short by as much.
            let short = length.checked_sub(bars.pickup())?;
            self.rest_to(start.checked_add(if over <= short { short } else { length })?)?;
        }
        let line = Line::new(self.setup.heading.clone(), bars.clone(), self.parts, self.chords)?;
        let renamed = self.renamed.into_iter().filter(|renamed| !renamed.names.is_empty());
        self.remarks.extend(renamed.map(Remark::Renamed));
        Ok(Made { line: on_region(line, self.setup)?, remarks: self.remarks })
    }
}

/// The next beat from a moment on, or the moment itself if it is on one.
pub(super) fn next_beat(setup: &Setup, onset: Onset) -> Result<Onset> {
    let (bar, offset) = setup.bars.split(onset)?;
    let (meter, start) = (setup.bars.meter(bar), setup.bars.downbeat(bar)?);
    let end = start.checked_add(meter.bar())?;
    let next = if meter.has_quarter_beats() {
        let whole = offset.floor_to(Duration::QUARTER)?;
        if whole == offset { whole } else { whole.checked_add(Duration::QUARTER)? }
    } else {
        meter.group_starts().find(|group| *group >= offset).unwrap_or(meter.bar())
    };
    Ok(start.checked_add(next)?.min(end))
}

/// The line on the strings asked for, and not above the highest fret.
fn on_region(line: Line, setup: &Setup) -> Result<Line> {
    // If every note has its string, nothing else needs fixing.
    if line.events().iter().all(|event| event.pitch.is_none() || event.pin.string.is_some()) {
        hand::fret(&line, None)?;
        return Ok(line);
    }
    let whole = Span::new(Onset::ZERO, line.end()).ok_or(TimeError)?;
    let hold = |want| ConstraintSpan { span: whole, want };
    let strings = setup.region.strings.map(Constraint::Strings);
    let line = line.with_constraints(strings.into_iter().map(hold).collect());
    let (plan, up_to) = (hand::fret(&line, None)?, setup.region.up_to);
    let is_above = plan.notes().iter().filter_map(|note| plan.of(*note)).any(|at| at.fret > up_to);
    if !is_above {
        return Ok(line);
    }
    let frets = Constraint::Frets(Fret(0), up_to);
    let line = line.with_constraints(strings.into_iter().chain([frets]).map(hold).collect());
    hand::fret(&line, None)?;
    Ok(line)
}
