//! The names of a line.

use crate::line::Line;

use super::approach::landing;
use super::name::{Kind, Landing, Name};
use super::path::{Lattice, Segment};
use super::reasons::against;
use super::setting::Setting;
use super::weights;

/// The names of a line's notes, and where it lands on a chord.
#[derive(Clone, Debug)]
pub struct Names {
    setting: Setting,
    lattice: Lattice,
    segments: Vec<Segment>,
    names: Vec<Name>,
    landings: Vec<Landing>,
}

/// Another reading of some notes.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Reading {
    /// What it says; where it cuts the notes in another way, name after name.
    pub says: String,
    /// Whether it is about the same notes, so that it can take the place of the first reading.
    pub same_notes: bool,
    /// How much more it costs than the first reading.
    pub more: u32,
    /// What it is charged more for than the first reading, a clause each.
    pub reasons: Vec<&'static str>,
}

/// Names what is in the plain line: arpeggios, runs, patterns and what leads from one to the next. A casting changes none of it.
///
/// The names are the cheapest way to cut the notes into groups, by costs that say how a musician would think of them (B. Pardo & W. Birmingham, "Algorithms for
/// Chordal Analysis", Computer Music Journal 26:2, 2002, find chords in the same way; from memory). Kinds of groups: compare K. Frieler et al., "Midlevel
/// Analysis of Monophonic Jazz Solos", Musicae Scientiae 20:2, 2016, from memory.
///
/// ```
/// use halfbar_core::harmony::names;
/// use halfbar_core::read;
///
/// let line = read::text("key: D\n@A7alt Bb3 Db F A  G Bb Db F | @Dmaj7 E:4 |").line.expect("two bars");
/// let said: Vec<_> = names(&line).drawn().map(|name| name.to_string()).collect();
/// assert_eq!(said, ["B♭m(maj7) arpeggio, root position, up", "Gm7♭5 arpeggio, root position, up", "lands ♭13 to 9, a half step"]);
/// ```
pub fn names(line: &Line) -> Names {
    let setting = Setting::of(line);
    let lattice = Lattice::of(&setting);
    let (_, segments) = lattice.cheapest(0, lattice.len(), |_| false);
    let names = segments.iter().map(|segment| named(&setting, &lattice, *segment)).collect();
    let landings = (0..lattice.len()).filter_map(|note| landing(&setting, note)).collect();
    Names { setting, lattice, segments, names, landings }
}

fn named(setting: &Setting, lattice: &Lattice, segment: Segment) -> Name {
    let name = lattice.name(segment);
    let [first, last] = [segment.first, name.end - 1].map(|note| &setting.notes[note]);
    Name {
        notes: (first.id, last.id),
        places: (first.onset, last.onset),
        kind: name.kind,
        direction: name.direction,
        charges: name.charges.all().collect(),
    }
}

impl Names {
    /// All groups, one after another, those without a name too.
    pub fn all(&self) -> &[Name] {
        &self.names
    }

    /// The groups with a name.
    pub fn drawn(&self) -> impl Iterator<Item = &Name> {
        self.names.iter().filter(|name| name.kind != Kind::Loose)
    }

    /// Where the line lands on the tones of a new chord.
    pub fn landings(&self) -> &[Landing] {
        &self.landings
    }

    /// What all of them cost.
    pub fn cost(&self) -> u32 {
        self.names.iter().map(Name::cost).sum()
    }

    /// Other readings of the group with an index among [`Names::all`], the likeliest first: those of the same notes, then other ways to cut the notes
    /// around them.
    ///
    /// ```
    /// use halfbar_core::harmony::names;
    /// use halfbar_core::read;
    ///
    /// let line = read::text("key: C\n@C6 E3 G A C  r:2 |").line.expect("a full bar");
    /// let other = names(&line).others(0).remove(0);
    /// assert_eq!((other.says.as_str(), other.more), ("Am7 arpeggio, 2nd inversion, up", 1));
    /// assert!(other.same_notes);
    /// ```
    pub fn others(&self, index: usize) -> Vec<Reading> {
        let (Some(&segment), Some(name)) = (self.segments.get(index), self.names.get(index)) else {
            return Vec::new();
        };
        let (end, cost) = (self.lattice.name(segment).end, name.cost());
        let is_named = |kind: &Kind| !matches!(kind, Kind::Loose | Kind::Landing(_));
        let mut found: Vec<Reading> = Vec::new();
        let mut offer = |other: &[Name], more: u32, first: &[Name], same_notes: bool| {
            let says = other.iter().map(Name::to_string).collect::<Vec<_>>().join(", then ");
            if says == name.to_string() || found.iter().any(|known| known.says == says) {
                return;
            }
            let mut reasons = against(other, first);
            if reasons.is_empty() && !same_notes {
                reasons.push("it groups the notes differently");
            }
            found.push(Reading { says, same_notes, more, reasons });
        };
        let alike = (0..self.lattice.from(segment.first).len()).map(|name| Segment { name, ..segment });
        let mut alike: Vec<Name> = alike
            .filter(|other| self.lattice.candidate(*other).end == end)
            .map(|other| named(&self.setting, &self.lattice, other))
            .filter(|other| is_named(&other.kind) && other.cost() <= cost + weights::OTHER_READING)
            .collect();
        alike.sort_by_key(Name::cost);
        // A chord that sounds the same on several roots is named once.
        let quality = |name: &Name| match &name.kind {
            Kind::Arpeggio { quality, .. } | Kind::Voicing { quality, .. } => Some(*quality),
            _ => None,
        };
        let is_symmetric = |other: &Name| quality(other).is_some() && quality(other) == quality(name);
        alike.retain(|other| !is_symmetric(other));
        for other in &alike {
            let more = other.cost().saturating_sub(cost);
            offer(std::slice::from_ref(other), more, std::slice::from_ref(name), true);
        }
        let around = index.saturating_sub(2)..(index + 3).min(self.segments.len());
        let near = &self.segments[around.clone()];
        if let [first, .., last] = near
            && !first.lent
        {
            let (from, to) = (first.first, self.lattice.candidate(*last).end);
            let (least, _) = self.lattice.cheapest(from, to, |_| false);
            let (total, others) = self.lattice.cheapest(from, to, |other| {
                other.first == segment.first && self.lattice.candidate(other).end == end
            });
            let more = total.0.saturating_sub(least.0);
            let new = others.iter().filter(|other| !near.contains(other));
            let new = new.map(|other| named(&self.setting, &self.lattice, *other));
            let new: Vec<Name> = new.filter(|name| is_named(&name.kind)).collect();
            if more <= weights::OTHER_STRETCH && !new.is_empty() {
                let old = near.iter().zip(&self.names[around]).filter(|(old, _)| !others.contains(old));
                let old: Vec<Name> = old.map(|(_, name)| name.clone()).collect();
                offer(&new, more, &old, false);
            }
        }
        found.truncate(weights::OTHERS);
        found
    }
}

#[cfg(test)]
mod tests {
    use super::super::name::Term;
    use super::*;
    use crate::read;

    fn named(key: &str, music: &str) -> Names {
        let reading = read::text(&format!("key: {key}\n{music}"));
        assert!(reading.diagnostics.is_empty(), "{music}: {:?}", reading.diagnostics);
        names(&reading.line.unwrap())
    }

    /// Nobody calls a scale C♭ minor, whatever its notes are called.
    #[test]
    fn a_pentatonic_scale_has_a_readable_tonic() {
        let found = named("Eb", "@Bb7alt Gb4 E D Cb  r:2 |");
        let said: Vec<String> = found.drawn().map(Name::to_string).collect();
        assert_eq!(said, ["B minor pentatonic, down"]);
    }

    /// Lines that a teacher would name so: as common practice has it, no source.
    #[test]
    fn a_panel_of_clear_lines() {
        let panel: [(&str, &str, &[&str]); 15] = [
            (
                "G",
                "@Am7 E3 G B C  C E A C |",
                &["Cmaj7 arpeggio, 1st inversion, up", "Am arpeggio, 1st inversion, up"],
            ),
            (
                "D",
                "@A7alt Bb3 Db F A  G Bb Db F | @Dmaj7 E:4 |",
                &[
                    "B♭m(maj7) arpeggio, root position, up",
                    "Gm7♭5 arpeggio, root position, up",
                    "lands ♭13 to 9, a half step",
                ],
            ),
            ("A", "@Bm7 A4 G# F# E  D C# B A |", &["B dorian, down"]),
            (
                "C",
                "@G7 D4 F A D  B G F D |",
                &["Dm arpeggio, root position, up", "G7 arpeggio, 2nd inversion, down"],
            ),
            ("C", "@Cmaj7 E4 A G B  A D B E |", &["E minor pentatonic in pairs, skipping"]),
            (
                "G",
                "@D7alt Gb3 Bb D F  Eb Bb Gb Eb | @Gmaj7 D:4 |",
                &[
                    "G♭maj7♯5 arpeggio, root position, up",
                    "E♭m arpeggio, root position, down",
                    "lands ♭9 to 5, a half step",
                ],
            ),
            ("Bb", "@Cm7 C3 Bb3 Eb:1 @F7 F3 Eb4 A:1 |", &["Cm7 shell, 1 7 3", "F7 shell, 1 7 3"]),
            (
                "D",
                "@Em7 B2 E G D4  E3 B3 D G |",
                &["Em7 drop two, 5th lowest, up", "Em7 drop two, root lowest, up"],
            ),
            (
                "Ab",
                "@Abmaj7 Ab3 C Eb G  Bb3 Db F Ab | C4 Eb G Bb  Db4 F Ab C |",
                &["sevenths through A♭ major, up"],
            ),
            (
                "Eb",
                "@Fm7 Bb3 G Ab C  Eb G F Eb | @Bb7 D:4 |",
                &["enclosure of the ♭3", "A♭maj7 arpeggio, root position, up", "F dorian, down"],
            ),
            ("E", "@E6 F#3 G G# B  C# E G# B |", &["half steps into the 3", "E6 arpeggio, from the 3rd, up"]),
            (
                "C minor",
                "@G7b9 B3 D F Ab  G F Eb D | @Cm C:4 |",
                &["Bdim7 arpeggio, root position, up", "G phrygian dominant, down"],
            ),
            (
                "Db",
                "@Ebm7 Eb3 Gb Bb Db  @Ab7 C Ab Gb Eb | @Dbmaj7 F:4 |",
                &[
                    "E♭m7 arpeggio, root position, up",
                    "A♭7 arpeggio, 2nd inversion, down",
                    "lands 5 to 3, a whole step",
                ],
            ),
            ("A", "@E7alt F4 E D C  Bb Ab G F | @Amaj7 E:4 |", &["E altered, down"]),
            (
                "B",
                "@C#m7 C#4 E3 G# B  @F#7 A# F# E C# | @Bmaj7 D#:4 |",
                &[
                    "C♯m7 arpeggio, root position, folded, up",
                    "F♯7 arpeggio, 2nd inversion, down",
                    "lands 5 to 3, a whole step",
                ],
            ),
        ];
        let mut wrong = Vec::new();
        for (key, music, wanted) in panel {
            let found: Vec<String> = named(key, music).drawn().map(Name::to_string).collect();
            let is_start = found.len() >= wanted.len() && found[..wanted.len()] == *wanted;
            if !is_start {
                wrong.push(format!("{music}\n  wanted {wanted:?}\n  found  {found:?}"));
            }
        }
        assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    }

    /// Lines with several right names: these are among the readings.
    #[test]
    fn a_panel_of_ambiguous_lines() {
        let panel: [(&str, &str, &[&str]); 5] = [
            (
                "C",
                "@C6 E3 G A C  r:2 |",
                &["C6 arpeggio, 1st inversion, up", "Am7 arpeggio, 2nd inversion, up"],
            ),
            ("Eb", "@Bb7 D3 F Ab C  r:2 |", &["Dm7♭5 arpeggio, root position, up", "Fm6", "B♭9"]),
            ("D", "@A7b9 C#4 E G Bb  r:2 |", &["C♯dim7 arpeggio, root position, up", "A7♭9"]),
            ("G", "@Gmaj7 D5 B A F#  E D B A |", &["minor pentatonic"]),
            ("G", "@Cmaj7 C3 E G B  D F# A:1 |", &["Cmaj7 arpeggio", "D arpeggio", "Bm7"]),
        ];
        let mut wrong = Vec::new();
        for (key, music, wanted) in panel {
            let names = named(key, music);
            let readings =
                (0..names.all().len()).flat_map(|index| names.others(index)).map(|other| other.says);
            let said: Vec<String> = names.drawn().map(Name::to_string).chain(readings).collect();
            let missing: Vec<_> =
                wanted.iter().filter(|wanted| !said.iter().any(|said| said.contains(**wanted))).collect();
            if !missing.is_empty() {
                wrong.push(format!("{music}: {missing:?} not in {said:?}"));
            }
        }
        assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    }

    #[test]
    fn a_name_may_begin_with_a_lent_note_or_before_its_chord() {
        let lent = named("Ab", "@Abmaj7 Ab3 C Eb G  F Eb r:1 |");
        let said: Vec<String> = lent.drawn().map(Name::to_string).collect();
        assert_eq!(said, ["A♭maj7 arpeggio, root position, up", "A♭ major, down"]);
        assert_eq!(lent.all()[0].notes.1, lent.all()[1].notes.0);
        let early = named("C", "@Dm7 A3:7/2 G | @G7 B D F r:5/2 |");
        let name = early.drawn().last().unwrap();
        assert_eq!(name.to_string(), "G7 arpeggio, root position, up");
        let cost = |term| name.charges.iter().find(|charge| charge.term == term).map(|charge| charge.cost);
        assert_eq!((cost(Term::Anticipation), cost(Term::Change)), (Some(weights::ANTICIPATION), None));
    }

    /// Every way to cut some notes into names, by trying all.
    fn least(lattice: &Lattice, at: usize, lends: bool) -> Option<u32> {
        if at == lattice.len() {
            return (!lends).then_some(0);
        }
        let own = (0..lattice.from(at).len()).map(|name| Segment { first: at, name, lent: false });
        let lent = at.checked_sub(1).filter(|_| lends).into_iter().flat_map(|first| {
            let reaching =
                (0..lattice.from(first).len()).map(move |name| Segment { first, name, lent: true });
            reaching.filter(|segment| {
                let name = lattice.candidate(*segment);
                name.may_share() && name.end >= segment.first + 3
            })
        });
        let onward = own.chain(lent).flat_map(|segment| {
            let name = lattice.name(segment);
            let ways = [false, true].map(|shares| match shares && !name.may_share() {
                true => None,
                false => Some(name.charges.cost() + least(lattice, name.end, shares)?),
            });
            ways.into_iter().flatten()
        });
        onward.min()
    }

    #[test]
    fn no_names_are_cheaper() {
        // A simple generator of scattered numbers, so that a failure comes again.
        let mut state = 1u32;
        let mut next = |below: u32| {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            (state >> 16) % below
        };
        let (letters, chords) = (
            ["C", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B"],
            ["Cmaj7", "Dm7", "G7", "G7alt", "Am7b5", "NC"],
        );
        for _ in 0..300 {
            let mut music = String::new();
            for index in 0..8 {
                if index % 4 == 0 {
                    music += &format!("@{} ", chords[next(6) as usize]);
                }
                music += if index == 7 { "r " } else { "" };
                if index < 7 {
                    music += &format!("{}{} ", letters[next(12) as usize], 3 + next(2));
                }
            }
            let names = named("C", &format!("{music}|"));
            assert_eq!(Some(names.cost()), least(&names.lattice, 0, false), "{music}");
        }
    }

    #[test]
    fn every_note_is_in_one_group() {
        let names =
            named("Eb", "@Fm7 Bb3 G Ab C  Eb G F Eb | @Bb7 D F r A  Bb:1 r:1 | C4 D E F# G# A# B C#5 |");
        let ends: Vec<usize> =
            names.segments.iter().map(|segment| names.lattice.candidate(*segment).end).collect();
        let starts = names.segments.iter().map(|segment| segment.first + usize::from(segment.lent));
        assert!(
            starts.eq([0].into_iter().chain(ends[..ends.len() - 1].iter().copied())),
            "{:?}",
            names.segments
        );
        assert_eq!(ends.last(), Some(&names.lattice.len()));
        assert_eq!(
            names.all().iter().flat_map(|name| &name.charges).map(|charge| charge.cost).sum::<u32>(),
            names.cost()
        );
    }
}
