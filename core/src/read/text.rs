//! The text format of `core/TEXT.md`: which rows are headers, which are music, and the reading as a whole.

use crate::line::Line;
use crate::order;
use crate::recast::Casting;

use super::diagnostic::{Diagnostic, Problem};
use super::words::{Findings, Spot, Words};
use super::{calls, headers, holds, music, recasts};

/// The longest text that is read, in bytes: about 50,000 bars.
const LONGEST_TEXT: usize = 2_000_000;

/// What a text says.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Reading {
    /// The line as far as it could be read, with short bars filled with rests and long ones cut; `None` if
    /// there is no music.
    pub line: Option<Line>,
    /// The windows that are recast, as far as they can be.
    pub casting: Casting,
    /// Where each event of the line is written: its first word. An event that fills a short bar has the place
    /// of the bar line.
    pub spots: Vec<Spot>,
    /// Mistakes in order of place. If there are none, the text is valid.
    pub diagnostics: Vec<Diagnostic>,
    /// What is valid but still worth mentioning, in order of place.
    pub remarks: Vec<Diagnostic>,
}

/// Reads a line's text.
pub fn text(source: &str) -> Reading {
    let mut found = Findings::default();
    let reading = match source.len() > LONGEST_TEXT {
        true => {
            found.add(Spot::START, Problem::TooLong { bytes: source.len(), allowed: LONGEST_TEXT });
            None
        }
        false => read(source, &mut found),
    };
    let (line, casting, spots) = match reading {
        Some((line, casting, spots)) => (Some(line), casting, spots),
        None => (None, Casting::default(), Vec::new()),
    };
    let (diagnostics, remarks) = found.finish();
    Reading { line, casting, spots, diagnostics, remarks }
}

/// Reads bytes that should be a line's text in UTF-8.
pub fn bytes(source: &[u8]) -> Reading {
    let wrong = match std::str::from_utf8(source) {
        Ok(source) => return text(source),
        Err(error) => error.valid_up_to(),
    };
    let mut reading = text(&String::from_utf8_lossy(source));
    let before = String::from_utf8_lossy(&source[..wrong]);
    let row = before.rsplit('\n').next().unwrap_or("");
    let (line, column) = (before.matches('\n').count() + 1, row.chars().count() + 1);
    reading.diagnostics.insert(0, Diagnostic { line, column, length: 1, problem: Problem::Utf8 });
    order::sort(&mut reading.diagnostics, |d| (d.line, d.column));
    reading
}

fn read(source: &str, found: &mut Findings) -> Option<(Line, Casting, Vec<Spot>)> {
    let (mut heading, mut figures, mut recast, mut hand, mut call, mut body) =
        (headers::Headers::default(), vec![], vec![], vec![], vec![], vec![]);
    for (number, row) in (1..).zip(rows(source)) {
        let spot = |value: &str, column| Spot { line: number, column, length: value.chars().count().max(1) };
        match row {
            Row::Blank => {}
            Row::Music(text) => body.push(Words::new(text, number, 1)),
            Row::Header { name, value, column } if name.eq_ignore_ascii_case("figure") => {
                figures.push((value, spot(value, column)));
            }
            Row::Header { name, value, column } if name.eq_ignore_ascii_case("hand") => {
                hand.push((value, spot(value, column)));
            }
            Row::Header { name, value, column } if name.eq_ignore_ascii_case("call") => {
                call.push((value, spot(value, column)));
            }
            Row::Header { name, value, column } if name.eq_ignore_ascii_case("recast") => {
                recast.push((Words::new(value, number, column), spot(name, 1)));
            }
            Row::Header { name, value, column } => {
                heading.read(name, value, spot(value, column), found);
            }
        }
    }
    let (heading, bars) = heading.finish(found);
    let (line, spots) = music::read(heading, bars, body, found)?;
    let casting = recasts::read(&line, figures, recast, found);
    let holds = holds::read(&line, hand, found);
    let calls = calls::read(&line, call, found);
    Some((line.with_constraints(holds).with_calls(calls), casting, spots))
}

/// A row of the text by its kind.
pub(crate) enum Row<'a> {
    /// Empty, or a comment.
    Blank,
    /// A header's name and its trimmed value, with the column where the value starts.
    Header { name: &'a str, value: &'a str, column: usize },
    /// Notes, rests, chords and bar lines.
    Music(&'a str),
}

/// The rows of a text. A byte order mark before the first row isn't part of it.
pub(crate) fn rows(source: &str) -> impl Iterator<Item = Row<'_>> {
    source.trim_start_matches('\u{FEFF}').lines().map(|row| {
        let trimmed = row.trim();
        if trimmed.is_empty() || trimmed.starts_with('#') {
            return Row::Blank;
        }
        match row.split_once(':').filter(|(name, _)| is_header_name(name.trim())) {
            Some((name, value)) => {
                let blanks = value.chars().take_while(|c| c.is_whitespace()).count();
                let column = name.chars().count() + 2 + if value.trim().is_empty() { 0 } else { blanks };
                Row::Header { name: name.trim(), value: value.trim(), column }
            }
            None => Row::Music(row),
        }
    })
}

/// Two letters or more, and not a note such as the `Bb` of `Bb:2`.
fn is_header_name(name: &str) -> bool {
    let letters = name.len() >= 2 && name.bytes().all(|b| b.is_ascii_alphabetic() || b == b'-');
    letters && !matches!(name.as_bytes(), [b'A'..=b'G', rest @ ..] if rest.iter().all(|&b| b == b'b'))
}
