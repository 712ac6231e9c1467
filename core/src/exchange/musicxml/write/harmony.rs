//! Chord symbols: a kind that other programs know, and how the chord differs from it.
//!
//! The kinds and their degrees are those of MusicXML 4.0, data type kind-value. How alterations count is from its pages on the elements `degree`
//! and `degree-alter`: an altered degree counts from the one that the kind has, and an added one from a dominant chord's, so that its seventh
//! is minor already.

use crate::chord::{Chord, ChordSymbol, Degree, Quality};
use crate::pitch::PitchName;

use super::xml::Xml;

/// The kinds that are used, with their degrees above the root. Of several that fit equally well, the first one is taken.
const KINDS: [(&str, &[Degree]); 25] = {
    use Degree::*;
    [
        ("major", &[Three, Five]),
        ("minor", &[FlatThree, Five]),
        ("diminished", &[FlatThree, FlatFive]),
        ("augmented", &[Three, SharpFive]),
        ("suspended-second", &[Two, Five]),
        ("suspended-fourth", &[Four, Five]),
        ("power", &[Five]),
        ("major-sixth", &[Three, Five, Six]),
        ("minor-sixth", &[FlatThree, Five, Six]),
        ("dominant", &[Three, Five, FlatSeven]),
        ("major-seventh", &[Three, Five, Seven]),
        ("minor-seventh", &[FlatThree, Five, FlatSeven]),
        ("major-minor", &[FlatThree, Five, Seven]),
        ("half-diminished", &[FlatThree, FlatFive, FlatSeven]),
        ("diminished-seventh", &[FlatThree, FlatFive, DoubleFlatSeven]),
        ("augmented-seventh", &[Three, SharpFive, FlatSeven]),
        ("dominant-ninth", &[Three, Five, FlatSeven, Nine]),
        ("major-ninth", &[Three, Five, Seven, Nine]),
        ("minor-ninth", &[FlatThree, Five, FlatSeven, Nine]),
        ("dominant-11th", &[Three, Five, FlatSeven, Nine, Eleven]),
        ("major-11th", &[Three, Five, Seven, Nine, Eleven]),
        ("minor-11th", &[FlatThree, Five, FlatSeven, Nine, Eleven]),
        ("dominant-13th", &[Three, Five, FlatSeven, Nine, Eleven, Thirteen]),
        ("major-13th", &[Three, Five, Seven, Nine, Eleven, Thirteen]),
        ("minor-13th", &[FlatThree, Five, FlatSeven, Nine, Eleven, Thirteen]),
    ]
};

/// One way in which a chord differs from its kind.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
struct Difference {
    how: How,
    number: u8,
    half_steps: i8,
}

#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum How {
    Alter,
    Subtract,
    Add,
}

impl How {
    fn name(self) -> &'static str {
        match self {
            How::Alter => "alter",
            How::Subtract => "subtract",
            How::Add => "add",
        }
    }
}

/// Writes a chord symbol on the upper of several staves.
pub(super) fn harmony(xml: &mut Xml, symbol: &ChordSymbol, staff: Option<&str>) {
    xml.within("harmony", &[], |xml| {
        match symbol {
            // The schema asks for a root even here.
            ChordSymbol::NoChord => {
                xml.within("root", &[], |xml| xml.text("root-step", &[("text", "")], "C"));
                xml.text("kind", &[("text", "N.C.")], "none");
            }
            ChordSymbol::Chord(chord) => sounding(xml, chord),
        }
        if let Some(staff) = staff {
            xml.value("staff", staff);
        }
    });
}

fn sounding(xml: &mut Xml, chord: &Chord) {
    name(xml, "root", chord.root());
    let (kind, differences) = match chord.quality() {
        Ok(quality) => kind(quality),
        Err(_) => ("other", Vec::new()),
    };
    xml.text("kind", &[("text", chord.suffix())], kind);
    if let Some(bass) = chord.bass() {
        name(xml, "bass", bass);
    }
    for Difference { how, number, half_steps } in differences {
        // The text of the kind says it already.
        xml.within("degree", &[("print-object", "no")], |xml| {
            xml.value("degree-value", number);
            xml.value("degree-alter", half_steps);
            xml.value("degree-type", how.name());
        });
    }
}

fn name(xml: &mut Xml, element: &str, name: PitchName) {
    xml.within(element, &[], |xml| {
        xml.value(&format!("{element}-step"), name.letter.as_char());
        if name.alter.half_steps() != 0 {
            xml.value(&format!("{element}-alter"), name.alter.half_steps());
        }
    });
}

/// The kind that fits best, and what remains.
fn kind(quality: Quality) -> (&'static str, Vec<Difference>) {
    let fits = KINDS.iter().map(|&(kind, degrees)| (kind, differences(quality, degrees)));
    fits.min_by_key(|(_, differences)| misfit(differences)).unwrap_or(("other", Vec::new()))
}

/// How badly a kind fits. A sixth or seventh is part of the kind: readers disagree about one that is added. That a 13 has no 11 is usual.
fn misfit(differences: &[Difference]) -> u32 {
    let each = differences.iter().map(|difference| match (difference.how, difference.number) {
        (How::Subtract, 11) => 1,
        (How::Add | How::Subtract | How::Alter, 6 | 7) => 20,
        _ => 2,
    });
    each.sum()
}

/// What a kind with these degrees lacks, and what it has too much.
fn differences(quality: Quality, kind: &[Degree]) -> Vec<Difference> {
    let mut left: Vec<Degree> =
        quality.degrees().filter(|degree| *degree != Degree::One && !kind.contains(degree)).collect();
    let mut differences = Vec::new();
    for &degree in kind.iter().filter(|degree| !quality.has(**degree)) {
        let (number, half_steps) = (degree.number(), degree.alter().half_steps());
        differences.push(match left.iter().position(|other| other.number() == number) {
            Some(index) => {
                let half_steps = left.remove(index).alter().half_steps() - half_steps;
                Difference { how: How::Alter, number, half_steps }
            }
            None => Difference { how: How::Subtract, number, half_steps: 0 },
        });
    }
    for degree in left {
        let (number, half_steps) = match degree {
            // A kind has one fifth. The other one sounds as this.
            Degree::SharpFive => (13, -1),
            degree if degree.number() == 7 => (7, degree.alter().half_steps() + 1),
            degree => (degree.number(), degree.alter().half_steps()),
        };
        differences.push(Difference { how: How::Add, number, half_steps });
    }
    differences
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(quality: &str) -> String {
        let (kind, differences) = kind(quality.parse().unwrap());
        let said = differences
            .iter()
            .map(|Difference { how, number, half_steps }| format!(" {} {number} {half_steps:+}", how.name()));
        format!("{kind}{}", said.collect::<String>())
    }

    /// The kinds: MusicXML 4.0, data type kind-value. Which one a symbol has is common practice, no source.
    #[test]
    fn kinds_and_differences() {
        for (quality, expected) in [
            ("", "major"),
            ("m7b5", "half-diminished"),
            ("m(maj7)", "major-minor"),
            ("6", "major-sixth"),
            ("69", "major-sixth add 9 +0"),
            ("(add9)", "major add 9 +0"),
            ("7b9", "dominant add 9 -1"),
            ("7sus4", "dominant subtract 3 +0 add 4 +0"),
            ("13sus4", "dominant-13th subtract 3 +0 subtract 11 +0 add 4 +0"),
            ("13", "dominant-13th subtract 11 +0"),
            ("m13", "minor-13th"),
            ("13b9", "dominant-13th alter 9 -1 subtract 11 +0"),
            ("9#11", "dominant-ninth add 11 +1"),
            ("maj7#5", "major-seventh alter 5 +1"),
            ("7alt", "dominant alter 5 -1 add 9 -1 add 9 +1 add 13 -1"),
            ("7b5#5", "augmented-seventh add 5 -1"),
            ("7(no5)", "dominant subtract 5 +0"),
        ] {
            assert_eq!(said(quality), expected, "{quality}");
        }
    }
}
