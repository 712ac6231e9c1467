//! The music: notes, rests, chords and bar lines.

use crate::bars::{Bars, BarsError};
use crate::chord::{Chord, ChordSymbol};
use crate::key::Key;
use crate::line::{ChordAt, Heading, Legato, Line, Part};
use crate::meter::Meter;
use crate::naming::quoted;
use crate::neck::Fret;
use crate::pitch::{Pitch, PitchName};
use crate::technique::Pin;
use crate::time::{Duration, Onset, Span, TimeError};
use crate::value::TICKS;

use super::diagnostic::Problem;
use super::words::{Findings, Spot, Words};

/// The longest single length in quarter notes: four bars of 4/4.
const LONGEST: u16 = 16;

/// Reads the rows of music. `None` if they hold no notes or rests.
pub(super) fn read(
    heading: Heading,
    bars: Bars,
    rows: Vec<Words<'_>>,
    found: &mut Findings,
) -> Option<(Line, Vec<Spot>)> {
    let mut music = Music {
        heading,
        found,
        bars,
        parts: vec![],
        spots: vec![],
        chords: vec![],
        closed: 0,
        bar: Bar::default(),
        meter: None,
        key: None,
        short: None,
        last: None,
        tie: None,
        join: None,
    };
    let mut end = Spot::START;
    let mut is_open = false;
    for mut row in rows {
        while let Some((word, at)) = row.next('|') {
            music.word(word, at);
            end = at;
        }
    }
    // The last bar may be left open: somebody is writing it.
    if !music.bar.is_empty() {
        is_open = true;
        music.leave_bar_open(end);
    }
    music.finish(end, is_open)
}

struct Music<'f> {
    heading: Heading,
    found: &'f mut Findings,
    bars: Bars,
    parts: Vec<Part>,
    /// Where each part is written.
    spots: Vec<Spot>,
    chords: Vec<(ChordAt, Spot)>,
    /// The number of bars closed so far.
    closed: usize,
    bar: Bar,
    /// The meter that the current bar starts with.
    meter: Option<(Meter, Spot)>,
    /// The key that the current bar starts with.
    key: Option<(Key, Spot)>,
    /// A closed bar that may be this short only if it is the line's last.
    short: Option<(Spot, Problem, Duration)>,
    /// The last note read, for octaves that are left out.
    last: Option<Pitch>,
    /// Where an open tie is.
    tie: Option<Spot>,
    /// Where a slur or slide is that waits for its second note.
    join: Option<Spot>,
}

/// The bar being read.
#[derive(Default)]
struct Bar {
    filled: Option<Duration>,
    first: Option<Spot>,
    /// Whether a word in it couldn't be read.
    unreadable: bool,
}

impl Bar {
    fn is_empty(&self) -> bool {
        self.first.is_none()
    }

    fn filled(&self) -> Duration {
        self.filled.unwrap_or(Duration::ZERO)
    }
}

/// What may follow a note's pitch.
#[derive(Default)]
struct Suffixes {
    length: Option<Duration>,
    tie: Option<Spot>,
    pin: Option<Pin>,
    join: Option<(Legato, Spot)>,
}

impl Music<'_> {
    fn word(&mut self, word: &str, at: Spot) {
        if let Some((at, problem, missing)) = self.short.take() {
            self.found.add(at, problem);
            self.fill(missing, at);
        }
        let mut after = word.chars();
        match (after.next(), after.as_str()) {
            (Some('|'), _) => self.close_bar(at),
            (Some('='), key) => self.key(key, at),
            (Some('0'..='9'), _) if self.meter.is_some() || word.contains(['/', '+']) => self.meter(word, at),
            (Some('@'), chord) => self.chord(chord, at),
            (Some('r'), length) => self.rest(length, at),
            _ => self.note(word, at),
        }
    }

    /// Reads a new meter at the start of a bar, or the groups of one.
    fn meter(&mut self, word: &str, at: Spot) {
        let meter = match self.meter {
            _ if self.closed == 0 || !self.bar.is_empty() => return self.found.add(at, Problem::MeterPlace),
            _ if word.contains('/') => word.parse(),
            Some((meter, _)) => meter.with_groups(word),
            None => return self.found.add(at, Problem::GroupsAlone { text: quoted(word) }),
        };
        match meter {
            Ok(meter) => self.meter = Some((meter, at)),
            Err(error) => self.found.add(at, Problem::Header(error.into())),
        }
    }

    /// Reads a new key at the start of a bar.
    fn key(&mut self, text: &str, at: Spot) {
        if self.closed == 0 || !self.bar.is_empty() {
            return self.found.add(at, Problem::KeyPlace);
        }
        match Key::from_short(text) {
            Ok(key) => self.key = Some((key, at)),
            Err(error) => self.found.add(at, Problem::Header(error.into())),
        }
    }

    fn chord(&mut self, text: &str, at: Spot) {
        let symbol: ChordSymbol = match text.parse() {
            Ok(symbol) => symbol,
            Err(error) => return self.found.add(at, Problem::Chord(error)),
        };
        let Ok(onset) = self.now() else { return };
        match self.chords.last() {
            Some((before, _)) if before.onset == onset => self.found.add(at, Problem::ChordTwice),
            _ => {
                if let Some(Err(why)) = symbol.chord().map(Chord::quality) {
                    self.found.remark(at, Problem::Quality(why.clone()));
                }
                self.chords.push((ChordAt { onset, symbol }, at));
            }
        }
    }

    fn rest(&mut self, text: &str, at: Spot) {
        let suffixes = match text.is_empty() || text.starts_with(':') {
            true => self.suffixes(text, at.from(1, at.length - 1), None),
            false => None,
        };
        match suffixes {
            Some(Suffixes { length, tie: None, pin: None, join: None }) => {
                let duration = length.unwrap_or(Duration::EIGHTH);
                self.put(Part::rest(duration), None, at);
            }
            Some(_) => self.found.add(at, Problem::RestSuffix),
            None if text.starts_with(':') => {}
            None => self.unreadable(&format!("r{text}"), at),
        }
    }

    fn note(&mut self, word: &str, at: Spot) {
        let Some((grace, word, at)) = self.grace(word, at) else { return };
        let Some((pitch, rest)) = self.pitch(word, at) else { return };
        let skip = word.chars().count() - rest.chars().count();
        // A suffix that can't be read is reported, and the note keeps its place with a plain length.
        let Suffixes { length, tie, pin, join } =
            self.suffixes(rest, at.from(skip, at.length - skip), Some(pitch)).unwrap_or_default();
        let duration = length.unwrap_or(Duration::EIGHTH);
        let join_kind = join.map(|(join, _)| join);
        self.put(
            Part { duration, pitch: Some(pitch), pin: pin.unwrap_or_default(), legato: join_kind, grace },
            tie,
            at,
        );
        self.join = join.map(|(_, at)| at);
    }

    /// Reads a grace note in parentheses at the start of a word. `None` if it is wrong, which has been
    /// reported.
    fn grace<'w>(&mut self, word: &'w str, at: Spot) -> Option<(Option<Pitch>, &'w str, Spot)> {
        let Some(inside) = word.strip_prefix('(') else { return Some((None, word, at)) };
        let (name, note) = inside.split_once(')').filter(|(_, note)| !note.is_empty()).or_else(|| {
            self.found.add(at, Problem::Grace);
            None
        })?;
        let length = name.chars().count();
        let (pitch, rest) = self.pitch(name, at.from(1, length))?;
        if !rest.is_empty() {
            self.found.add(at.from(1, length), Problem::Grace);
        }
        Some((Some(pitch), note, at.from(length + 2, at.length - length - 2)))
    }

    /// Reads a pitch at the start of a word, and returns what follows it. `None` if there is none, which has
    /// been reported.
    fn pitch<'w>(&mut self, word: &'w str, at: Spot) -> Option<(Pitch, &'w str)> {
        let Some((name, rest)) = self.name(word, at) else {
            self.unreadable(word, at);
            return None;
        };
        let mut after = rest.chars();
        let octave = after.next().and_then(|digit| u8::try_from(digit.to_digit(10)?).ok());
        let (pitch, rest) = match (octave, self.last) {
            (Some(octave), _) => (Some(Pitch { name, octave }), after.as_str()),
            (None, Some(before)) => (Pitch::nearest(name, before), rest),
            (None, None) => {
                self.found.add(at, Problem::NoOctave { name: name.to_string() });
                // To keep reading, any octave will do: this one is in the middle of the neck.
                (Some(Pitch { name, octave: 3 }), rest)
            }
        };
        let Some(pitch) = pitch else {
            self.found.add(at, Problem::TooLow { text: quoted(word) });
            return None;
        };
        self.last = Some(pitch);
        if !self.on_neck(pitch) {
            let (lowest, highest) = self.heading.neck.range();
            let length = word.chars().count() - rest.chars().count();
            self.found.add(
                at.from(0, length),
                Problem::OffNeck { pitch, capo: self.heading.neck.capo(), lowest, highest },
            );
        }
        Some((pitch, rest))
    }

    /// Reads a name at the start of a word, and returns what follows it. One written another way, such as `fis`
    /// or `H`, is reported, and read as intended.
    fn name<'w>(&mut self, word: &'w str, at: Spot) -> Option<(PitchName, &'w str)> {
        let is_whole = |(_, rest): &(PitchName, &str)| !rest.starts_with(char::is_alphabetic);
        let read = PitchName::split_from(word);
        if let Some(found) = read.filter(is_whole) {
            return Some(found);
        }
        let Some((name, rest)) = PitchName::meant(word).find(is_whole) else { return read };
        let instead = quoted(&format!("{name}{rest}"));
        self.found.add(at, Problem::NoteName { text: quoted(word), instead });
        Some((name, rest))
    }

    /// Reports a word that can't be read. The length of its bar can't be checked then.
    fn unreadable(&mut self, word: &str, at: Spot) {
        self.found.add(at, Problem::Note { text: quoted(word) });
        self.bar.first.get_or_insert(at);
        self.bar.unreadable = true;
    }

    fn on_neck(&self, pitch: Pitch) -> bool {
        pitch.midi().is_some_and(|key| self.heading.neck.places(key).next().is_some())
    }

    /// Reads `:length`, `~`, `_` and `^pin` in any order. `None` if one of them is wrong, which has been
    /// reported.
    fn suffixes(&mut self, text: &str, at: Spot, pitch: Option<Pitch>) -> Option<Suffixes> {
        let (mut suffixes, mut rest, mut column) = (Suffixes::default(), text, 0);
        while let Some(sign) = rest.chars().next() {
            let (_, body) = rest.split_at_checked(sign.len_utf8())?;
            let (body, next) =
                body.split_at_checked(body.find([':', '~', '^', '_']).unwrap_or(body.len()))?;
            let here = at.from(column, 1 + body.chars().count());
            let known = match sign {
                ':' if suffixes.length.is_none() => {
                    suffixes.length = Some(self.length(body, here)?);
                    true
                }
                '~' if suffixes.tie.is_none() && body.is_empty() => {
                    suffixes.tie = Some(here);
                    true
                }
                '_' if suffixes.join.is_none() && matches!(body, "" | "s") => {
                    let join = if body.is_empty() { Legato::Slur } else { Legato::Slide };
                    suffixes.join = Some((join, here));
                    true
                }
                '^' if suffixes.pin.is_none() => {
                    suffixes.pin = self.pin(body, here, pitch);
                    true
                }
                _ => false,
            };
            if !known {
                self.found.add(here, Problem::Suffix { text: quoted(&format!("{sign}{body}")) });
                return None;
            }
            column += here.length;
            rest = next;
        }
        Some(suffixes)
    }

    fn length(&mut self, text: &str, at: Spot) -> Option<Duration> {
        let longest = Duration::of(i32::from(LONGEST), 1);
        let length = text
            .parse::<Duration>()
            .ok()
            .filter(|&length| length > Duration::ZERO && length <= longest && TICKS % length.denom() == 0);
        if length.is_none() {
            self.found.add(at, Problem::Length { text: quoted(text), longest: LONGEST });
        }
        length
    }

    fn pin(&mut self, text: &str, at: Spot, pitch: Option<Pitch>) -> Option<Pin> {
        let (strings, frets) = (self.heading.neck.strings(), self.heading.neck.frets());
        let on_neck = |pin: &Pin| {
            pin.string.is_none_or(|string| (1..=strings).contains(&string.0))
                && pin.fret.is_none_or(|fret| fret.0 <= frets)
        };
        let problem = match (text.parse().ok().filter(on_neck), pitch) {
            (Some(pin), Some(pitch)) => return self.check_pin(pin, pitch, at),
            // A rest has no place on the neck, which is reported for the whole word.
            (Some(pin), None) => return Some(pin),
            (None, _) => Problem::PinForm { strings, frets },
        };
        self.found.add(at, problem);
        None
    }

    fn check_pin(&mut self, pin: Pin, pitch: Pitch, at: Spot) -> Option<Pin> {
        let neck = &self.heading.neck;
        let Some(pinned) = pin.string else { return Some(pin) };
        let string = pinned.0;
        let sounding = |fret| neck.sounding(pinned, Fret(fret));
        let place = neck.places(pitch.midi()?).find(|(string, _)| *string == pinned);
        let problem = match (pin.fret, place) {
            (None, Some(_)) => return Some(pin),
            (Some(fret), Some((_, there))) if fret == there => return Some(pin),
            (None, None) => {
                let could = neck.places(pitch.midi()?).map(|(string, _)| string).collect();
                Problem::PinString {
                    pitch,
                    string,
                    lowest: sounding(0)?,
                    highest: sounding(neck.frets())?,
                    could,
                }
            }
            (Some(fret), there) => {
                // On this string if it has the note, or else the first place there is.
                let could = there.or_else(|| neck.places(pitch.midi()?).next());
                let (sounding, capo) = (sounding(fret.0)?, neck.capo());
                Problem::PinPitch { pitch, string, fret: fret.0, sounding, could, capo }
            }
        };
        self.found.add(at, problem);
        None
    }

    /// Adds a note or rest to the bar, or to the note that is tied to it.
    fn put(&mut self, part: Part, tie: Option<Spot>, at: Spot) {
        self.bar.first.get_or_insert(at);
        let filled = self.bar.filled().checked_add(part.duration);
        self.bar.filled = filled.ok().or(self.bar.filled);
        let same = self.parts.last().is_some_and(|last| last.pitch == part.pitch);
        if let Some(open) = self.join.take().filter(|_| same || part.pitch.is_none()) {
            let found = part.pitch.map_or("a rest follows".into(), |pitch| format!("{pitch} follows"));
            self.found.add(open, Problem::Join { found });
        }
        match (self.tie.take(), self.parts.last_mut()) {
            (Some(_), Some(last)) if same => {
                if let Ok(sum) = last.duration.checked_add(part.duration) {
                    last.duration = sum;
                }
                last.legato = part.legato;
            }
            (Some(open), _) => {
                let found = part.pitch.map_or("a rest follows".into(), |pitch| format!("{pitch} follows"));
                self.found.add(open, Problem::Tie { found });
                self.push(part, at);
            }
            (None, _) => self.push(part, at),
        }
        self.tie = tie;
    }

    fn push(&mut self, part: Part, at: Spot) {
        self.parts.push(part);
        self.spots.push(at);
    }

    fn close_bar(&mut self, at: Spot) {
        if self.bar.is_empty() {
            let (bar, meter) = (self.bars.number(self.closed), self.bars.meter(self.closed));
            self.found.add(at, Problem::EmptyBar { bar, meter, length: meter.bar() });
        }
        self.settle_changes();
        let (bar, meter) = (self.bars.number(self.closed), self.bars.meter(self.closed));
        let holds = self.bar.filled();
        let Ok(length) = self.bars.span(self.closed).map_err(|_| TimeError).and_then(Span::length) else {
            return;
        };
        let (Ok(missing), Ok(over)) = (length.checked_sub(holds), holds.checked_sub(length)) else { return };
        let read = std::mem::take(&mut self.bar);
        let start = read.first.unwrap_or(at);
        // If a word in the bar couldn't be read, it may be what is missing.
        let known = !read.is_empty() && !read.unreadable;
        let short = Problem::ShortBar { bar, by: missing, holds, meter, length };
        if missing > Duration::ZERO && known && self.closed > 0 && missing == self.bars.pickup() {
            self.short = Some((start, short, missing));
        } else if missing > Duration::ZERO {
            if known {
                self.found.add(start, short);
            }
            self.fill(missing, at);
        } else if over > Duration::ZERO {
            if known {
                self.found.add(start, Problem::LongBar { bar, by: over, holds, meter, length });
            }
            self.cut(over);
        }
        self.closed += 1;
    }

    /// Ends the last bar without a bar line. What it still lacks is only worth mentioning.
    fn leave_bar_open(&mut self, at: Spot) {
        self.settle_changes();
        let (bar, holds) = (self.bars.number(self.closed), self.bar.filled());
        let length = self.bars.span(self.closed).map_err(|_| TimeError).and_then(Span::length);
        let missing = length.and_then(|length| length.checked_sub(holds)).unwrap_or(Duration::ZERO);
        let is_short = missing > Duration::ZERO && missing != self.bars.pickup();
        if is_short && !self.bar.unreadable {
            let start = self.bar.first.unwrap_or(at);
            self.found.remark(start, Problem::OpenBar { bar, by: missing, holds });
            self.push(Part::rest(missing), at);
            self.bar = Bar::default();
            self.closed += 1;
        } else {
            self.close_bar(at);
        }
    }

    /// Applies the meter and key that the current bar starts with.
    fn settle_changes(&mut self) {
        if let Some((key, _)) = self.key.take() {
            let _ = self.bars.change_key(self.closed, key);
        }
        if let Some((meter, _)) = self.meter.take() {
            // Bars are read in order, so neither change can fail.
            let _ = self.bars.change(self.closed, meter);
        }
    }

    /// Fills a short bar with a rest.
    fn fill(&mut self, missing: Duration, at: Spot) {
        // The rest separates a tie from its second note.
        (self.tie, self.join) = (None, None);
        self.push(Part::rest(missing), at);
    }

    /// Cuts what exceeds the bar's length off its end.
    fn cut(&mut self, mut over: Duration) {
        while over > Duration::ZERO {
            let Some(last) = self.parts.last_mut() else { return };
            match last.duration.checked_sub(over) {
                Ok(left) if left > Duration::ZERO => {
                    last.duration = left;
                    return;
                }
                Ok(left) => {
                    self.parts.pop();
                    self.spots.pop();
                    over = Duration::ZERO.checked_sub(left).unwrap_or(Duration::ZERO);
                }
                Err(_) => return,
            }
        }
    }

    /// The moment that reading has reached.
    fn now(&self) -> Result<Onset, BarsError> {
        Ok(self.bars.span(self.closed)?.start().checked_add(self.bar.filled())?)
    }

    /// Ends the line. What its end still lacks is only worth mentioning as long as the bar `is_open`: somebody is writing it.
    fn finish(mut self, end: Spot, is_open: bool) -> Option<(Line, Vec<Spot>)> {
        let found = || "no note follows".to_string();
        let tie = self.tie.take().map(|at| (at, Problem::Tie { found: found() }));
        let join = self.join.take().map(|at| (at, Problem::Join { found: found() }));
        for (at, problem) in tie.into_iter().chain(join) {
            if is_open { self.found.remark(at, problem) } else { self.found.add(at, problem) }
        }
        let changes = [self.meter.take().map(|(_, at)| at), self.key.take().map(|(_, at)| at)];
        for at in changes.into_iter().flatten() {
            self.found.remark(at, Problem::ChangeAtEnd);
        }
        if self.parts.is_empty() {
            self.found.add(end, Problem::NoMusic);
            return None;
        }
        let after =
            self.parts.iter().try_fold(Onset::ZERO, |end, part| end.checked_add(part.duration)).ok()?;
        let (kept, late): (Vec<_>, Vec<_>) =
            self.chords.into_iter().partition(|(chord, _)| chord.onset < after);
        for (_, at) in late {
            self.found.remark(at, Problem::ChordAtEnd);
        }
        let chords = kept.into_iter().map(|(chord, _)| chord).collect();
        Some((Line::new(self.heading, self.bars, self.parts, chords).ok()?, self.spots))
    }
}
