//! Names as they are drawn and read aloud: plain data, so that whatever draws them needs none of what finds them.

use crate::line::{Call, Line, NoteId};

use super::name::{Kind, Landing, Name};
use super::naming::Names;
use super::words::called;

/// A name as it is drawn: a bracket over its notes, or what the line lands on.
///
/// ```
/// use halfbar_core::harmony::names;
/// use halfbar_core::read;
///
/// let line = read::text("key: Eb\n@Fm7 Bb3 G Ab C  Eb G F Eb | @Bb7 D:4 |").line.expect("two bars");
/// let signs = names(&line).signs(&line);
/// let shown: Vec<_> = signs.iter().map(|sign| sign.short[0].as_str()).collect();
/// assert_eq!(shown, ["encl. ♭3", "A♭maj7", "F dorian", "3"]);
/// assert!(signs[3].is_landing);
/// assert_eq!(signs[3].says, "lands ♭7 to 3, a half step");
/// assert_eq!(signs[1].spoken, "A flat major 7 arpeggio, root position, up");
/// ```
#[derive(Clone, PartialEq, Eq, Debug)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct NameSign {
    /// Its first note.
    pub first: NoteId,
    /// Its last note, which may be the first one of the next name.
    pub last: NoteId,
    /// What is written there, from the fullest form to the shortest; of a landing, its degree. A bracket without any
    /// has a line to write on.
    pub short: Vec<String>,
    /// What it says in full, with the signs of a printed page.
    pub says: String,
    /// What it says in full, as it is read aloud.
    pub spoken: String,
    /// Its index among [`Names::all`]; `None` for a passage that the writer calls something, and for a landing within a name.
    pub index: Option<usize>,
    /// Whether it is what the line lands on: a degree at its note, without a bracket.
    pub is_landing: bool,
}

impl NameSign {
    /// The same bracket without words, for somebody to fill in.
    #[must_use]
    pub fn blank(&self) -> NameSign {
        NameSign { short: Vec::new(), ..self.clone() }
    }

    fn of(name: &Name, index: usize) -> NameSign {
        NameSign {
            first: name.notes.0,
            last: name.notes.1,
            short: name.short(),
            says: name.to_string(),
            spoken: name.spoken(),
            index: Some(index),
            is_landing: matches!(name.kind, Kind::Landing(_)),
        }
    }

    fn of_landing(landing: &Landing) -> NameSign {
        NameSign {
            first: landing.note,
            last: landing.note,
            short: vec![landing.short()],
            says: landing.to_string(),
            spoken: landing.spoken(),
            index: None,
            is_landing: true,
        }
    }

    /// The notes of a call; none if no note starts there.
    fn of_call(call: &Call, line: &Line) -> Option<NameSign> {
        let events = line.events();
        let [first, after] = [call.span().start(), call.span().end()]
            .map(|onset| events.partition_point(|event| event.onset < onset));
        let mut notes =
            events[first..after].iter().filter(|event| event.pitch.is_some()).map(|event| event.id);
        let first = notes.next()?;
        Some(NameSign {
            first,
            last: notes.next_back().unwrap_or(first),
            short: called(call.words()),
            says: call.words().into(),
            spoken: call.words().into(),
            index: None,
            is_landing: false,
        })
    }
}

impl Names {
    /// What is drawn of the names of a line, in order of their first notes. Where the writer calls a passage something, that takes the place of its name
    /// and of all others that it overlaps.
    pub fn signs(&self, line: &Line) -> Vec<NameSign> {
        let calls: Vec<NameSign> =
            line.calls().iter().filter_map(|call| NameSign::of_call(call, line)).collect();
        let is_free = |name: &Name| {
            let (first, last) = name.notes;
            let near = calls.partition_point(|call| call.last < first);
            // A shared end note doesn't count as an overlap.
            let overlaps = |call: &NameSign| {
                let shared = (first.max(call.first), last.min(call.last));
                let is_lent =
                    shared.0 == shared.1 && first != last && (first == call.last || last == call.first);
                shared.0 <= shared.1 && !is_lent
            };
            !calls[near..].iter().take_while(|call| call.first <= last).any(overlaps)
        };
        let mut signs: Vec<NameSign> = Vec::new();
        for (index, name) in self.all().iter().enumerate() {
            match name.kind {
                Kind::Loose | Kind::Landing(_) => {}
                _ if is_free(name) => signs.push(NameSign::of(name, index)),
                _ => {}
            }
        }
        signs.extend(calls);
        // A landing that is a group by itself is one of the groups too.
        let by_note = |landing: &Landing| {
            let index = self.all().partition_point(|name| name.notes.1 < landing.note);
            let own = self.all().get(index).filter(|name| matches!(name.kind, Kind::Landing(_)));
            own.map_or_else(|| NameSign::of_landing(landing), |name| NameSign::of(name, index))
        };
        signs.extend(self.landings().iter().map(by_note));
        signs.sort_by_key(|sign| (sign.first, sign.last));
        signs
    }
}
