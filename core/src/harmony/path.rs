//! The names of a line: the cheapest way to cut its notes into groups.
//!
//! A group begins where the one before ends, or with that one's last note, which is then lent to it. What a group costs depends on nothing else,
//! so dynamic programming finds the cheapest way of all, as a test shows by trying every one.

use super::arpeggio::On;
use super::candidate::Candidate;
use super::name::Term;
use super::setting::Setting;
use super::weights::{self, Cost};
use super::{approach, arpeggio, pattern, run, voicing};

/// All names for the notes from one on.
pub(super) fn candidates(setting: &Setting, first: usize) -> Vec<Candidate> {
    let mut found = Vec::with_capacity(32);
    let chords = On::all_from(setting, first);
    arpeggio::find(setting, first, &chords, &mut found);
    voicing::find(setting, first, &chords, &mut found);
    let choices = run::choices(setting, first);
    run::find(setting, first, &choices, &mut found);
    pattern::find(setting, first, &choices, &mut found);
    approach::find(setting, first, &mut found);
    found.shrink_to_fit();
    found
}

/// A group of notes with a name: its first note, which of the names from there it has, and whether that note is lent to it.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Segment {
    pub(super) first: usize,
    pub(super) name: usize,
    pub(super) lent: bool,
}

/// What a way costs: in costs, in names, and what decides after that.
pub(super) type Total = (Cost, u32, u32);

/// The cheapest way to a place: what it costs, its last segment, and whether the one before that lends its last note.
type Reached = Option<(Total, Segment, bool)>;

/// All names for the notes of a line, by the note that they start with.
#[derive(Clone, Debug)]
pub(super) struct Lattice(Vec<Vec<Candidate>>);

impl Lattice {
    pub(super) fn of(setting: &Setting) -> Lattice {
        Lattice((0..setting.notes.len()).map(|first| candidates(setting, first)).collect())
    }

    pub(super) fn len(&self) -> usize {
        self.0.len()
    }

    pub(super) fn from(&self, first: usize) -> &[Candidate] {
        &self.0[first]
    }

    pub(super) fn candidate(&self, segment: Segment) -> &Candidate {
        &self.0[segment.first][segment.name]
    }

    /// A segment's name as it is charged for there.
    pub(super) fn name(&self, segment: Segment) -> Candidate {
        let name = self.candidate(segment).clone();
        if segment.lent { name.lent() } else { name }
    }

    /// The segments that may follow at a place: the names from there, and where a note may be lent, those from the note before.
    fn onward(&self, at: usize, lends: bool) -> impl Iterator<Item = Segment> {
        let own = (0..self.0[at].len()).map(move |name| Segment { first: at, name, lent: false });
        let before = at.checked_sub(1).filter(|_| lends);
        let borrowed = before.into_iter().flat_map(move |first| {
            let names = self.0[first].iter().enumerate();
            let reaching = names.filter(move |(_, name)| name.may_share() && name.end >= at + 2);
            reaching.map(move |(name, _)| Segment { first, name, lent: true })
        });
        own.chain(borrowed)
    }

    /// What a segment costs.
    fn cost(&self, segment: Segment) -> Total {
        let name = self.candidate(segment);
        let charges = if segment.lent {
            name.charges.without(Term::OffBeat).with(Term::Lent, weights::LENT)
        } else {
            name.charges
        };
        (charges.cost(), 1, name.tie)
    }

    /// The cheapest way through the notes from `start` up to `end`, without the segments that are banned.
    pub(super) fn cheapest(
        &self,
        start: usize,
        end: usize,
        is_banned: impl Fn(Segment) -> bool,
    ) -> (Total, Vec<Segment>) {
        // For each place, without and with a last note to lend.
        let mut ways: Vec<[Reached; 2]> = vec![[None; 2]; end - start + 1];
        for at in start..end {
            for lends in [false, true] {
                let before = match ways[at - start][usize::from(lends)] {
                    _ if at == start && !lends => (0, 0, 0),
                    Some((total, ..)) => total,
                    None => continue,
                };
                for segment in self.onward(at, lends && at > start) {
                    let name = self.candidate(segment);
                    if name.end > end || is_banned(segment) {
                        continue;
                    }
                    let own = self.cost(segment);
                    let cost = (before.0 + own.0, before.1 + own.1, before.2 + own.2);
                    for shares in [false, true] {
                        let way = &mut ways[name.end - start][usize::from(shares)];
                        let is_better = way.is_none_or(|(known, ..)| cost < known);
                        if is_better && (!shares || name.may_share()) {
                            *way = Some((cost, segment, lends));
                        }
                    }
                }
            }
        }
        let whole = ways[end - start][0].map(|(total, ..)| total).unwrap_or_default();
        let (mut segments, mut at, mut lends) = (Vec::new(), end, false);
        while let Some((_, segment, before)) = ways[at - start][usize::from(lends)] {
            at = segment.first + usize::from(segment.lent);
            lends = before;
            segments.push(segment);
            if at <= start {
                break;
            }
        }
        segments.reverse();
        (whole, segments)
    }
}
