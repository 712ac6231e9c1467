//! Ladders: the small steps that lead up to a figure, and then into a line with it.

use std::fmt;
use std::str::FromStr;
use std::sync::Arc;

use super::error::Result;
use super::words::{beats, evenly, note, other, plain};
use crate::bars::Bars;
use crate::dialect::Dialect;
use crate::key::Key;
use crate::line::{Heading, Line, Part, SystemBreaks};
use crate::meter::Meter;
use crate::naming::{UnknownName, named};
use crate::notate;
use crate::pitch::{Alter, Letter, Pitch, PitchName};
use crate::recast::{self, Casting, Figure, Fit, Grid, RecastError, Refusal, Spelling, Stretch, Window};
use crate::time::{Duration, Onset, TimeError};

/// Where a ladder starts.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
pub enum Side {
    /// From the pulse, by way of the coarsest even division of the window that has most of the figure's
    /// starts: quarter-note triplets for the triplet figures, sixteenths for dotted pairs.
    Triplets,
    /// From plain eighths, beat by beat, with ties across the beats at the end.
    Eighths,
}

/// What a step changes.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
#[non_exhaustive]
pub enum StepKind {
    /// The plain beats or eighths that a ladder starts from.
    Start,
    /// Time that equal notes divide evenly, the whole window or one beat, is divided evenly in another way.
    /// There is no step from two even notes to three that adds one note and keeps the others, and anything in
    /// between would be harder than either.
    Even,
    /// One note becomes two.
    Split,
    /// Two notes become one.
    Tie,
    /// One note starts earlier or later, between the same neighbors.
    Move,
    /// One note becomes a rest.
    Rest,
    /// One more note is accented.
    Accent,
    /// The figure starts on a beat, with plain eighths around it.
    Place,
    /// The figure repeats until it starts on the bar line, as at first.
    Again,
    /// The user's line: without the figure, with it in one window, then in all of them.
    Line,
}

impl StepKind {
    /// Whether the step practices the rhythm alone.
    pub fn is_rhythm(self) -> bool {
        !matches!(self, StepKind::Place | StepKind::Again | StepKind::Line)
    }
}

/// One step: something to play, with a title that says what to do.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct LadderStep {
    /// What is new.
    pub kind: StepKind,
    /// What to do, as a sentence without a period.
    pub says: String,
    /// What to play. The title is the number of the step and the sentence.
    pub line: Line,
    /// The casting of the line.
    pub casting: Casting,
}

impl LadderStep {
    /// The same step in the reader's dialect.
    pub fn in_words(self, words: Dialect) -> LadderStep {
        let heading = self.line.heading();
        let heading = Heading { title: words.say(&heading.title).into(), ..heading.clone() };
        LadderStep { says: words.say(&self.says).into(), line: self.line.with_heading(heading), ..self }
    }
}

impl Side {
    /// Both sides, in the order they are offered.
    pub const ALL: [Side; 2] = [Side::Triplets, Side::Eighths];

    /// Its name on the command line.
    pub fn name(self) -> &'static str {
        match self {
            Side::Triplets => "triplets",
            Side::Eighths => "eighths",
        }
    }
}

impl FromStr for Side {
    type Err = UnknownName;

    /// Reads a name. American and British length names are understood.
    fn from_str(text: &str) -> std::result::Result<Side, UnknownName> {
        named(&Dialect::understood(text), "a side of a ladder", &Side::ALL, Side::name)
    }
}

impl fmt::Display for Side {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// The ladder that leads to a figure from one side.
///
/// First comes the rhythm alone, on one note. Every step changes one thing (see [`StepKind`]), and the last
/// step is the figure. A figure that only accents gets its accents one by one. Next, the figure starts on
/// every beat where it can; one that doesn't fill the bar evenly repeats until it starts on a bar line. Last
/// comes the user's line, if there is one. Then the earlier steps are in the meter, in the key and on the
/// note of its first window with this figure. If the line has none, the figure goes in the first place that
/// takes it.
///
/// ```
/// use halfbar_core::drill::{self, Side};
/// use halfbar_core::recast::Figure;
///
/// let ladder = drill::ladder(&Figure::named("split-last").unwrap(), Side::Triplets, None)?;
/// let says: Vec<_> = ladder.iter().map(|step| step.says.as_str()).collect();
/// assert_eq!(says[..3], [
///     "Play quarter notes and tap your foot",
///     "Play quarter-note triplets evenly, foot on 1 and 3",
///     "Split the last note in two",
/// ]);
/// # Ok::<(), halfbar_core::Error>(())
/// ```
///
/// # Errors
/// - [`NotateError::Unwritable`](crate::notate::NotateError::Unwritable) for a figure, or a step toward it,
///   that can't be written.
/// - [`RecastError::Window`] if no place in the line takes the figure, with the reason at the first one.
pub fn ladder(
    figure: &Arc<Figure>,
    side: Side,
    within: Option<(&Line, &Casting)>,
) -> Result<Vec<LadderStep>> {
    let mut climb = Climb::new(figure, within)?;
    match (figure.is_accented(), side) {
        (true, _) => climb.accents(side)?,
        (false, Side::Triplets) => climb.by_even_notes()?,
        (false, Side::Eighths) => climb.by_eighths()?,
    }
    climb.places()?;
    if let Some((line, casting)) = within {
        climb.in_line(line, casting)?;
    }
    let count = climb.steps.len();
    let numbered = climb.steps.into_iter().enumerate().map(|(index, step)| {
        let title = format!("{} of {count}: {}", index + 1, step.says);
        let heading = Heading { title, ..step.line.heading().clone() };
        LadderStep { line: step.line.with_heading(heading), ..step }
    });
    Ok(numbered.collect())
}

/// When a note starts inside the window, and whether it sounds.
type Start = (Duration, bool);

/// What to play without a line: an open string, so that the fretting hand is free.
const OPEN: Pitch = Pitch { name: PitchName { letter: Letter::G, alter: Alter::NATURAL }, octave: 3 };

/// The finest even division of a beat that is still counted.
const FINEST: i64 = 8;

struct Climb {
    figure: Arc<Figure>,
    heading: Heading,
    meter: Meter,
    key: Key,
    pitch: Pitch,
    /// The time from one start of the window to the next.
    period: Duration,
    /// Nothing recast, but the figure is known if it is the user's own.
    plain: Casting,
    /// The current rhythm, from the start of the window.
    rhythm: Vec<Start>,
    steps: Vec<LadderStep>,
}

impl Climb {
    fn new(figure: &Arc<Figure>, within: Option<(&Line, &Casting)>) -> Result<Climb> {
        let mut climb = Climb {
            figure: Arc::clone(figure),
            heading: Heading::default(),
            meter: Meter::COMMON,
            key: Key::C,
            pitch: OPEN,
            period: Duration::ZERO,
            plain: within.map(|(_, casting)| casting.cleared()).unwrap_or_default(),
            rhythm: Vec::new(),
            steps: Vec::new(),
        };
        if let Some((line, casting)) = within {
            let start = windows(figure, line, casting)?[0].start;
            let (index, _) = line.bars().split(start)?;
            (climb.meter, climb.key) = (line.bars().meter(index), line.bars().key(index));
            let notes = line.events().iter().filter(|event| event.onset >= start);
            climb.pitch = notes.filter_map(|event| event.pitch).next().unwrap_or(climb.pitch);
            // These breaks are at bars of the line.
            climb.heading = Heading { systems: SystemBreaks::default(), ..line.heading().clone() };
        }
        if climb.plain.figure(figure.name()).as_ref() != Some(figure) {
            climb.plain.add_figure(Figure::clone(figure));
        }
        climb.period = climb.period()?;
        Ok(climb)
    }

    /// The shortest time after which the figure can start the same way: some beats that divide the bar
    /// evenly, otherwise whole bars.
    fn period(&self) -> Result<Duration> {
        let (bar, span) = (self.meter.bar(), self.figure.span());
        let step = if self.meter.has_quarter_beats() { Duration::QUARTER } else { bar };
        let mut period = step;
        while period < span || !(bar.is_multiple_of(period) || period.is_multiple_of(bar)) {
            period = period.checked_add(step)?;
        }
        Ok(period)
    }

    fn line(&self, parts: Vec<Part>) -> Result<Line> {
        Ok(Line::new(self.heading.clone(), Bars::new(self.meter).in_key(self.key), parts, Vec::new())?)
    }

    fn part(&self, duration: Duration, sounds: bool) -> Part {
        Part { pitch: sounds.then_some(self.pitch), ..Part::rest(duration) }
    }

    /// As many bars of plain eighths as it takes to reach `end`.
    fn eighths(&self, end: Duration) -> Result<Line> {
        let (mut parts, mut at) = (Vec::new(), Duration::ZERO);
        while at < end || !at.is_multiple_of(self.meter.bar()) {
            parts.push(self.part(Duration::EIGHTH, true));
            at = at.checked_add(Duration::EIGHTH)?;
        }
        self.line(parts)
    }

    /// A rhythm of the window in full bars: repeated after each period, with rests in between.
    fn repeated(&self, rhythm: &[Start]) -> Result<Line> {
        let mut cell = rhythm.to_vec();
        // A rest at the end lasts until the next start.
        if self.figure.span() < self.period && rhythm.last().is_some_and(|last| last.1) {
            cell.push((self.figure.span(), false));
        }
        let (mut parts, mut at) = (Vec::new(), Duration::ZERO);
        while at < self.period || !at.is_multiple_of(self.meter.bar()) {
            let ends = cell.iter().skip(1).map(|next| next.0).chain([self.period]);
            for (&(start, sounds), end) in cell.iter().zip(ends) {
                parts.push(self.part(end.checked_sub(start)?, sounds));
            }
            at = at.checked_add(self.period)?;
        }
        self.line(parts)
    }

    fn push(&mut self, kind: StepKind, says: String, line: Line, casting: Casting) -> Result<()> {
        can_be_written(&line)?;
        // A step that changes nothing isn't a step.
        if self.steps.last().is_none_or(|last| (&last.line, &last.casting) != (&line, &casting)) {
            self.steps.push(LadderStep { kind, says, line, casting });
        }
        Ok(())
    }

    /// Adds a step to this rhythm.
    fn step(&mut self, kind: StepKind, says: String, rhythm: Vec<Start>) -> Result<()> {
        let line = self.repeated(&rhythm)?;
        self.rhythm = rhythm;
        self.push(kind, says, line, self.plain.clone())
    }

    /// The places in a bar that lie `offset` after a start of the figure: `2 and 4`.
    fn on(&self, offset: Duration) -> Result<String> {
        let (bars, mut at, mut all) = (Bars::new(self.meter), offset, Vec::new());
        while at < self.meter.bar().max(self.period) {
            all.push(bars.place(Onset::after(at))?.beat);
            at = at.checked_add(self.period)?;
        }
        Ok(beats(&all))
    }

    /// The pulse, then an even division, then what makes it the figure.
    fn by_even_notes(&mut self) -> Result<()> {
        let goal = self.goal(Spelling::Plain)?;
        self.pulse()?;
        let span = self.figure.span();
        let shortest = self.figure.stretches(Spelling::Plain).iter().map(|stretch| stretch.duration).min();
        let mut even = None;
        for parts in 1..=4 * FINEST {
            let unit = span.checked_div(parts)?;
            let carried = goal.iter().filter(|start| start.0.is_multiple_of(unit)).count();
            let rhythm = divided(Duration::ZERO, unit, parts)?;
            let fits = 2 * carried > goal.len() && shortest.is_some_and(|shortest| shortest <= unit);
            if fits && can_be_written(&self.repeated(&rhythm)?).is_ok() {
                even = Some((unit, rhythm));
                break;
            }
        }
        // If no even division has the figure's starts, use the beats.
        let (unit, rhythm) = match even {
            Some(even) => even,
            None => {
                let mut rhythm = divided(Duration::ZERO, Duration::QUARTER, 4)?;
                rhythm.retain(|start| start.0 < span);
                (Duration::QUARTER, rhythm)
            }
        };
        let says = format!("Play {} evenly, foot on {}", evenly(unit, span), self.on(Duration::ZERO)?);
        self.step(StepKind::Even, says, rhythm)?;
        self.up_to(&goal)?;
        self.silence(&goal)?;
        self.under_a_bracket()
    }

    /// Writes the last step under the figure's bracket, if it has one. By default its notes would be written
    /// beat by beat.
    fn under_a_bracket(&mut self) -> Result<()> {
        let span = self.figure.span();
        let eighths = divided(Duration::ZERO, Duration::EIGHTH, span.checked_mul(2)?.numer())?;
        let (line, mut casting) = (self.repeated(&eighths)?, self.plain.clone());
        let mut start = Duration::ZERO;
        while start < line.end().since_start() {
            let window = self.window(start, Spelling::Bracket)?;
            if recast::can_recast(&line, &window).is_err() {
                return Ok(());
            }
            casting.put(window);
            start = start.checked_add(self.period)?;
        }
        if let Some(last) = self.steps.last_mut() {
            (last.line, last.casting) = (line, casting);
        }
        Ok(())
    }

    /// Plain eighths, then the figure's own beats one by one, then the ties, then what swings, then the
    /// rests.
    fn by_eighths(&mut self) -> Result<()> {
        let (goal, spelled) = (self.goal(Spelling::Plain)?, self.goal(Spelling::Tied)?);
        let span = self.figure.span();
        let eighths = divided(Duration::ZERO, Duration::EIGHTH, span.checked_mul(2)?.numer())?;
        let says = format!("{}, foot on {}", plain(self.heading.feel), self.on(Duration::ZERO)?);
        self.step(StepKind::Start, says, eighths)?;
        let mut beat = Duration::ZERO;
        while beat < span {
            let next = beat.checked_add(Duration::QUARTER)?;
            self.beat(beat, next.min(span), &spelled)?;
            beat = next;
        }
        self.up_to(&spelled)?;
        for (index, &(to, _)) in goal.iter().enumerate() {
            if self.rhythm[index].0 != to {
                let says =
                    format!("Play {} on the last third of its beat, as if swung", note(index, goal.len()));
                let mut rhythm = self.rhythm.clone();
                rhythm[index].0 = to;
                self.step(StepKind::Move, says, rhythm)?;
            }
        }
        self.silence(&goal)
    }

    /// Gives a beat of plain eighths the starts that the figure has in it.
    fn beat(&mut self, beat: Duration, end: Duration, goal: &[Start]) -> Result<()> {
        let inside = |&&(start, _): &&Start| beat < start && start < end;
        let wanted: Vec<Duration> = goal.iter().filter(inside).map(|start| start.0).collect();
        let half = beat.checked_add(Duration::EIGHTH)?;
        let sixteenth = Duration::of(1, 4);
        let mut rhythm = self.rhythm.clone();
        match wanted.as_slice() {
            // No starts inside, or a half beat that one split makes.
            [] => Ok(()),
            [_] if end == half => Ok(()),
            [only] if only.is_multiple_of(sixteenth) => {
                let Some(index) = rhythm.iter().position(|start| start.0 == half) else { return Ok(()) };
                let way = if *only < half { "earlier" } else { "later" };
                let says = format!("Play {} a sixteenth {way}", note(index, rhythm.len()));
                rhythm[index].0 = *only;
                // Nothing changes if it is there already.
                self.step(StepKind::Move, says, rhythm)
            }
            _ => {
                let length = end.checked_sub(beat)?;
                for parts in 1..=FINEST {
                    let unit = length.checked_div(parts)?;
                    let mut carried = wanted.iter().map(|&start| start.checked_sub(beat));
                    if carried.all(|offset| offset.is_ok_and(|offset| offset.is_multiple_of(unit))) {
                        let on = self.on(beat)?;
                        let says = format!("Play {} on {on}", evenly(unit, length));
                        rhythm.retain(|&(start, _)| start < beat || start >= end);
                        let at = rhythm.partition_point(|start| start.0 < beat);
                        rhythm.splice(at..at, divided(beat, unit, parts)?);
                        return self.step(StepKind::Even, says, rhythm);
                    }
                }
                Ok(())
            }
        }
    }

    /// Splits and ties notes until these are the starts, leaving those on a beat for last.
    fn up_to(&mut self, goal: &[Start]) -> Result<()> {
        for on_a_beat in [false, true] {
            let mut starts: Vec<Duration> = self.rhythm.iter().chain(goal).map(|start| start.0).collect();
            crate::order::sort(&mut starts, |&start| start);
            starts.dedup();
            starts.retain(|start| start.is_multiple_of(Duration::QUARTER) == on_a_beat);
            for start in starts {
                let index = self.rhythm.partition_point(|other| other.0 < start);
                let is = self.rhythm.get(index).is_some_and(|other| other.0 == start);
                match (is, goal.iter().any(|other| other.0 == start)) {
                    (false, true) => self.split(index, start)?,
                    (true, false) => self.tie(index, on_a_beat)?,
                    _ => {}
                }
            }
        }
        Ok(())
    }

    /// Puts in the figure's rests, one by one. As long as there are notes everywhere, the others are easier
    /// to place.
    fn silence(&mut self, goal: &[Start]) -> Result<()> {
        for (index, &(_, sounds)) in goal.iter().enumerate() {
            if !sounds {
                let mut rhythm = self.rhythm.clone();
                rhythm[index].1 = false;
                let says = format!("Rest instead of {}", note(index, rhythm.len()));
                self.step(StepKind::Rest, says, rhythm)?;
            }
        }
        Ok(())
    }

    /// Adds a start at `start`, as note number `index`.
    fn split(&mut self, index: usize, start: Duration) -> Result<()> {
        let mut rhythm = self.rhythm.clone();
        let end = rhythm.get(index).map_or(self.figure.span(), |next| next.0);
        let before = rhythm[index - 1].0;
        let parts = match (start.checked_sub(before)?, end.checked_sub(start)?) {
            (first, second) if first == second => "in two",
            (first, second) if first < second => "into a short and a long one",
            _ => "into a long and a short one",
        };
        let says = format!("Split {} {parts}", note(index - 1, rhythm.len()));
        rhythm.insert(index, (start, true));
        self.step(StepKind::Split, says, rhythm)
    }

    /// Extends the note before over note number `index`.
    fn tie(&mut self, index: usize, on_a_beat: bool) -> Result<()> {
        let mut rhythm = self.rhythm.clone();
        let count = rhythm.len();
        let (first, second) = (note(index - 1, count), other(index, count));
        let says = match on_a_beat {
            true => format!("Tie {first} to {second}, across the beat"),
            false => format!("Hold {first} through {second}"),
        };
        rhythm.remove(index);
        self.step(StepKind::Tie, says, rhythm)
    }

    /// The beats of the meter, for one bar.
    fn pulse(&mut self) -> Result<()> {
        let quarters = self.meter.bar().numer();
        let lengths: Vec<Duration> = match self.meter.has_quarter_beats() {
            true => (0..quarters).map(|_| Duration::QUARTER).collect(),
            false => {
                let groups =
                    self.meter.groups().map(|group| self.meter.unit_length().checked_mul(group.into()));
                groups.collect::<std::result::Result<_, _>>()?
            }
        };
        let name = if self.meter.has_quarter_beats() { "quarter notes" } else { "a note on each beat" };
        let parts = lengths.into_iter().map(|length| self.part(length, true)).collect();
        let says = format!("Play {name} and tap your foot");
        self.push(StepKind::Start, says, self.line(parts)?, self.plain.clone())
    }

    /// The figure's starts in a spelling, with adjacent rests joined.
    fn goal(&self, spelling: Spelling) -> Result<Vec<Start>> {
        let (mut goal, mut at) = (Vec::new(), Duration::ZERO);
        let mut sounded = true;
        for &Stretch { duration, sounds } in self.figure.stretches(spelling) {
            if sounds || sounded {
                goal.push((at, sounds));
            }
            sounded = sounds;
            at = at.checked_add(duration)?;
        }
        Ok(goal)
    }

    /// The figure over plain eighths, whatever its number of notes: all of them are the same note.
    fn window(&self, start: Duration, spelling: Spelling) -> Result<Window> {
        let eighths = self.figure.span().checked_mul(2)?.numer();
        let takes = i64::try_from(self.figure.notes()).map_err(|_| TimeError)?;
        let fit = match takes.cmp(&eighths) {
            std::cmp::Ordering::Less => Fit::KeepFirst,
            std::cmp::Ordering::Equal => Fit::Exact,
            std::cmp::Ordering::Greater => Fit::RepeatLast,
        };
        let window = Window::new(Onset::after(start), Arc::clone(&self.figure), spelling);
        Ok(Window { fit, ..window })
    }

    /// Even eighths, then accents one by one, up to the end of the first bar.
    fn accents(&mut self, side: Side) -> Result<()> {
        if side == Side::Triplets {
            self.pulse()?;
        }
        let (bar, span) = (self.meter.bar(), self.figure.span());
        let line = self.eighths(bar.checked_add(span)?)?;
        let says = format!("{}, all equally loud", plain(self.heading.feel));
        self.push(StepKind::Start, says, line.clone(), self.plain.clone())?;
        let (mut casting, mut start) = (self.plain.clone(), Duration::ZERO);
        while start < bar {
            casting.put(self.window(start, Spelling::Plain)?);
            let too = if start > Duration::ZERO { " too" } else { "" };
            let says = format!("Accent {}{too}", beats(&[line.bars().place(Onset::after(start))?.beat]));
            self.push(StepKind::Accent, says, line.clone(), casting.clone())?;
            start = start.checked_add(span)?;
        }
        Ok(())
    }

    /// Where in a bar the figure can start, half-bars first.
    fn starts(&self) -> Vec<Duration> {
        let mut starts = self.meter.window_starts(false);
        if self.meter.has_quarter_beats() {
            let mut others = self.meter.window_starts(true);
            others.retain(|start| start.is_multiple_of(Duration::QUARTER) && !starts.contains(start));
            starts.append(&mut others);
        }
        starts
    }

    /// The figure on every beat where it can start; and repeated, if it doesn't fill the bar evenly.
    fn places(&mut self) -> Result<()> {
        let (bar, span, accents) = (self.meter.bar(), self.figure.span(), self.figure.is_accented());
        let mut cycle = span;
        while !cycle.is_multiple_of(bar) {
            cycle = cycle.checked_add(span)?;
        }
        let bars = (cycle.numer() * bar.denom()) / (cycle.denom() * bar.numer());
        for start in self.starts() {
            let on = beats(&[Bars::new(self.meter).place(Onset::after(start))?.beat]);
            if accents {
                let says = match start == Duration::ZERO {
                    true => {
                        format!("Keep going across the bar line: the accents line up again after {bars} bars")
                    }
                    false => format!("Start the accents on {on}"),
                };
                self.again(start, cycle, says)?;
                continue;
            }
            let (line, mut casting) = (self.eighths(start.checked_add(span)?)?, self.plain.clone());
            let window = self.window(start, self.figure.spellings()[0])?;
            if casting.put_spelled(&line, window).is_ok() {
                let among = if line.end().since_start() > span { " between plain eighths" } else { "" };
                self.push(StepKind::Place, format!("Play the figure on {on}{among}"), line, casting)?;
            }
        }
        match bars > 1 && !accents {
            true => {
                let says =
                    format!("Repeat the figure across the bar line: it lines up again after {bars} bars");
                self.again(Duration::ZERO, cycle, says)
            }
            false => Ok(()),
        }
    }

    /// The figure repeated from a start to an end.
    fn again(&mut self, start: Duration, end: Duration, says: String) -> Result<()> {
        let (line, mut casting) = (self.eighths(end)?, self.plain.clone());
        recast::tile(&line, &mut casting, &self.window(start, Spelling::Plain)?, Onset::after(end))?;
        self.push(StepKind::Again, says, line, casting)
    }

    /// The user's line: without the figure, with it once, with all of it.
    fn in_line(&mut self, line: &Line, casting: &Casting) -> Result<()> {
        let windows = windows(&self.figure, line, casting)?;
        let mut now = casting.clone();
        for own in self.plain.own_figures() {
            now.add_figure(Figure::clone(own));
        }
        for window in &windows {
            now.restore(window.start);
        }
        let mut push =
            |says: String, now: &Casting| self.push(StepKind::Line, says, line.clone(), now.clone());
        push("Play your line without the figure".into(), &now)?;
        for (index, window) in windows.into_iter().enumerate() {
            let place = line.bars().place(window.start)?;
            now.put(window);
            if index == 0 {
                push(format!("Play your line with the figure at {}", place.spoken()), &now)?;
            }
        }
        push("Play your line with the figure everywhere".into(), &now)
    }
}

/// The windows of a line that carry the figure, or else the first one that could; at least one.
fn windows(figure: &Arc<Figure>, line: &Line, casting: &Casting) -> Result<Vec<Window>> {
    let carry = casting.windows().iter().filter(|window| window.figure.name() == figure.name());
    let windows: Vec<Window> = carry.cloned().collect();
    if !windows.is_empty() {
        return Ok(windows);
    }
    // The plain spelling is possible in the most places.
    let like = Window::new(Onset::ZERO, Arc::clone(figure), Spelling::Plain);
    let mut why = None;
    for grid in [Grid::Groups, Grid::Eighths] {
        for offer in recast::offers(line, casting, grid, &like)? {
            let start = offer.span.start();
            let refusal = offer.refusal.or(casting.at(start).map(|_| Refusal::Overlap));
            let Some(refusal) = refusal else {
                let mut alone = casting.cleared();
                let usual = Window { spelling: figure.spellings()[0], ..like.at(start) };
                let put = alone.put_spelled(line, usual);
                put.map_err(|why| RecastError::Window { place: offer.place, why })?;
                return Ok(alone.windows().to_vec());
            };
            why.get_or_insert(RecastError::Window { place: offer.place, why: refusal });
        }
    }
    let nowhere = RecastError::Window { place: line.bars().place(Onset::ZERO)?, why: Refusal::End };
    Err(why.unwrap_or(nowhere).into())
}

/// Even starts, each one unit after the one before.
fn divided(from: Duration, unit: Duration, parts: i64) -> Result<Vec<Start>> {
    (0..parts).map(|part| Ok((from.checked_add(unit.checked_mul(part)?)?, true))).collect()
}

fn can_be_written(line: &Line) -> Result<()> {
    notate::notate(&recast::apply(line, &Casting::default())?)?;
    Ok(())
}
