//! A `harmony` element -> a chord symbol.

use roxmltree::Node;

use crate::chord::{Chord, ChordSymbol, Degree, Quality};
use crate::pitch::{Alter, Interval, Letter, PitchName};

use super::tree::{child, children, number_of, text, text_of, whole_of};

/// The degrees of each kind (MusicXML 4.0, data type kind-value). A major 13 has no 11 (common practice, no source).
const KINDS: [(&str, &str); 26] = [
    ("major", "3 5"),
    ("minor", "b3 5"),
    ("augmented", "3 #5"),
    ("diminished", "b3 b5"),
    ("dominant", "3 5 b7"),
    ("major-seventh", "3 5 7"),
    ("minor-seventh", "b3 5 b7"),
    ("diminished-seventh", "b3 b5 bb7"),
    ("augmented-seventh", "3 #5 b7"),
    ("half-diminished", "b3 b5 b7"),
    ("major-minor", "b3 5 7"),
    ("major-sixth", "3 5 6"),
    ("minor-sixth", "b3 5 6"),
    ("dominant-ninth", "3 5 b7 9"),
    ("major-ninth", "3 5 7 9"),
    ("minor-ninth", "b3 5 b7 9"),
    ("dominant-11th", "3 5 b7 9 11"),
    ("major-11th", "3 5 7 9 11"),
    ("minor-11th", "b3 5 b7 9 11"),
    ("dominant-13th", "3 5 b7 9 13"),
    ("major-13th", "3 5 7 9 13"),
    ("minor-13th", "b3 5 b7 9 11 13"),
    ("suspended-second", "2 5"),
    ("suspended-fourth", "4 5"),
    ("power", "5"),
    ("other", ""),
];

/// One `degree` element.
struct Change {
    number: u8,
    alter: i8,
    kind: Kind,
    is_shown: bool,
}

enum Kind {
    Add,
    Alter,
    Subtract,
}

/// The chord symbol of a `harmony`, this much higher; `None` if a line can't have it.
pub(super) fn symbol(harmony: Node<'_, '_>, higher: Interval) -> Option<ChordSymbol> {
    let kind = child(harmony, "kind")?;
    if text(kind) == "none" {
        return Some(ChordSymbol::NoChord);
    }
    let root = name(child(harmony, "root")?, "root")?;
    let bass = child(harmony, "bass").and_then(|bass| name(bass, "bass"));
    let changes: Vec<Change> = children(harmony, "degree").filter_map(change).collect();
    let shown = kind.attribute("text").unwrap_or_default().trim();
    let as_shown = || as_shown(root, shown, bass).filter(|_| !changes.iter().any(|change| change.is_shown));
    let by_kind = || {
        let quality = quality(text(kind), shown, &changes)?;
        Some(ChordSymbol::Chord(Chord::new(root, quality, bass)))
    };
    let as_written = || format!("{root}{shown}").parse().ok().filter(|_| !shown.is_empty());
    as_shown().or_else(by_kind).or_else(as_written).map(|symbol| symbol.transposed(higher))
}

/// The symbol that the file shows, if it can be read.
fn as_shown(root: PitchName, shown: &str, bass: Option<PitchName>) -> Option<ChordSymbol> {
    if shown.is_empty() {
        return None;
    }
    // After a root, `b5` could be the root's own flat.
    let suffix = if shown.starts_with(['b', '#']) { format!("({shown})") } else { shown.to_string() };
    let symbol: ChordSymbol = format!("{root}{suffix}").parse().ok()?;
    let chord = symbol.chord()?;
    (chord.root() == root && chord.bass().is_none() && chord.quality().is_ok()).then(|| symbol.over(bass))
}

/// The root or bass: a step and how it is altered.
fn name(node: Node<'_, '_>, what: &str) -> Option<PitchName> {
    let step = text_of(node, &format!("{what}-step"));
    let mut letters = step.chars();
    let letter = Letter::from_char(letters.next()?)?;
    let alter = altered(node, &format!("{what}-alter"))?;
    Some(PitchName { letter, alter })
}

/// How much something is altered; not at all if nothing is said.
fn altered(node: Node<'_, '_>, name: &str) -> Option<Alter> {
    match child(node, name) {
        Some(_) => Alter::new(i8::try_from(whole_of(node, name)?).ok()?),
        None => Some(Alter::NATURAL),
    }
}

fn change(node: Node<'_, '_>) -> Option<Change> {
    let kind = match text_of(node, "degree-type") {
        "add" => Kind::Add,
        "alter" => Kind::Alter,
        "subtract" => Kind::Subtract,
        _ => return None,
    };
    let alter = altered(node, "degree-alter")?.half_steps();
    let is_shown = node.attribute("print-object") != Some("no");
    Some(Change { number: number_of(node, "degree-value")?, alter, kind, is_shown })
}

/// The quality of a kind with its changes. Changes that don't go with the kind are left out.
fn quality(kind: &str, shown: &str, changes: &[Change]) -> Option<Quality> {
    let (_, degrees) = KINDS.iter().find(|(name, _)| *name == kind)?;
    let mut degrees: Vec<Degree> = match kind {
        "other" => shown.parse::<Quality>().ok().into_iter().flat_map(Quality::degrees).collect(),
        _ => degrees.split_whitespace().filter_map(|degree| degree.parse().ok()).collect(),
    };
    let plain = degrees.clone();
    for Change { number, alter, kind, .. } in changes {
        let has = degrees.iter().position(|degree| degree.number() == *number && plain.contains(degree));
        match (kind, has) {
            (Kind::Subtract, Some(index)) => drop(degrees.remove(index)),
            (Kind::Alter, Some(index)) => {
                let from = degrees.remove(index).alter().half_steps();
                degrees.extend(Alter::new(from + alter).and_then(|alter| Degree::new(alter, *number)));
            }
            (Kind::Add | Kind::Alter, _) => degrees.extend(added(*number, *alter, &degrees)),
            (Kind::Subtract, None) => {}
        }
    }
    degrees.sort_unstable();
    degrees.dedup();
    Quality::new(degrees).or_else(|_| Quality::new(plain)).ok()
}

/// An added degree. Its alteration counts from a dominant chord, whose seventh is minor (MusicXML 4.0, element degree-alter).
fn added(number: u8, alter: i8, degrees: &[Degree]) -> Option<Degree> {
    let has_third = degrees.iter().any(|degree| degree.number() == 3);
    let has_seventh = degrees.iter().any(|degree| degree.number() == 7);
    let (number, alter) = match (number, alter) {
        (7, alter) => (7, alter - 1),
        (2, alter) if has_third => (9, alter),
        (4, alter) if has_third => (11, alter),
        (6, alter) if has_seventh => (13, alter),
        (13, 0) if !has_seventh => (6, 0),
        other => other,
    };
    Degree::new(Alter::new(alter)?, number)
}

#[cfg(test)]
mod tests {
    use roxmltree::Document;

    use super::*;

    fn read(kind: &str, degrees: &[(&str, &str, &str)]) -> Option<String> {
        let mut xml =
            format!("<harmony><root><root-step>B</root-step><root-alter>-1</root-alter></root>{kind}");
        for (value, alter, kind) in degrees {
            xml += &format!(
                "<degree><degree-value>{value}</degree-value><degree-alter>{alter}</degree-alter><degree-type>{kind}</degree-type></degree>"
            );
        }
        let document = Document::parse(&format!("{xml}</harmony>")).map(|document| {
            symbol(document.root_element(), Interval::default()).map(|symbol| symbol.to_string())
        });
        document.unwrap()
    }

    #[test]
    fn kinds_with_degrees() {
        let expected = |kind: &str, degrees: &[(&str, &str, &str)]| {
            read(&format!("<kind>{kind}</kind>"), degrees).unwrap()
        };
        assert_eq!(expected("major", &[]), "Bb");
        assert_eq!(expected("half-diminished", &[]), "Bbm7b5");
        assert_eq!(expected("dominant", &[("9", "-1", "add")]), "Bb7b9");
        assert_eq!(expected("dominant", &[("3", "0", "subtract"), ("4", "0", "add")]), "Bb7sus4");
        assert_eq!(expected("suspended-fourth", &[("7", "0", "add")]), "Bb7sus4");
        assert_eq!(expected("major", &[("2", "0", "add")]), "Bb(add9)");
        let alt = [("5", "1", "alter"), ("9", "-1", "add"), ("9", "1", "add"), ("11", "1", "add")];
        let read: ChordSymbol = expected("dominant", &alt).parse().unwrap();
        assert!(read.chord().unwrap().quality().is_ok());
        assert_eq!(expected("none", &[]), "NC");
    }

    #[test]
    fn what_is_shown_counts_if_it_can_be_read() {
        assert_eq!(read("<kind text='-7'>minor-seventh</kind>", &[]).unwrap(), "Bb-7");
        assert_eq!(read("<kind text=''>dominant</kind>", &[]).unwrap(), "Bb7");
        assert_eq!(read("<kind text='what?'>dominant</kind>", &[]).unwrap(), "Bb7");
        assert_eq!(read("<kind text='7'>dominant</kind>", &[("9", "1", "add")]).unwrap(), "Bb7#9");
        assert_eq!(read("<kind>Neapolitan</kind>", &[]), None);
    }

    #[test]
    fn all_kinds_are_chords() {
        for (kind, _) in KINDS.iter().filter(|(kind, _)| *kind != "other") {
            assert!(quality(kind, "", &[]).is_some(), "{kind}");
        }
    }
}
