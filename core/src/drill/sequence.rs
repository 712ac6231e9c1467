//! A shape moved through a scale, step by step.

use crate::bars::Bars;
use crate::hand::{self, Fretting};
use crate::line::{ChordAt, Line, Part};
use crate::neck::Fret;
use crate::pitch::{Interval, Pitch};
use crate::recast::{Casting, RecastError, Refusal, Window, whole_at};
use crate::scale::{Scale, Tone};
use crate::technique::{Constraint, ConstraintSpan, Pin};
use crate::time::{Duration, Onset, Span, TimeError};

use super::copies::{Copies, Octaves, Source};
use super::diatonic;
use super::error::{DrillError, Result};
use super::exercise::Exercise;
use super::fixed::{Fixed, holds_in, is_picking};
use super::region::Region;

/// What to move, and how far.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Shape {
    /// Where its notes are.
    pub stretch: Span,
    /// The scale it moves through.
    pub scale: Scale,
    /// How many steps to move; each one makes a copy. Negative for down.
    pub steps: i8,
    /// Where on the neck to stay.
    pub region: Region,
}

/// The passage most likely meant as a shape: the first recast window or, if nothing is recast, the group of
/// the bar (the half-bar in 4/4) where the first note starts.
///
/// # Errors
/// [`TimeError`](crate::time::TimeError) for times out of range.
pub fn first_shape(line: &Line, casting: &Casting) -> Result<Span> {
    if let Some(span) = casting.windows().first().and_then(Window::span) {
        return Ok(span);
    }
    let first =
        line.events().iter().find(|event| event.pitch.is_some()).map_or(Onset::ZERO, |note| note.onset);
    let (index, offset) = line.bars().split(first)?;
    let (bar, downbeat) = (line.bar(index)?, line.bars().downbeat(index)?);
    let (mut start, mut end) = (bar.start(), bar.end());
    for group in line.bars().meter(index).window_starts(false) {
        let onset = downbeat.checked_add(group)?;
        match group <= offset {
            true => start = start.max(onset),
            false => end = end.min(onset),
        }
    }
    Span::new(start, end).ok_or(TimeError.into())
}

/// Moves the notes of a passage through a scale, and lays out the passage and its copies one after another.
///
/// Each copy is one step further than the one before, and keeps the rhythm, slurs, slides and grace notes. A
/// note outside the scale moves with the tone it belongs to: see [`Scale::place`].
///
/// Each note of a copy is pinned to the string that the shape itself has it on, so that the hand moves along
/// the neck in one shape, without open strings if the shape can be played without them. Copies with the same
/// intervals on the same strings get the same fingers. Instead of climbing above the region's highest fret, a
/// copy and those after it continue an octave lower. Only where no octave keeps a copy on its strings may it use
/// others of the region, or go higher. The passage itself stays in its octave.
///
/// Strokes and ways of picking that the player has fixed are the same in each copy. Fingers and positions come along
/// to copies on the same strings whose notes have all moved by the same number of frets, positions by that number.
///
/// The line has the meter and key in which the passage starts. It starts on the bar, after a rest if the
/// passage starts between two beats, so that what falls on a beat still does; and it ends with a rest if its
/// last bar isn't full. Chords of the scale move through it with the passage; if it has others, all are left out,
/// since a shape that has moved fits other ones. Recast windows
/// come along wherever they can be recast, in another spelling if necessary.
///
/// # Errors
/// - [`RecastError::Window`] with the place where a note is held over an edge of the passage, or where a
///   recast window would be cut.
/// - [`DrillError::Silent`] if the passage has no notes.
/// - [`DrillError::Fingering`] if a note of the shape isn't on its strings, or for anything else the line's
///   fingering can't do.
/// - [`DrillError::NoOctave`] if a copy can't be played in any octave.
pub fn sequence(line: &Line, casting: &Casting, shape: &Shape) -> Result<Exercise> {
    let Shape { stretch, scale, steps, region } = *shape;
    let source = source(line, casting, stretch, &played_on(line, stretch, region)?)?;
    let (index, offset) = line.bars().split(stretch.start())?;
    let meter = line.bars().meter(index);
    let mut copies =
        Copies::new(Bars::new(meter).in_key(line.bars().key(index)), &line.heading().neck, region);
    copies.put(Part::rest(offset.checked_sub(offset.floor_to(meter.unit_length())?)?))?;
    let mut near = Octaves::AsWritten;
    let steps = (0..=i32::from(steps).abs()).map(|step| step * i32::from(steps).signum());
    let chords = chords_in(line, stretch);
    let moved_chords = steps.clone().map(|steps| chords_moved(&chords, scale, steps));
    let moved_chords: Vec<Vec<ChordAt>> = moved_chords.collect::<Option<_>>().unwrap_or_default();
    for (copy, steps) in steps.enumerate() {
        for chord in moved_chords.get(copy).into_iter().flatten() {
            let onset = copies.end.checked_add(chord.onset.checked_since(stretch.start())?)?;
            copies.chords.push(ChordAt { onset, symbol: chord.symbol.clone() });
        }
        let octaves = copies.add(&source, near, |_, pitch, octaves| {
            moved(scale, pitch, steps)?.transposed(Interval::octaves(octaves))
        })?;
        near = Octaves::Near(octaves);
    }
    let (_, over) = copies.bars.split(copies.end)?;
    if over > Duration::ZERO {
        copies.put(Part::rest(meter.bar().checked_sub(over)?))?;
    }
    copies.made(line, casting, true)
}

/// The chords of a passage, the first one from its start on.
fn chords_in(line: &Line, stretch: Span) -> Vec<ChordAt> {
    let first = line.chord_at(stretch.start());
    let first = first.map(|symbol| ChordAt { onset: stretch.start(), symbol: symbol.clone() });
    let inside = |chord: &&ChordAt| chord.onset > stretch.start() && stretch.contains(chord.onset);
    first.into_iter().chain(line.chords().iter().filter(inside).cloned()).collect()
}

/// The chords a number of steps further through a scale, if all of them belong to it.
fn chords_moved(chords: &[ChordAt], scale: Scale, steps: i32) -> Option<Vec<ChordAt>> {
    let moved =
        |chord: &ChordAt| Some(ChordAt { symbol: diatonic::moved(&chord.symbol, scale, steps)?, ..*chord });
    chords.iter().map(moved).collect()
}

fn moved(scale: Scale, pitch: Pitch, steps: i32) -> Option<Pitch> {
    let tone = scale.place(pitch);
    match steps {
        // As it was written.
        0 => Some(pitch),
        _ => scale.pitch(Tone { index: tone.index + steps, ..tone }),
    }
}

/// How each note of a passage is played if it stays in a region: without open strings if possible.
fn played_on(line: &Line, stretch: Span, region: Region) -> Result<Vec<Option<Fretting>>> {
    let played = |frets: Option<(Fret, Fret)>| {
        let strings = region.strings.map(Constraint::Strings);
        let wants = strings.into_iter().chain(frets.map(|(low, high)| Constraint::Frets(low, high)));
        let more = wants.map(|want| ConstraintSpan { span: stretch, want });
        let holds = line.constraints().iter().copied().chain(more).collect();
        hand::fret(&line.clone().with_constraints(holds), None)
    };
    let closed = Some((Fret(1), region.up_to)).filter(|(low, high)| low <= high);
    let plan = played(closed).or_else(|_| played(Some((Fret(0), region.up_to)))).or_else(|_| played(None))?;
    let notes = line.events().iter().filter(|event| event.pitch.is_some() && stretch.contains(event.onset));
    Ok(notes.map(|note| plan.of(note.id)).collect())
}

/// The notes and rests of a passage, and the windows in it.
fn source(line: &Line, casting: &Casting, stretch: Span, played: &[Option<Fretting>]) -> Result<Source> {
    for edge in [stretch.start(), stretch.end()] {
        whole_at(line, edge)?;
    }
    let mut played = played.iter().copied();
    let (mut parts, mut strings, mut open) = (Vec::new(), Vec::new(), Vec::new());
    for event in line.events() {
        let span = event.span()?;
        if !span.overlaps(stretch) {
            continue;
        }
        // A rest may reach past the edges.
        let inside = Span::new(span.start().max(stretch.start()), span.end().min(stretch.end()));
        let length = inside.map_or(Ok(Duration::ZERO), Span::length)?;
        let fretting = event.pitch.and_then(|_| played.next().flatten());
        open.extend(fretting.filter(|fretting| fretting.fret.0 == 0).map(|_| parts.len()));
        strings.push(fretting.map(|fretting| fretting.string));
        parts.push(event.lasting(length));
    }
    let fixed = Fixed::of(line, stretch, &parts);
    let picking = holds_in(line, stretch).filter(|hold| is_picking(hold.want)).collect();
    for (part, string) in parts.iter_mut().zip(strings) {
        part.pin = Pin { string, stroke: part.pin.stroke, ..Pin::default() };
    }
    // Connected notes that are on different strings, for lack of anything better, may find a common one
    // elsewhere, and an open one will do.
    let mut first = 0;
    for joined in parts.chunk_by_mut(|part, _| part.legato.is_some()) {
        if joined.windows(2).any(|pair| pair[0].pin.string != pair[1].pin.string) {
            joined.iter_mut().for_each(|part| part.pin.string = None);
            open.extend(first..first + joined.len());
        }
        first += joined.len();
    }
    if let Some(last) = parts.last_mut() {
        // What it connects to stays behind.
        last.legato = None;
    }
    if parts.iter().all(|part| part.pitch.is_none()) {
        return Err(DrillError::Silent { place: line.bars().place(stretch.start())? });
    }
    let mut windows = Vec::new();
    for window in casting.windows() {
        let span = Span::starting(window.start, window.figure.span())?;
        if !span.overlaps(stretch) {
            continue;
        }
        if span.start() < stretch.start() || span.end() > stretch.end() {
            let (place, why) = (line.bars().place(window.start)?, Refusal::Cut);
            return Err(RecastError::Window { place, why }.into());
        }
        windows.push(window.clone());
    }
    Ok(Source { start: stretch.start(), parts, fixed, picking, open, windows })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::neck::StringNo;
    use crate::{Error, Piece, read, write};

    /// The music, and the remarks about octaves, new spellings and windows left plain.
    fn moved(
        text: &str,
        from: Onset,
        to: Onset,
        scale: &str,
        steps: i8,
    ) -> crate::Result<(String, [usize; 3])> {
        let reading = read::text(text);
        let line = reading.line.unwrap();
        let stretch = Span::new(from, to).unwrap();
        let shape = Shape { stretch, scale: scale.parse()?, steps, region: Region::default() };
        let made = sequence(&line, &reading.casting, &shape)?;
        let text = write::text::line(&made.line, &made.casting)?;
        // Strings are tested elsewhere.
        let music = text.split_once("\n\n").unwrap().1.trim_end().replace('\n', " ");
        let words = music.split(' ').map(|word| word.split('^').next().unwrap());
        let music = words.collect::<Vec<_>>().join(" ");
        Ok((music, [made.folded.len(), made.respelled.len(), made.plain.len()]))
    }

    #[test]
    fn up_and_down() {
        let line = "C4 E D C G:2 |";
        let moved = |scale, steps| moved(line, Onset::ZERO, Onset::at(2, 1), scale, steps).unwrap();
        assert_eq!(moved("C major", 2).0, "C4 E D C  D F E D | E G F E  r:2 |");
        assert_eq!(moved("C major", -1).0, "C4 E D C  B D C B |");
        assert_eq!(moved("C major", 0).0, "C4 E D C  r:2 |");
        // D isn't a tone of the scale. It belongs to E flat, a half step below it.
        assert_eq!(moved("C minor pentatonic", 1).0, "C4 E D C  Eb F# E Eb |");
    }

    #[test]
    fn chords_of_the_scale_move_along() {
        let moved = |line, scale| moved(line, Onset::ZERO, Onset::at(2, 1), scale, 2).unwrap().0;
        assert_eq!(
            moved("@Fm7 F3 Ab C4 Eb  D:2 |", "Eb major"),
            "@Fm7 F3 Ab C Eb  @Gm7 G3 Bb D F | @Abmaj7 Ab3 C Eb G  r:2 |"
        );
        assert_eq!(
            moved("@Cmaj7 C4 E @G7 D B3 C4:2 |", "C major"),
            "@Cmaj7 C4 E @G7 D B  @Dm7 D F @Am7 E C | @Em7 E G @Bm7b5 F D  r:2 |"
        );
        // F7 is no chord of E flat major, so the copies have none.
        assert_eq!(moved("@F7 F3 A C4 Eb  D:2 |", "Eb major").split_once(' ').unwrap().0, "F3");
    }

    #[test]
    fn joins_and_grace_notes_go_along() {
        let (music, _) = moved("(B3)C4_ D_s E F_ G:2 |", Onset::ZERO, Onset::at(2, 1), "C major", 1).unwrap();
        assert_eq!(music, "(B3)C_ D_s E F  (C)D_ E_s F G |");
    }

    #[test]
    fn beats_stay_beats() {
        let (music, _) = moved("r C4 D E F:2 |", Onset::at(1, 2), Onset::at(2, 1), "C major", 1).unwrap();
        assert_eq!(music, "r C4 D E  D E F r |");
        // A rest is cut where the passage is.
        let (music, _) = moved("r:3/2 C4 F:2 |", Onset::at(1, 1), Onset::at(2, 1), "C major", 3).unwrap();
        assert_eq!(music, "r C4 r D  r E r F |");
    }

    #[test]
    fn a_copy_is_folded_as_a_whole() {
        let (music, told) = moved("C6 D E5 F F:2 |", Onset::ZERO, Onset::at(2, 1), "C major", 1).unwrap();
        assert_eq!((music.as_str(), told), ("C6 D E5 F  D E F4 G |", [1, 0, 0]));
        let error = moved("E2 D6 D6:1 r:2 |", Onset::ZERO, Onset::at(1, 1), "C major", 1).unwrap_err();
        assert_eq!(
            error.to_string(),
            "bar 1 beat 2: the copy that starts here doesn't fit between E2 and D6 in any octave; the first note out of range is E6"
        );
    }

    #[test]
    fn a_copy_with_notes_on_any_string_stays_in_its_octave() {
        // The slur is longer than a string, so it may go anywhere: down to the open low string too, without an octave up.
        let slur = "neck: 16 frets, capo 2\nD4_ C3 r:3 |";
        let (music, told) = moved(slur, Onset::ZERO, Onset::at(1, 1), "Db melodic minor", -5).unwrap();
        let copies = "D4_ C3 Db4_ Bb2  B3_ Ab2 A3_ Gb2 | G4_ Fb3 F4_ Eb3  r:2 |";
        assert_eq!((music.as_str(), told), (copies, [2, 0, 0]));
    }

    #[test]
    fn windows_go_along_where_they_can() {
        let half = "recast: split-last at 1.1\nC4 D E F G:2 |";
        let (_, told) = moved(half, Onset::ZERO, Onset::at(2, 1), "C major", 3).unwrap();
        assert_eq!(told, [0, 0, 0]);
        // After five eighths, one bracket would hide the bar line or the middle.
        let five = "recast: split-last at 1.1\nC4 D E F G:1/2 r:3/2 |";
        let (_, told) = moved(five, Onset::ZERO, Onset::at(5, 2), "C major", 3).unwrap();
        assert_eq!(told, [0, 3, 0]);
        // No window starts between two eighths.
        let nine = "recast: split-last at 1.1\nC4 D E F G:1/4 r:7/4 |";
        let (_, told) = moved(nine, Onset::ZERO, Onset::at(9, 4), "C major", 2).unwrap();
        assert_eq!(told, [0, 1, 1]);
    }

    #[test]
    fn stretches_that_are_none() {
        let line = "recast: split-last at 1.1\nC4 D E F G:1 r:1 |";
        let moved = |from, to| moved(line, Onset::at(from, 2), Onset::at(to, 2), "C major", 1);
        let why = |from, to| match moved(from, to) {
            Err(Error::Drill(DrillError::Recast(RecastError::Window { why, .. }))) => why,
            other => panic!("{other:?}"),
        };
        assert!(matches!((why(2, 8), why(0, 3)), (Refusal::Cut, Refusal::Cut)));
        assert!(matches!((why(0, 5), why(0, 9)), (Refusal::Held { .. }, Refusal::End)));
        for (from, to) in [(6, 8), (6, 6)] {
            assert!(matches!(moved(from, to), Err(Error::Drill(DrillError::Silent { .. }))));
        }
    }

    #[test]
    fn a_shape_stays_on_its_strings() {
        let line = read::text("F3^4 A C4 E  r:2 |").line.unwrap();
        let stretch = Span::new(Onset::ZERO, Onset::at(2, 1)).unwrap();
        let made = |strings: &str, steps| {
            let region = Region { strings: Some(strings.parse().unwrap()), ..Region::default() };
            let shape = Shape { stretch, scale: "F major".parse().unwrap(), steps, region };
            sequence(&line, &Casting::default(), &shape)
        };
        let up = made("4-2", 7).unwrap();
        let strings = |copy: usize| {
            let notes = &up.line.events()[4 * copy..4 * copy + 4];
            notes.iter().map(|event| event.pin.string.map_or(0, |string| string.0)).collect::<Vec<_>>()
        };
        assert!((1..=7).all(|copy| strings(copy) == strings(0)), "{:?}", up.line.events());
        assert!(strings(0).iter().all(|string| (2..=4).contains(string)));
        // It climbs to the last frets, and then continues an octave lower.
        let far = made("4-2", 20).unwrap();
        assert!(!far.folded.is_empty());
        assert!(Piece::new(far.line, far.casting).is_ok());
        assert_eq!(made("1", 1).unwrap_err().code(), "pin");
    }

    /// A shape has the fingers that are set wherever it comes again; other copies have others.
    #[test]
    fn set_fingers_stay_with_the_shape() {
        let line = read::text("D4^2.3/2d E^2.5/4  r:3 |").line.unwrap();
        let stretch = Span::new(Onset::ZERO, Onset::at(1, 1)).unwrap();
        let shape = Shape { stretch, scale: "C major".parse().unwrap(), steps: 4, region: Region::default() };
        let made = sequence(&line, &Casting::default(), &shape).unwrap();
        let pins: Vec<String> = made
            .line
            .events()
            .iter()
            .filter(|event| event.pitch.is_some())
            .map(|event| event.pin.to_string())
            .collect();
        // Whole steps from D, F, G and A, a half step from E.
        assert_eq!(
            pins,
            ["2.3/2d", "2.5/4", "2d", "2", "2.6/2d", "2.8/4", "2.8/2d", "2.10/4", "2.10/2d", "2.12/4"]
        );
        assert!(made.unfixed.is_empty());
    }

    /// The little finger doesn't reach the third fret in any position, so copies there have other fingers, which the
    /// shape doesn't take over.
    #[test]
    fn set_fingers_stay_where_others_cannot_follow() {
        let line = read::text("E4^2.5/4 r:7/2 |").line.unwrap();
        let stretch = Span::new(Onset::ZERO, Onset::at(1, 2)).unwrap();
        let shape =
            Shape { stretch, scale: "C major".parse().unwrap(), steps: -2, region: Region::default() };
        let made = sequence(&line, &Casting::default(), &shape).unwrap();
        assert_eq!((made.line.events()[0].pin.to_string().as_str(), made.unfixed.len()), ("2.5/4", 2));
    }

    #[test]
    fn the_shape_that_is_meant() {
        let first = |text: &str| {
            let reading = read::text(text);
            let span = first_shape(&reading.line.unwrap(), &reading.casting).unwrap();
            (span.start().to_string(), span.end().to_string())
        };
        assert_eq!(first("C4 D E F G A B C |"), ("0".into(), "2".into()));
        assert_eq!(first("r:4 | r:2 C4 D E F |"), ("6".into(), "8".into()));
        assert_eq!(first("recast: split-last at 1.3\nC4 D E F G A B C |"), ("2".into(), "4".into()));
        assert_eq!(first("meter: 3/4\nC4 D E F G A |"), ("0".into(), "3".into()));
        assert_eq!(first("pickup: 1/2\nC4 | D:4 |"), ("0".into(), "1/2".into()));
        assert_eq!(first("r:4 |"), ("0".into(), "2".into()));
    }

    #[test]
    fn a_shape_is_the_one_that_the_line_plays() {
        let strings = |line: &Line, strings: Option<&str>, steps| {
            let stretch = Span::new(Onset::ZERO, Onset::at(1, 1)).unwrap();
            let scale = "C major".parse().unwrap();
            let strings = strings.map(|strings| strings.parse().unwrap());
            let shape = Shape { stretch, scale, steps, region: Region { strings, ..Region::default() } };
            sequence(line, &Casting::default(), &shape).unwrap()
        };
        // What is fixed for the line holds for its shape.
        let line = read::text("hand: string 4 at 1.1 to 1.2\nC4 E r:3 |").line.unwrap();
        let made = strings(&line, None, 1);
        let pinned =
            made.line.events().iter().filter(|event| event.pitch.is_some()).map(|event| event.pin.string);
        assert!(pinned.flatten().all(|string| string == StringNo(4)), "{:?}", made.line.events());
        // An octave on one string of twelve frets can't continue there, only on the shape's strings.
        let line = read::text("neck: 12 frets\nA2^5.0 A3^5.12 r:3 |").line.unwrap();
        let made = strings(&line, Some("5-4"), 1);
        let held: Vec<String> = made.line.constraints().iter().map(|hold| hold.want.to_string()).collect();
        assert_eq!((held, made.folded.len()), (vec!["strings 5-4".to_string()], 0));
        let piece = Piece::new(made.line, made.casting).unwrap();
        let played =
            piece.fingering().notes().iter().map(|&note| piece.fingering().of(note).unwrap().string.0);
        assert_eq!(played.collect::<Vec<_>>(), [5, 5, 5, 4]);
    }
}
