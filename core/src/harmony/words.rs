//! Names in words.

use std::fmt;

use crate::chord::{ChordSymbol, Degree, Quality};
use crate::names;
use crate::pitch::PitchName;
use crate::scale::Scale;

use super::name::{Direction, Kind, Landing, Name, Position, Target};

/// With the signs of a printed page: a `b` is a flat before a number.
fn printed(text: &str) -> String {
    let sign = |(at, letter): (usize, char)| match letter {
        '#' => '♯',
        'b' if text[at..].trim_start_matches('b').starts_with(|next: char| next.is_ascii_digit()) => '♭',
        letter => letter,
    };
    text.char_indices().map(sign).collect()
}

fn root(name: PitchName) -> String {
    let text = name.to_string();
    let (letter, signs) = text.split_at(1);
    format!("{letter}{}", signs.replace('b', "♭").replace('#', "♯"))
}

fn chord(name: PitchName, quality: Quality) -> String {
    root(name) + &printed(&quality.to_string())
}

/// A chord symbol with the signs of a printed page: `B♭7/D`.
pub(crate) fn symbol(symbol: &ChordSymbol) -> String {
    let Some(chord) = symbol.chord() else { return symbol.to_string() };
    let bass = chord.bass().map_or(String::new(), |bass| format!("/{}", root(bass)));
    root(chord.root()) + &printed(chord.suffix()) + &bass
}

fn degree(degree: Degree) -> String {
    printed(&degree.to_string())
}

/// "1st", "2nd", and so on.
fn ordinal(number: u8) -> String {
    let ending = match number {
        1 => "st",
        2 => "nd",
        3 => "rd",
        _ => "th",
    };
    format!("{number}{ending}")
}

/// How what names are made of is put in words.
struct Wording {
    root: fn(PitchName) -> String,
    chord: fn(PitchName, Quality) -> String,
    degree: fn(Degree) -> String,
    /// The name of a kind of scale, which may have degrees in it.
    kind: fn(&str) -> String,
}

/// With the signs of a printed page: `E♭m7♭5`.
const PRINTED: Wording = Wording { root, chord, degree, kind: printed };

/// As it is read aloud: `E flat minor 7 flat 5`.
const SPOKEN: Wording =
    Wording { root: names::name, chord: spoken_chord, degree: spoken_degree, kind: spoken_kind };

fn spoken_chord(root: PitchName, quality: Quality) -> String {
    let symbol = format!("{root}{quality}").parse();
    symbol.map_or_else(|_| chord(root, quality), |symbol| names::chord(&symbol))
}

fn spoken_degree(degree: Degree) -> String {
    format!("{} {}", names::alter(degree.alter()), degree.number()).trim_start().into()
}

fn spoken_kind(kind: &str) -> String {
    let words = kind.split(' ').map(|word| {
        let number = word.trim_start_matches(['b', '#']);
        match word.strip_suffix(number).filter(|_| number.starts_with(|first: char| first.is_ascii_digit())) {
            Some("b") => format!("flat {number}"),
            Some("bb") => format!("double flat {number}"),
            Some("#") => format!("sharp {number}"),
            _ => word.into(),
        }
    });
    words.collect::<Vec<_>>().join(" ")
}

impl Wording {
    fn scale(&self, scale: Scale) -> String {
        format!("{} {}", (self.root)(scale.tonic()), (self.kind)(scale.kind().name()))
    }

    /// "root", "♭3rd", "5th".
    fn member(&self, of: Degree) -> String {
        let number = of.number().to_string();
        let text = (self.degree)(of);
        match of {
            Degree::One => "root".into(),
            _ => text.trim_end_matches(&number).to_string() + &ordinal(of.number()),
        }
    }

    fn target(&self, target: Target) -> String {
        target.degree.map_or("the next note".into(), |found| format!("the {}", (self.degree)(found)))
    }
}

impl Position {
    pub(crate) fn says(self) -> &'static str {
        match self {
            Position::Shell => "shell",
            Position::DropTwo => "drop two",
            Position::DropThree => "drop three",
            Position::DropTwoAndFour => "drop two and four",
            Position::Spread => "spread triad",
        }
    }
}

impl Landing {
    fn said(&self, wording: &Wording) -> String {
        let step = match self.half_steps.abs() {
            0 => "the same note",
            1 => "a half step",
            _ => "a whole step",
        };
        format!("lands {} to {}, {step}", (wording.degree)(self.from), (wording.degree)(self.to))
    }

    /// What is written at its note: `3`.
    pub(super) fn short(&self) -> String {
        degree(self.to)
    }

    /// As it is read aloud: `lands flat 7 to 3, a half step`.
    pub fn spoken(&self) -> String {
        self.said(&SPOKEN)
    }
}

impl fmt::Display for Landing {
    /// `lands ♭7 to 3, a half step`
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.said(&PRINTED))
    }
}

impl Name {
    fn said(&self, wording: &Wording) -> String {
        let way = match self.direction {
            Direction::Mixed => String::new(),
            way => format!(", {}", way.name()),
        };
        let chord = |root: &PitchName, quality: &Quality| (wording.chord)(*root, *quality);
        match &self.kind {
            Kind::Arpeggio { root, quality, inversion, from, folded, broken } => {
                let position = match inversion {
                    Some(0) => "root position".into(),
                    Some(number) => format!("{} inversion", ordinal(*number)),
                    None => format!("from the {}", wording.member(*from)),
                };
                let folded = if *folded { ", folded" } else { "" };
                let way = if *broken { ", broken" } else { &way };
                format!("{} arpeggio, {position}{folded}{way}", chord(root, quality))
            }
            Kind::Voicing { root, quality, position: Position::Shell, degrees } => {
                let degrees: Vec<String> = degrees.iter().map(|one| one.number().to_string()).collect();
                format!("{} shell, {}", chord(root, quality), degrees.join(" "))
            }
            Kind::Voicing { root, quality, position, degrees } => {
                let lowest = if self.direction == Direction::Down { degrees.last() } else { degrees.first() };
                let lowest =
                    lowest.map_or_else(String::new, |lowest| format!(", {} lowest", wording.member(*lowest)));
                format!("{} {}{lowest}{way}", chord(root, quality), position.says())
            }
            Kind::Pentatonic { scale, groups, skips } => {
                let skips = if *skips { ", skipping" } else { "" };
                let way = if groups.is_some() { "" } else { &way };
                format!("{}{}{skips}{way}", wording.scale(*scale), in_groups(*groups))
            }
            Kind::Pattern { scale, cell, .. } => {
                format!("{} through {}{way}", what_moves(cell), wording.scale(*scale))
            }
            Kind::Run { scale, passing } => {
                let passing = if *passing { ", with a passing half step" } else { "" };
                format!("{}{way}{passing}", wording.scale(*scale))
            }
            Kind::Chromatic { target: Some(to) } => format!("half steps into {}", wording.target(*to)),
            Kind::Chromatic { target: None } => format!("chromatic run{way}"),
            Kind::Approach { target: to } => format!("approach to {}", wording.target(*to)),
            Kind::Enclosure { target: to } => format!("enclosure of {}", wording.target(*to)),
            Kind::Neighbor => "neighbor note".into(),
            Kind::Landing(landing) => landing.said(wording),
            Kind::Loose => "no name".into(),
        }
    }

    /// As it is read aloud: `E flat minor 7 arpeggio, root position, up`.
    pub fn spoken(&self) -> String {
        self.said(&SPOKEN)
    }

    /// What is written on its bracket, from the fullest form to the shortest.
    pub(super) fn short(&self) -> Vec<String> {
        let to =
            |target: Target| target.degree.map_or_else(String::new, |found| format!(" {}", degree(found)));
        let scale = |scale: Scale| PRINTED.scale(scale).replace("pentatonic", "pent.");
        let forms = match &self.kind {
            Kind::Arpeggio { root, quality, inversion: Some(0), .. } => vec![chord(*root, *quality)],
            Kind::Arpeggio { root, quality, inversion, from, .. } => {
                let chord = chord(*root, *quality);
                let position = match inversion {
                    Some(number) => format!("{} inv.", ordinal(*number)),
                    None => format!("from the {}", PRINTED.member(*from)),
                };
                vec![format!("{chord}, {position}"), chord]
            }
            Kind::Voicing { root, quality, position, .. } => {
                let chord = chord(*root, *quality);
                vec![format!("{chord} {}", position.says()), chord]
            }
            Kind::Pentatonic { scale: own, groups, .. } => {
                vec![format!("{}{}", scale(*own), in_groups(*groups)), scale(*own)]
            }
            Kind::Pattern { scale: own, cell, .. } => {
                vec![format!("{} through {}", what_moves(cell), scale(*own)), what_moves(cell)]
            }
            Kind::Run { scale: own, .. } => vec![scale(*own)],
            Kind::Chromatic { target: Some(target) } if target.degree.is_some() => {
                vec![format!("half steps to{}", to(*target)), format!("to{}", to(*target))]
            }
            Kind::Chromatic { .. } => vec!["half steps".into()],
            Kind::Approach { target } => vec![format!("appr.{}", to(*target))],
            Kind::Enclosure { target } => vec![format!("encl.{}", to(*target))],
            Kind::Neighbor => vec!["neighbor".into()],
            Kind::Landing(landing) => vec![landing.short()],
            Kind::Loose => Vec::new(),
        };
        shortened(forms)
    }
}

fn in_groups(groups: Option<u8>) -> &'static str {
    match groups {
        None => "",
        Some(2) => " in pairs",
        Some(3) => " in threes",
        Some(_) => " in fours",
    }
}

/// What a cell of a pattern is, by its steps.
fn what_moves(cell: &[i8]) -> String {
    match cell {
        [2, 2] | [-2, -2] => "triads".into(),
        [2, 2, 2] | [-2, -2, -2] => "sevenths".into(),
        [2] | [-2] => "thirds".into(),
        [3] | [-3] => "fourths".into(),
        cell => format!("pattern of {}", cell.len() + 1),
    }
}

/// The shortest of some forms in abbreviated words, after them (common practice, no source).
fn shortened(mut forms: Vec<String>) -> Vec<String> {
    const SHORT: [(&str, &str); 11] = [
        ("mixolydian", "mixo."),
        ("phrygian", "phryg."),
        ("locrian", "locr."),
        ("diminished", "dim."),
        ("augmented", "aug."),
        ("dominant", "dom."),
        ("harmonic", "harm."),
        ("melodic", "mel."),
        ("natural minor", "minor"),
        ("natural", "nat."),
        ("neighbor", "nb."),
    ];
    if let Some(shortest) = forms.last() {
        let abbreviated =
            SHORT.iter().fold(shortest.clone(), |text, (long, short)| text.replace(long, short));
        if abbreviated != *shortest {
            forms.push(abbreviated);
        }
    }
    forms
}

impl fmt::Display for Name {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.said(&PRINTED))
    }
}

/// What is written on the bracket of a passage that somebody calls something, from the fullest form to the shortest: all of it, or the beginning.
pub(super) fn called(words: &str) -> Vec<String> {
    let beginning = words.split(',').next().unwrap_or(words).trim();
    let short = beginning.trim_end_matches(" arpeggio").replace("pentatonic", "pent.");
    let mut forms = vec![words.to_string(), beginning.to_string(), short];
    forms.dedup();
    forms
}
