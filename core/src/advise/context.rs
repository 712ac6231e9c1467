//! What a line says about its half-bars: where chords change, where phrases start and end, which notes belong together, and which ones have to
//! stay where they are.

use std::ops::Range;

use crate::chord::ChordSymbol;
use crate::harmony::{self, Kind, Term};
use crate::line::{Line, NoteId};
use crate::recast::Window;
use crate::time::{Duration, Onset, Span, TimeError};

use super::reason::Reason;

/// A silence that ends a phrase, as it ends a name (common practice, no source).
const REST: Duration = Duration::QUARTER;
/// A note that ends a phrase: a half note or longer (common practice, no source).
const LONG: Duration = Duration::of(2, 1);

/// A note that sounds.
struct Note {
    id: NoteId,
    onset: Onset,
    /// It is the first or last note of its phrase.
    starts: bool,
    ends: bool,
    /// The line lands on it.
    is_landing: bool,
}

/// Notes that belong together, by their indices.
struct Group {
    /// All of them, and those that no group before has already.
    all: Range<usize>,
    own: Range<usize>,
    says: String,
}

/// What a line says about its half-bars.
pub(super) struct Context<'a> {
    notes: Vec<Note>,
    groups: Vec<Group>,
    /// Where a chord starts that isn't the one before it.
    changes: Vec<(Onset, &'a ChordSymbol)>,
}

impl<'a> Context<'a> {
    pub(super) fn of(line: &'a Line) -> Context<'a> {
        let names = harmony::names(line);
        let mut notes: Vec<Note> = Vec::new();
        let mut silence = Duration::ZERO;
        for event in line.events() {
            if event.pitch.is_none() {
                silence = silence.checked_add(event.duration).unwrap_or(event.duration);
                continue;
            }
            if let Some(before) = notes.last_mut() {
                before.ends |= silence >= REST;
            }
            let starts = notes.last().is_none_or(|before| before.ends);
            let ends = event.duration >= LONG;
            notes.push(Note { id: event.id, onset: event.onset, starts, ends, is_landing: false });
            silence = Duration::ZERO;
        }
        if let Some(last) = notes.last_mut() {
            last.ends = true;
        }
        let index = |id: NoteId| notes.partition_point(|note| note.id < id);
        let drawn = names.drawn().filter(|name| !matches!(name.kind, Kind::Landing(_)));
        let group = |name: &harmony::Name| {
            let all = index(name.notes.0)..index(name.notes.1) + 1;
            let is_lent = name.charges.iter().any(|charge| charge.term == Term::Lent);
            Group { own: all.start + usize::from(is_lent)..all.end, all, says: name.to_string() }
        };
        let groups = drawn.map(group).collect();
        let landings: Vec<usize> = names.landings().iter().map(|landing| index(landing.note)).collect();
        for landing in landings {
            notes[landing].is_landing = true;
        }
        let before = [None].into_iter().chain(line.chords().iter().map(|chord| Some(&chord.symbol)));
        let changes = line.chords().iter().zip(before);
        let changes = changes
            .filter(|(chord, before)| chord.symbol.chord().is_some() && *before != Some(&chord.symbol));
        Context { notes, groups, changes: changes.map(|(chord, _)| (chord.onset, &chord.symbol)).collect() }
    }

    /// The notes that start in a window, by their indices.
    fn inside(&self, span: Span) -> Range<usize> {
        let before = |onset: Onset| self.notes.partition_point(|note| note.onset < onset);
        before(span.start())..before(span.end())
    }

    /// The notes that start in a window.
    pub(super) fn notes(&self, span: Span) -> impl Iterator<Item = NoteId> {
        self.notes[self.inside(span)].iter().map(|note| note.id)
    }

    /// Whether a window that can be recast leaves the notes where they are that the line lands on.
    pub(super) fn keeps_landings(&self, window: &Window, span: Span) -> Result<bool, TimeError> {
        let mut notes = self.notes[self.inside(span)].iter();
        let mut onset = span.start();
        for stretch in window.figure.stretches(window.spelling) {
            let moved = |note: &Note| note.is_landing && note.onset != onset;
            if stretch.sounds && notes.next().is_some_and(moved) {
                return Ok(false);
            }
            onset = onset.checked_add(stretch.duration)?;
        }
        Ok(true)
    }

    /// What the line says for and against recasting a window.
    pub(super) fn reasons(&self, span: Span) -> Vec<Reason> {
        let mut reasons = Vec::new();
        if let Ok(change) = self.changes.binary_search_by_key(&span.end(), |(onset, _)| *onset) {
            reasons.push(Reason::IntoChange { to: self.changes[change].1.clone() });
        }
        let inside = self.inside(span);
        let notes = &self.notes[inside.clone()];
        // The landing note is often alone in its half-bar, and so is a pickup note: what counts is the half-bar beside it.
        let before = inside.start.checked_sub(1).map(|before| &self.notes[before]);
        let after = self.notes.get(inside.end);
        if notes.iter().chain(after).any(|note| note.ends) {
            reasons.push(Reason::EndsPhrase);
        }
        if before.into_iter().chain(notes).any(|note| note.starts) {
            reasons.push(Reason::StartsPhrase);
        }
        // Groups are in order of time: those from the first one that ends in the window or after it, up to the last one that starts there.
        let first = self.groups.partition_point(|group| group.own.end <= inside.start);
        let near = self.groups[first..].iter().take_while(|group| group.own.start <= inside.end);
        // A group that begins with a note of the one before it may leave that note to it.
        let is_one = |group: &&Group| group.all == inside || group.own == inside;
        if let Some(group) = near.clone().find(is_one) {
            reasons.push(Reason::OneName { says: group.says.clone() });
        }
        let cuts = |group: &&Group| {
            [inside.start, inside.end].iter().any(|edge| group.own.start < *edge && *edge < group.own.end)
        };
        if let Some(group) = near.clone().find(cuts) {
            reasons.push(Reason::CutsName { says: group.says.clone() });
        }
        reasons
    }
}
