//! Line + casting -> text, and a casting written into a text that someone wrote.
//!
//! ```
//! use halfbar_core::{read, write};
//!
//! let reading = read::text("r:2 F3:1/2 Ab3 C4 Eb4 | F4:4");
//! let line = reading.line.expect("two full bars");
//! let text = write::text::line(&line, &reading.casting)?;
//! assert!(text.ends_with("\nr:2  F3 Ab C Eb | F:4 |\n"));
//! assert_eq!(write::text::line(&read::text(&text).line.unwrap(), &reading.casting)?, text);
//! # Ok::<(), halfbar_core::Error>(())
//! ```

use std::fmt::Write;

use crate::bars::Bars;
use crate::error::Result;
use crate::line::{Degrees, Event, Legato, Line, NoteId, SystemBreaks};
use crate::neck::Tuning;
use crate::order;
use crate::pitch::Pitch;
use crate::read::{self, Row, rows};
use crate::recast::{Casting, Fit, Window};
use crate::technique::{FingeringStyle, Picking, Pin};
use crate::time::{Duration, Onset, Span};

/// The number of bars per row.
const BARS_A_ROW: usize = 2;

/// The complete text of a line with its casting.
///
/// # Errors
/// [`Error`](crate::Error) for times out of range.
pub fn line(line: &Line, casting: &Casting) -> Result<String> {
    let heading = line.heading();
    let mut text = String::new();
    if !heading.title.is_empty() {
        put(&mut text, format_args!("title: {}\n", heading.title));
    }
    put(&mut text, format_args!("key: {}\nmeter: {}\n", line.bars().key(0), line.bars().meter(0)));
    if line.bars().pickup() > Duration::ZERO {
        put(&mut text, format_args!("pickup: {}\n", line.bars().pickup()));
    }
    put(&mut text, format_args!("tempo: {}\nfeel: {}\n", heading.tempo, heading.feel));
    if *heading.neck.tuning() != Tuning::standard() {
        put(&mut text, format_args!("tuning: {}\n", heading.neck.tuning()));
    }
    if let Some(size) = heading.neck.size() {
        put(&mut text, format_args!("neck: {size}\n"));
    }
    if heading.style != FingeringStyle::default() {
        put(&mut text, format_args!("style: {}\n", heading.style.name()));
    }
    if heading.picking != Picking::default() {
        put(&mut text, format_args!("picking: {}\n", heading.picking));
    }
    if heading.systems != SystemBreaks::default() {
        put(&mut text, format_args!("systems: {}\n", heading.systems));
    }
    if heading.names {
        text += "names: yes\n";
    }
    if heading.degrees != Degrees::default() {
        put(&mut text, format_args!("degrees: {}\n", heading.degrees));
    }
    for figure in casting.own_figures() {
        put(&mut text, format_args!("figure: {} = {figure}\n", figure.name()));
    }
    text += &recast_rows(casting, line.bars())?;
    text += &hand_rows(line)?;
    text += &call_rows(line)?;
    text.push('\n');
    music(line, &mut text)?;
    Ok(text)
}

/// `source` with its `recast` rows replaced by those of `casting`. All other rows stay as they were written.
///
/// ```
/// use halfbar_core::bars::Bars;
/// use halfbar_core::meter::Meter;
/// use halfbar_core::recast::Casting;
/// use halfbar_core::write::text::with_casting;
///
/// let source = "key: Eb\nrecast: split-last at 1.1\n# my line\nF3 Ab C Eb G F Eb C |\n";
/// let plain = with_casting(source, &Casting::default(), &Bars::new(Meter::COMMON))?;
/// assert_eq!(plain, "key: Eb\n# my line\nF3 Ab C Eb G F Eb C |\n");
/// # Ok::<(), halfbar_core::Error>(())
/// ```
///
/// # Errors
/// [`Error`](crate::Error) for places out of range.
pub fn with_casting(source: &str, casting: &Casting, bars: &Bars) -> Result<String> {
    Ok(with_rows(source, "recast", &recast_rows(casting, bars)?))
}

/// The row after the headers at the top.
fn after_headers(kinds: &[Row<'_>]) -> usize {
    let music = kinds.iter().position(|row| matches!(row, Row::Music(_)));
    music.map_or(kinds.len(), |music| {
        let headers = kinds[..music].iter().rposition(|row| matches!(row, Row::Header { .. }));
        headers.map_or(0, |last| last + 1)
    })
}

/// `source` with all rows of a header replaced by what is written: where the first of them was, or else after the headers at the top.
fn with_rows(source: &str, header: &str, written: &str) -> String {
    let is_replaced =
        |row: &Row<'_>| matches!(row, Row::Header { name, .. } if name.eq_ignore_ascii_case(header));
    let kinds: Vec<Row<'_>> = rows(source).collect();
    let place = kinds.iter().position(is_replaced).unwrap_or_else(|| after_headers(&kinds));
    let ending = if has_carriage_returns(source) { "\r\n" } else { "\n" };
    let written = written.replace('\n', ending);
    let mut text = String::with_capacity(source.len() + written.len());
    let mut sources = source.split_inclusive('\n');
    for (index, kind) in kinds.iter().enumerate() {
        let row = sources.next().unwrap_or("");
        if index == place {
            text += &written;
        }
        if !is_replaced(kind) {
            text += row;
        }
    }
    if place >= kinds.len() && !written.is_empty() {
        if !text.is_empty() && !text.ends_with('\n') {
            text += ending;
        }
        text += &written;
    }
    text
}

/// `source` with its music and `recast` rows replaced by those of `line` and `casting`. Headers and comments
/// stay as they were written.
///
/// ```
/// use halfbar_core::{read, write};
///
/// let source = "# mine\nC4 D E F\nG A B C |\n# the end\n";
/// let line = read::text("C4 D E F G F E D |").line.unwrap();
/// let changed = write::text::with_music(source, &line, &Default::default())?;
/// assert_eq!(changed, "# mine\nC4 D E F  G F E D |\n# the end\n");
/// # Ok::<(), halfbar_core::Error>(())
/// ```
///
/// # Errors
/// [`Error`](crate::Error) for places out of range.
pub fn with_music(source: &str, line: &Line, casting: &Casting) -> Result<String> {
    let mut written = String::new();
    music(line, &mut written)?;
    if has_carriage_returns(source) {
        written = written.replace('\n', "\r\n");
    }
    let mut text = String::with_capacity(source.len());
    for (kind, row) in rows(source).zip(source.split_inclusive('\n')) {
        match kind {
            // All of it goes where its first row was.
            Row::Music(_) => text += &std::mem::take(&mut written),
            _ => text += row,
        }
    }
    with_casting(&text, casting, line.bars())
}

/// `source` with a header set to `value`, or without that header. All other rows stay as they were written.
///
/// ```
/// use halfbar_core::write::text::with_header;
///
/// let source = "key: Eb\nC4:4 |\n";
/// let economical = with_header(source, "picking", Some("economy"));
/// assert_eq!(economical, "key: Eb\npicking: economy\nC4:4 |\n");
/// assert_eq!(with_header(&economical, "picking", None), source);
/// ```
pub fn with_header(source: &str, name: &str, value: Option<&str>) -> String {
    let written = value.map(|value| format!("{name}: {value}\n")).unwrap_or_default();
    with_rows(source, name, &written)
}

/// `source` with its `hand` rows replaced by the constraints of `line`. All other rows stay as they were written.
///
/// ```
/// use halfbar_core::read;
/// use halfbar_core::write::text::with_constraints;
///
/// let line = read::text("hand: position 5 at 1.1 to 2.1\nC4:2 D:2 |").line.unwrap();
/// let text = with_constraints("key: C\nC4:2 D:2 |\n", &line)?;
/// assert_eq!(text, "key: C\nhand: position 5 at 1.1 to 2.1\nC4:2 D:2 |\n");
/// # Ok::<(), halfbar_core::Error>(())
/// ```
///
/// # Errors
/// [`Error`](crate::Error) for places out of range.
pub fn with_constraints(source: &str, line: &Line) -> Result<String> {
    Ok(with_rows(source, "hand", &hand_rows(line)?))
}

/// A `hand` row for each constraint.
fn hand_rows(line: &Line) -> Result<String> {
    let mut text = String::new();
    for hold in line.constraints() {
        put(&mut text, format_args!("hand: {} at {}\n", hold.want, stretch(line, hold.span)?));
    }
    Ok(text)
}

/// `source` with its `call` rows replaced by what passages of `line` are called. All other rows stay as they were written.
///
/// ```
/// use halfbar_core::read;
/// use halfbar_core::write::text::with_calls;
///
/// let line = read::text("call: C6 at 1.1 to 1.3\nE3 G A C  B A G F |").line.expect("a full bar");
/// let text = with_calls("key: C\nE3 G A C  B A G F |\n", &line)?;
/// assert_eq!(text, "key: C\ncall: C6 at 1.1 to 1.3\nE3 G A C  B A G F |\n");
/// # Ok::<(), halfbar_core::Error>(())
/// ```
///
/// # Errors
/// [`Error`](crate::Error) for places out of range.
pub fn with_calls(source: &str, line: &Line) -> Result<String> {
    Ok(with_rows(source, "call", &call_rows(line)?))
}

/// A `call` row for each passage that is called something.
fn call_rows(line: &Line) -> Result<String> {
    let mut text = String::new();
    for call in line.calls() {
        put(&mut text, format_args!("call: {} at {}\n", call.words(), stretch(line, call.span())?));
    }
    Ok(text)
}

/// `source` with the pins of some notes changed; an empty pin removes a note's pin. Everything else stays as
/// it was written.
///
/// ```
/// use halfbar_core::line::NoteId;
/// use halfbar_core::write::text::with_pins;
///
/// let pins = [(NoteId(0), "3".parse().unwrap()), (NoteId(1), "3.7".parse().unwrap())];
/// assert_eq!(with_pins("C4 D:1^2 E r:2 |", &pins), "C4^3 D:1^3.7 E r:2 |");
/// ```
pub fn with_pins(source: &str, pins: &[(NoteId, Pin)]) -> String {
    let spots = read::text(source).spots;
    let mut rows: Vec<String> = source.split_inclusive('\n').map(String::from).collect();
    // From last to first, so that columns before a change stay valid.
    let mut pins: Vec<&(NoteId, Pin)> = pins.iter().collect();
    order::sort(&mut pins, |(note, _)| *note);
    for (note, pin) in pins.into_iter().rev() {
        let Some(spot) = spots.get(note.0 as usize) else { continue };
        let Some(row) = rows.get_mut(spot.line - 1) else { continue };
        // A byte order mark isn't part of the first row.
        let skip = usize::from(row.starts_with('\u{FEFF}')) + spot.column - 1;
        let byte = |chars: usize| row.char_indices().nth(chars).map_or(row.len(), |(byte, _)| byte);
        let range = byte(skip)..byte(skip + spot.length);
        let word = row[range.clone()].to_string();
        let (head, tail) = word.split_once('^').unwrap_or((&word, ""));
        let tail = &tail[tail.find([':', '~', '_']).unwrap_or(tail.len())..];
        let pin = if pin.is_empty() { String::new() } else { format!("^{pin}") };
        row.replace_range(range, &format!("{head}{tail}{pin}"));
    }
    rows.concat()
}

/// Whether rows end as in files from Windows. `contains` would bring a search of several KB into the element's module.
fn has_carriage_returns(source: &str) -> bool {
    source.split_inclusive('\n').any(|row| row.ends_with("\r\n"))
}

/// One `recast` row for each figure in use.
fn recast_rows(casting: &Casting, bars: &Bars) -> Result<String> {
    let mut text = String::new();
    for figure in casting.figures() {
        let windows: Vec<&Window> =
            casting.windows().iter().filter(|window| window.figure.name() == figure.name()).collect();
        let runs: Result<Vec<String>> =
            windows.chunk_by(|a, b| follows(a, b)).map(|run| places(run, bars)).collect();
        if !windows.is_empty() {
            put(&mut text, format_args!("recast: {} at {}\n", figure.name(), runs?.join(", ")));
        }
    }
    Ok(text)
}

/// Whether a window repeats the one before it, directly after it.
fn follows(before: &Window, window: &Window) -> bool {
    before.span().is_some_and(|span| *window == before.at(span.end()))
}

/// The shortest run of windows that is written as the first one's start and the last one's end.
const RUN: usize = 3;

/// The places of windows that follow one another: individually, or `1.1 to 4.1`.
fn places(run: &[&Window], bars: &Bars) -> Result<String> {
    let place = |onset: Onset| bars.place(onset).map(|place| format!("{}.{}", place.bar, place.beat));
    let said = |window: &Window, place: String| {
        let spelling = match window.figure.spellings() {
            [_] => String::new(),
            _ => format!(" {}", window.spelling),
        };
        let fit = if window.fit == Fit::Exact { String::new() } else { format!(" {}", window.fit) };
        format!("{place}{spelling}{fit}")
    };
    match run {
        [first, .., last] if run.len() >= RUN => {
            let end = last.start.checked_add(last.figure.span())?;
            Ok(said(first, format!("{} to {}", place(first.start)?, place(end)?)))
        }
        _ => {
            let each: Result<Vec<String>> =
                run.iter().map(|window| Ok(said(window, place(window.start)?))).collect();
            Ok(each?.join(", "))
        }
    }
}

/// A passage of the line, or the single note in it: `1.1 to 3.1`, `4.3`.
fn stretch(line: &Line, span: Span) -> Result<String> {
    let place = |onset: Onset| line.bars().place(onset).map(|place| format!("{}.{}", place.bar, place.beat));
    let start = place(span.start())?;
    let events = line.events();
    let event = events.get(events.partition_point(|event| event.onset < span.start()));
    match event.is_some_and(|event| event.pitch.is_some() && event.span() == Ok(span)) {
        true => Ok(start),
        false => Ok(format!("{start} to {}", place(span.end())?)),
    }
}

fn music(line: &Line, text: &mut String) -> Result<()> {
    let bars = line.bars();
    let mut changes = bars.changes().peekable();
    let mut keys = bars.key_changes().peekable();
    let mut chords = line.chords().iter().peekable();
    let mut before = None;
    for event in line.events() {
        let span = event.span()?;
        let mut start = event.onset;
        // A note across a bar line is written once in each bar, tied; so is one during which a chord starts.
        while start < span.end() {
            let (bar, offset) = bars.split(start)?;
            text.push_str(separator(bars, bar, start, offset)?);
            if let Some((_, meter)) = changes.next_if(|(index, _)| *index <= bar) {
                put(text, format_args!("{meter}  "));
            }
            if let Some((_, key)) = keys.next_if(|(index, _)| *index <= bar) {
                put(text, format_args!("={}  ", key.short()));
            }
            if let Some(chord) = chords.next_if(|chord| chord.onset <= start) {
                put(text, format_args!("@{} ", chord.symbol));
            }
            let next_chord = chords.peek().map_or(span.end(), |chord| chord.onset);
            let end = bars.span(bar)?.end().min(span.end()).min(next_chord);
            piece(text, event, start, end.checked_since(start)?, end < span.end(), &mut before);
            start = end;
        }
    }
    text.push_str(" |\n");
    Ok(())
}

/// What goes before a note at `start`, which is `offset` into the bar with this index.
fn separator(bars: &Bars, bar: usize, start: Onset, offset: Duration) -> Result<&'static str> {
    let number = bars.number(bar);
    Ok(match start == bars.span(bar)?.start() {
        true if bar == 0 => "",
        true if number > 1 && number % BARS_A_ROW == 1 => " |\n",
        true => " | ",
        false if bars.meter(bar).group_starts().any(|group| group == offset) => "  ",
        false => " ",
    })
}

fn piece(
    text: &mut String,
    event: &Event,
    start: Onset,
    length: Duration,
    tied: bool,
    before: &mut Option<Pitch>,
) {
    let mut name = |text: &mut String, pitch: Pitch| {
        put(text, format_args!("{}", pitch.name));
        if before.and_then(|before| Pitch::nearest(pitch.name, before)) != Some(pitch) {
            put(text, format_args!("{}", pitch.octave));
        }
        *before = Some(pitch);
    };
    match event.pitch {
        None => text.push('r'),
        Some(pitch) => {
            if let Some(grace) = event.grace.filter(|_| start == event.onset) {
                text.push('(');
                name(text, grace);
                text.push(')');
            }
            name(text, pitch);
        }
    }
    if length != Duration::EIGHTH {
        put(text, format_args!(":{length}"));
    }
    if tied && event.pitch.is_some() {
        text.push('~');
    }
    match event.legato.filter(|_| !tied) {
        Some(Legato::Slur) => text.push('_'),
        Some(Legato::Slide) => text.push_str("_s"),
        None => {}
    }
    if !event.pin.is_empty() && start == event.onset {
        put(text, format_args!("^{}", event.pin));
    }
}

/// Writing to a string can't fail.
fn put(text: &mut String, args: std::fmt::Arguments<'_>) {
    let _ = text.write_fmt(args);
}
