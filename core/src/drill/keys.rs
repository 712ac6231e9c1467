//! A line in twelve keys.

use std::fmt;
use std::str::FromStr;

use crate::bars::Bars;
use crate::chord::ChordSymbol;
use crate::naming::{UnknownName, named};

use super::error::Result;
use crate::key::Key;
use crate::line::{ChordAt, Line, Part};
use crate::pitch::{Interval, Pitch};
use crate::recast::Casting;
use crate::technique::Pin;
use crate::time::{Duration, Onset, Span, TimeError};

use super::copies::{Copies, Octaves, Source};
use super::exercise::Exercise;
use super::fixed::{Fixed, holds_in, is_picking};
use super::naming::{Named, Renamed};
use super::region::Region;

/// The order of the twelve keys, starting with the line's own.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
pub enum Cycle {
    /// Each key a fourth above or a fifth below the one before, so that all stay near the first.
    Fourths,
    /// Each key a half step above the one before.
    Semitones,
    /// Six keys, each a whole step above the one before; then the other six, starting a half step above the
    /// first.
    WholeTones,
}

impl Cycle {
    /// All cycles, in the order they are offered.
    pub const ALL: [Cycle; 3] = [Cycle::Fourths, Cycle::Semitones, Cycle::WholeTones];

    /// Its name on the command line.
    pub fn name(self) -> &'static str {
        match self {
            Cycle::Fourths => "fourths",
            Cycle::Semitones => "semitones",
            Cycle::WholeTones => "whole-tones",
        }
    }

    /// How many half steps each key is above the first.
    pub fn half_steps(self) -> [i32; 12] {
        match self {
            Cycle::Fourths => [0, 5, -2, 3, -4, 1, 6, -1, 4, -3, 2, -5],
            Cycle::Semitones => [0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11],
            Cycle::WholeTones => [0, 2, 4, 6, 8, 10, 1, 3, 5, 7, 9, 11],
        }
    }
}

impl FromStr for Cycle {
    type Err = UnknownName;

    fn from_str(text: &str) -> std::result::Result<Cycle, UnknownName> {
        named(text, "a cycle of keys", &Cycle::ALL, Cycle::name)
    }
}

impl fmt::Display for Cycle {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// The whole line in twelve keys, one copy after another, each with its own key signature. Of two enharmonic
/// keys, the one with fewer sharps or flats is used.
///
/// Notes and chords keep their spelling relative to the key where that is easy to read. Otherwise they are renamed:
/// no root has a double accidental, and no note but the third or seventh of its chord; E#, Fb, B# and Cb are written
/// only where the key signature or the chord calls for them. [`Exercise::renamed`] says what was renamed. The line's
/// own key is as it was written.
///
/// Changes of meter and key inside the line are repeated in every copy. After a pickup, a copy's pickup goes at the
/// end of the bar in which the previous copy ends or, if that fills its last bar, after a rest; the new key is
/// written at the first bar line after it. Without a pickup, a copy longer than one bar starts a system. A copy that
/// leaves the region is moved by octaves as a whole. Recast windows come along wherever they can be recast.
///
/// What the player has fixed comes along too: strokes and ways of picking as they are, strings and fingers with frets
/// and positions moved by as many frets as the copy. A copy that can't be fretted like that, or only above the highest
/// fret, gets a new fingering: see [`Exercise::unfixed`]. What the writer calls a passage doesn't come along.
///
/// # Errors
/// [`DrillError::NoOctave`](super::DrillError::NoOctave) if a copy can't be played in any octave;
/// [`DrillError::Fingering`](super::DrillError::Fingering) if the region's strings can't hold connected notes. Also
/// for times out of range.
pub fn keys(line: &Line, casting: &Casting, cycle: Cycle, region: Region) -> Result<Exercise> {
    let (bars, count) = (line.bars(), line.bar_count());
    let key_at = |onset: Onset| bars.split(onset).map(|(index, _)| bars.key(index));
    // The key of each note, and the number of chords that have started by then.
    let mut settings = Vec::with_capacity(line.events().len());
    let mut parts = Vec::with_capacity(line.events().len());
    for event in line.events() {
        let chords = line.chords().partition_point(|chord| chord.onset <= event.onset);
        settings.push((key_at(event.onset)?, chords));
        parts.push(event.lasting(event.duration));
    }
    let windows = casting.windows().to_vec();
    // A line isn't a shape: open strings are fine.
    let open = (0..parts.len()).collect();
    let all = Span::new(Onset::ZERO, line.end()).ok_or(TimeError)?;
    let fixed = Fixed::of(line, all, &parts);
    let picking = holds_in(line, all).filter(|hold| is_picking(hold.want)).collect();
    for part in &mut parts {
        part.pin = Pin { stroke: part.pin.stroke, ..Pin::default() };
    }
    let source = Source { start: Onset::ZERO, parts, fixed, picking, open, windows };

    let mut copies = Copies::new(head(bars)?, &line.heading().neck, region);
    for (number, half_steps) in cycle.half_steps().into_iter().enumerate() {
        let (first, over) = copies.bars.split(copies.end)?;
        if number > 0 && over == Duration::ZERO {
            copies.bars.change(first, bars.meter(0))?;
            copies.bars.change_key(first, bars.key(0).moved(half_steps))?;
            if bars.pickup() > Duration::ZERO {
                copies.put(Part::rest(bars.meter(0).bar().checked_sub(bars.pickup())?))?;
            } else if count > 1 {
                copies.breaks.extend(u16::try_from(first + 1));
            }
        }
        for index in 1..count {
            copies.bars.change(first + index, bars.meter(index))?;
            copies.bars.change_key(first + index, bars.key(index).moved(half_steps))?;
        }
        let (start, key) = (copies.end, bars.key(0).moved(half_steps));
        let mut renamed = Renamed { place: copies.bars.place(start)?, key, names: Vec::new() };
        let mut chords = Vec::with_capacity(line.chords().len());
        for chord in line.chords() {
            let key = key_at(chord.onset)?;
            let literal = chord.symbol.transposed(interval(key, half_steps));
            let named = match half_steps {
                0 => Named::as_written(literal.clone()),
                _ => Named::new(&literal, key.moved(half_steps)),
            };
            let onset = start.checked_add(chord.onset.since_start())?;
            renamed.add_chord(&literal, &named.symbol, copies.bars.place(onset)?);
            copies.chords.push(ChordAt { onset, symbol: named.symbol.clone() });
            chords.push(named);
        }
        let no_chord = Named::as_written(ChordSymbol::NoChord);
        let literal = |(key, _): (Key, usize), pitch: Pitch, octaves: i32| {
            pitch.transposed(interval(key, half_steps) + Interval::octaves(octaves))
        };
        let moved = |index: usize, pitch: Pitch, octaves: i32| {
            let (key, chord) = settings[index];
            let there = literal((key, chord), pitch, octaves)?;
            let chord = chord.checked_sub(1).and_then(|last| chords.get(last)).unwrap_or(&no_chord);
            if half_steps == 0 { Some(there) } else { chord.pitch(there, key.moved(half_steps)) }
        };
        let near = if half_steps == 0 { Octaves::AsWritten } else { Octaves::Near(0) };
        let octaves = copies.add(&source, near, moved)?;
        for (index, (part, event)) in source.parts.iter().zip(line.events()).enumerate() {
            let place = copies.bars.place(start.checked_add(event.onset.since_start())?)?;
            for pitch in part.grace.into_iter().chain(part.pitch) {
                if let (Some(from), Some(to)) =
                    (literal(settings[index], pitch, octaves), moved(index, pitch, octaves))
                {
                    renamed.add(from.name, to.name, place);
                }
            }
        }
        if !renamed.names.is_empty() {
            copies.renamed.push(renamed);
        }
    }
    copies.made(line, casting, false)
}

/// The first bars, before any change.
fn head(bars: &Bars) -> Result<Bars> {
    let head = Bars::new(bars.meter(0)).in_key(bars.key(0));
    Ok(if bars.pickup() > Duration::ZERO { head.with_pickup(bars.pickup())? } else { head })
}

/// How far the notes of a key move when it goes up this many half steps: by as many letters as its tonic.
fn interval(key: Key, half_steps: i32) -> Interval {
    let tonic = |key: Key| Pitch { name: key.tonic(), octave: 0 };
    let near = Interval::between(tonic(key), tonic(key.moved(half_steps)));
    near + Interval::octaves((half_steps - near.half_steps) / 12)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drill::DrillError;
    use crate::neck::Fret;
    use crate::{Piece, read, write};

    fn made(text: &str, cycle: Cycle) -> Result<Exercise> {
        let reading = read::text(text);
        keys(&reading.line.unwrap(), &reading.casting, cycle, Region::default())
    }

    /// The rows of music.
    fn music(made: &Exercise) -> Vec<String> {
        let text = write::text::line(&made.line, &made.casting).unwrap();
        text.split_once("\n\n").unwrap().1.lines().map(String::from).collect()
    }

    #[test]
    fn cycles_visit_every_key_once() {
        for cycle in Cycle::ALL {
            let mut classes = cycle.half_steps().map(|half_steps| half_steps.rem_euclid(12));
            classes.sort_unstable();
            assert_eq!(classes, [0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11], "{cycle}");
            assert_eq!(cycle.name().parse(), Ok(cycle));
        }
        let steps = |cycle: Cycle| {
            let keys = cycle.half_steps();
            let mut steps: Vec<_> = keys.windows(2).map(|pair| (pair[1] - pair[0]).rem_euclid(12)).collect();
            steps.dedup();
            steps
        };
        assert_eq!((steps(Cycle::Fourths), steps(Cycle::Semitones)), (vec![5], vec![1]));
        // All are near the first.
        assert!(Cycle::Fourths.half_steps().iter().all(|half_steps| half_steps.abs() <= 6));
        assert_eq!(steps(Cycle::WholeTones), [2, 3, 2]);
    }

    #[test]
    fn chords_and_notes_keep_their_spelling() {
        let made = made("key: Eb\n@Fm7/Eb F3 Ab C4 Eb @Bb7alt D:1 Cb:1 |", Cycle::Fourths).unwrap();
        assert_eq!(
            music(&made)[..4],
            [
                "@Fm7/Eb F3 Ab C Eb  @Bb7alt D:1 Cb:1 | =Ab  @Bbm7/Ab Bb Db F Ab  @Eb7alt G:1 Fb:1 |",
                "=Db  @Ebm7/Db Eb3 Gb Bb Db  @Ab7alt C:1 A:1 | =Gb  @Abm7/Gb Ab Cb Eb Gb  @Db7alt F:1 D:1 |",
                "=B  @C#m7/B C#3 E G# B  @F#7alt A#:1 G:1 | =E  @F#m7/E F# A C# E  @B7alt D#:1 C:1 |",
                "=A  @Bm7/A B D F# A  @E7alt G#:1 F:1 | =D  @Em7/D E3 G B D  @A7alt C#:1 Bb:1 |",
            ]
        );
    }

    #[test]
    fn renamed_notes_are_told() {
        let made = made("@G7b9 Ab4:2 @Db7 F:1 Ab:1 |", Cycle::Fourths).unwrap();
        let bar = |bar: usize| music(&made).join(" ").split(" | ").nth(bar).unwrap().to_string();
        assert_eq!(bar(6), "=Gb  @Db7b9 D:2  @G7 B:1 D:1");
        let remarks = made.remarks();
        let told = "bar 7 beat 1: in Gb, D instead of Ebb, G instead of Abb and B instead of Cb, which is easier to read";
        assert!(remarks.contains(&told.into()), "{remarks:?}");
        // The line's own key is as it was written.
        assert!(made.renamed.iter().all(|renamed| renamed.place.bar > 1));
    }

    /// Names are told in the bar where they are, which may not be the first of the copy.
    #[test]
    fn renamed_notes_are_told_in_their_bars() {
        let made = made("G4:4 | @G7 Ab:2 @C7 Eb:2 | @F7 Gb:4 |", Cycle::Fourths).unwrap();
        let told = [
            "bar 12 beat 1: in Eb, A instead of Bbb, which is easier to read",
            "bar 14 beat 3: in Ab, B instead of Cb and D instead of Ebb in bar 15, which is easier to read",
        ];
        assert_eq!(made.remarks()[..2], told);
        assert!(made.renamed.iter().all(|renamed| renamed.place.bar % 3 == 1));
    }

    #[test]
    fn keys_stay_in_a_region() {
        let reading = read::text("C4 E G C5 r:2 |");
        let region = Region { strings: Some("4-2".parse().unwrap()), up_to: Fret(9) };
        let made = keys(&reading.line.unwrap(), &reading.casting, Cycle::Semitones, region).unwrap();
        let piece = Piece::new(made.line, made.casting).unwrap();
        let places = piece.fingering().notes().iter().filter_map(|&note| piece.fingering().of(note));
        let above: Vec<u32> = made.above.iter().map(|place| place.bar).collect();
        for (place, event) in places.zip(piece.line().events().iter().filter(|event| event.pitch.is_some())) {
            let bar = piece.line().bars().place(event.onset).unwrap().bar;
            assert!(
                (2..=4).contains(&place.string.0) && (place.fret.0 <= 9 || above.contains(&bar)),
                "{bar}"
            );
        }
    }

    #[test]
    fn a_pickup_fills_the_bar_before() {
        let short = made("pickup: 1\nkey: G\nD4 D | G:3 |", Cycle::Semitones).unwrap();
        assert_eq!(
            music(&short)[..2],
            ["D4 D | G:3 Eb Eb | =Ab  Ab:3 E E |", "=A  A:3 F F | =Bb  Bb:3 F# F# |"]
        );
        let full = made("pickup: 1\nkey: G\nD4 D | G:4 |", Cycle::Semitones).unwrap();
        assert_eq!(music(&full)[0], "D4 D | G:4 | =Ab  r:3 Eb Eb |");
        for made in [short, full] {
            assert_eq!(made.line.bars().key_changes().count(), 11);
        }
    }

    #[test]
    fn meters_and_keys_come_again() {
        let made = made("meter: 3/4\nC4:3 | 2/4 =Em E:2 |", Cycle::WholeTones).unwrap();
        assert_eq!(
            music(&made)[..2],
            ["C4:3 | 2/4  =Em  E:2 |", "3/4  =D  D:3 | 2/4  =F#m  F#:2 |"].map(String::from)
        );
    }

    /// B double flat isn't a key, so what was in G flat goes to A, letter by letter.
    #[test]
    fn every_key_inside_goes_to_its_own() {
        let made = made("key: Eb\nC4:4 | =Gb Gb4:2 Bb:2 |", Cycle::Semitones).unwrap();
        assert_eq!(music(&made)[3], "=Gb  Eb4:4 | =A  A:2  C#:2 |");
    }

    #[test]
    fn copies_stay_in_range() {
        let made = made("C6 E5 G C6 r:2 |", Cycle::Semitones).unwrap();
        // C6 itself stays. Fret 14 is F#5.
        let octaves = |made: &Exercise| {
            made.folded.iter().map(|copy| (copy.place.bar, copy.octaves)).collect::<Vec<_>>()
        };
        let folded: Vec<_> = (2..=12).map(|bar| (bar, if bar < 8 { -1 } else { -2 })).collect();
        assert_eq!(octaves(&made), folded);
        assert_eq!(made.above.iter().map(|place| place.bar).collect::<Vec<_>>(), [1]);
        let all = Region { up_to: Fret(22), ..Region::default() };
        let reading = read::text("C6 E5 G C6 r:2 |");
        let high = keys(&reading.line.unwrap(), &reading.casting, Cycle::Semitones, all).unwrap();
        assert_eq!(octaves(&high), (4..=12).map(|bar| (bar, -1)).collect::<Vec<_>>());
        assert!(high.above.is_empty());
        // Where the strings leave a gap, both octaves would do, and the lower one is used.
        let gap = self::made("tuning: E2 A2 E4 A4\nneck: 12 frets\nG3:4 |", Cycle::Semitones).unwrap();
        assert_eq!(octaves(&gap), (4..=9).map(|bar| (bar, -1)).collect::<Vec<_>>());
        let wide = self::made("E2 D6 r:3 |", Cycle::Fourths);
        assert!(matches!(wide, Err(DrillError::NoOctave { .. })), "{wide:?}");
    }

    #[test]
    fn windows_come_again() {
        let made = made("recast: split-last at 1.1 tied\nC4 D E F G:2 |", Cycle::Fourths).unwrap();
        assert_eq!(made.casting.windows().len(), 12);
        assert!((made.respelled.len(), made.plain.len()) == (0, 0));
    }

    #[test]
    fn a_fingering_moves_along() {
        let made =
            made("hand: sweep at 1.1 to 1.2\nC3^5.3 E^4.2/1 G^4.5/4u C4 r:2 |", Cycle::Fourths).unwrap();
        let bars: Vec<String> = music(&made).join(" ").split(" | ").map(String::from).collect();
        assert_eq!(bars[..2], ["C3^5.3 E^4.2/1 G^4.5/4u C  r:2", "=F  F3^5.8 A^4.7/1 C^4.10/4u F  r:2"]);
        // The first finger would have to be at the nut.
        assert_eq!(bars[2], "=Bb  Bb2 D F^u Bb  r:2");
        let told = "bar 3 beat 1, bar 5 beat 1, bar 10 beat 1 and bar 12 beat 1: the copies that start here have new \
            fingerings, since the one that is set can't be moved there";
        assert_eq!(made.remarks(), [told]);
        let sweeps: Vec<_> = made.line.constraints().iter().map(|hold| hold.want.to_string()).collect();
        assert_eq!(sweeps, ["sweep"; 12]);
    }

    #[test]
    fn a_position_moves_along() {
        let made = made("hand: position 4 at 1.1 to 2.1\nC4 E G C5 r:2 |", Cycle::Semitones).unwrap();
        let rows = write::text::with_constraints("", &made.line).unwrap();
        let rows: Vec<&str> = rows.lines().collect();
        assert_eq!(rows[..2], ["hand: position 4 at 1.1 to 2.1", "hand: position 5 at 2.1 to 3.1"]);
        // From G on, the line is an octave lower, where position I is the first that there is again.
        let unfixed: Vec<_> = made.unfixed.iter().map(|place| place.bar).collect();
        assert_eq!((unfixed.as_slice(), rows[7]), (&[8, 9][..], "hand: position 1 at 10.1 to 11.1"));
    }

    /// What is called after a chord has another name in another key.
    #[test]
    fn calls_stay_behind() {
        let made = made("call: C6 at 1.1 to 1.3\nE4 G A C5  r:2 |", Cycle::Semitones).unwrap();
        assert!(made.line.calls().is_empty());
        assert_eq!(made.uncalled, 1);
        assert!(made.remarks().iter().any(|remark| remark.contains("another key")), "{:?}", made.remarks());
    }

    /// The bars are different now, so breaks at some of them mean nothing; keys start systems.
    #[test]
    fn systems_break_anew() {
        let systems = |text: &str| made(text, Cycle::Fourths).unwrap().line.heading().systems.to_string();
        assert_eq!(systems("systems: 2 at 2\nC4:4 | D:4 |"), "2 at 3, 5, 7, 9, 11, 13, 15, 17, 19, 21, 23");
        assert_eq!(systems("systems: 2 at 1\nC4:4 |"), "2");
        assert_eq!(systems("pickup: 1\nC4:1 | D:4 | E:4 |"), "");
    }
}
