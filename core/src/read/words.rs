//! What the readers share: the words of a row with their places, and what is found wrong with them.

use crate::order;

use super::diagnostic::{Diagnostic, Problem};

/// How many diagnostics are kept; one more says that there are others.
const MOST_DIAGNOSTICS: usize = 100;

/// A place in the text.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Spot {
    /// The line of text, from 1.
    pub line: usize,
    /// The column in characters, from 1.
    pub column: usize,
    /// How many characters it covers, at least 1.
    pub length: usize,
}

impl Spot {
    pub(super) const START: Spot = Spot { line: 1, column: 1, length: 1 };

    fn diagnostic(self, problem: Problem) -> Diagnostic {
        Diagnostic { line: self.line, column: self.column, length: self.length, problem }
    }

    /// The part of this spot that starts `skip` characters in.
    pub fn from(self, skip: usize, length: usize) -> Spot {
        Spot { line: self.line, column: self.column + skip, length: length.max(1) }
    }
}

/// Collects mistakes, up to a limit.
#[derive(Default)]
pub(super) struct Findings {
    list: Vec<Diagnostic>,
    remarks: Vec<Diagnostic>,
    dropped: Option<Spot>,
}

impl Findings {
    pub(super) fn add(&mut self, at: Spot, problem: Problem) {
        if self.list.len() == MOST_DIAGNOSTICS {
            self.dropped.get_or_insert(at);
            return;
        }
        self.list.push(at.diagnostic(problem));
    }

    pub(super) fn remark(&mut self, at: Spot, problem: Problem) {
        if self.remarks.len() < MOST_DIAGNOSTICS {
            self.remarks.push(at.diagnostic(problem));
        }
    }

    /// The diagnostics and the remarks.
    pub(super) fn finish(mut self) -> (Vec<Diagnostic>, Vec<Diagnostic>) {
        order::sort(&mut self.list, |d| (d.line, d.column));
        order::sort(&mut self.remarks, |d| (d.line, d.column));
        let more = self.dropped.map(|at| at.diagnostic(Problem::More { shown: MOST_DIAGNOSTICS }));
        self.list.extend(more);
        (self.list, self.remarks)
    }
}

/// The words of a row, each with its place. Some signs are words of their own.
pub(super) struct Words<'a> {
    rest: &'a str,
    line: usize,
    column: usize,
}

impl<'a> Words<'a> {
    pub(super) fn new(rest: &'a str, line: usize, column: usize) -> Words<'a> {
        Words { rest, line, column }
    }

    /// The next word: a run without white space, split before and after `sign`.
    pub(super) fn next(&mut self, sign: char) -> Option<(&'a str, Spot)> {
        self.column += self.rest.chars().take_while(|c| c.is_whitespace()).count();
        let text = self.rest.trim_start();
        let first = text.chars().next()?;
        let end = match first == sign {
            true => sign.len_utf8(),
            false => text.find(|c: char| c == sign || c.is_whitespace()).unwrap_or(text.len()),
        };
        let (word, rest) = text.split_at_checked(end)?;
        let spot = Spot { line: self.line, column: self.column, length: word.chars().count() };
        self.rest = rest;
        self.column += spot.length;
        Some((word, spot))
    }

    /// The place just after the last word.
    pub(super) fn here(&self) -> Spot {
        Spot { line: self.line, column: self.column, length: 1 }
    }
}
