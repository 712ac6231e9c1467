//! Names in words.

use std::fmt;

use crate::chord::{Degree, Quality};
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

fn degree(degree: Degree) -> String {
    printed(&degree.to_string())
}

fn scale(scale: Scale) -> String {
    format!("{} {}", root(scale.tonic()), printed(scale.kind().name()))
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

/// "root", "♭3rd", "5th".
fn member(of: Degree) -> String {
    let number = of.number().to_string();
    let text = degree(of);
    match of {
        Degree::One => "root".into(),
        _ => text.trim_end_matches(&number).to_string() + &ordinal(of.number()),
    }
}

fn target(target: Target) -> String {
    target.degree.map_or("the next note".into(), |found| format!("the {}", degree(found)))
}

impl Direction {
    fn says(self) -> &'static str {
        match self {
            Direction::Up => ", up",
            Direction::Down => ", down",
            Direction::UpDown => ", up and down",
            Direction::DownUp => ", down and up",
            Direction::Mixed => "",
        }
    }
}

impl Position {
    fn says(self) -> &'static str {
        match self {
            Position::Shell => "shell",
            Position::DropTwo => "drop two",
            Position::DropThree => "drop three",
            Position::DropTwoAndFour => "drop two and four",
            Position::Spread => "spread triad",
        }
    }
}

impl fmt::Display for Landing {
    /// `lands ♭7 to 3, a half step`
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let step = match self.half_steps.abs() {
            0 => "the same note",
            1 => "a half step",
            _ => "a whole step",
        };
        write!(f, "lands {} to {}, {step}", degree(self.from), degree(self.to))
    }
}

impl fmt::Display for Name {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let way = self.direction.says();
        match &self.kind {
            Kind::Arpeggio { root, quality, inversion, from, folded, broken } => {
                write!(f, "{} arpeggio", chord(*root, *quality))?;
                match inversion {
                    Some(0) => f.write_str(", root position")?,
                    Some(number) => write!(f, ", {} inversion", ordinal(*number))?,
                    None => write!(f, ", from the {}", member(*from))?,
                }
                f.write_str(if *folded { ", folded" } else { "" })?;
                f.write_str(if *broken { ", broken" } else { way })
            }
            Kind::Voicing { root, quality, position: Position::Shell, degrees } => {
                let degrees: Vec<String> = degrees.iter().map(|one| one.number().to_string()).collect();
                write!(f, "{} shell, {}", chord(*root, *quality), degrees.join(" "))
            }
            Kind::Voicing { root, quality, position, degrees } => {
                write!(f, "{} {}", chord(*root, *quality), position.says())?;
                let lowest = if self.direction == Direction::Down { degrees.last() } else { degrees.first() };
                if let Some(lowest) = lowest {
                    write!(f, ", {} lowest", member(*lowest))?;
                }
                f.write_str(way)
            }
            Kind::Pentatonic { scale: own, groups, skips } => {
                f.write_str(&scale(*own))?;
                match groups {
                    Some(2) => f.write_str(" in pairs")?,
                    Some(3) => f.write_str(" in threes")?,
                    Some(_) => f.write_str(" in fours")?,
                    None => {}
                }
                f.write_str(if *skips { ", skipping" } else { "" })?;
                f.write_str(if groups.is_some() { "" } else { way })
            }
            Kind::Pattern { scale: own, cell, .. } => {
                let what = match cell.as_slice() {
                    [2, 2] | [-2, -2] => "triads".into(),
                    [2, 2, 2] | [-2, -2, -2] => "sevenths".into(),
                    [2] | [-2] => "thirds".into(),
                    [3] | [-3] => "fourths".into(),
                    cell => format!("pattern of {}", cell.len() + 1),
                };
                write!(f, "{what} through {}{way}", scale(*own))
            }
            Kind::Run { scale: own, passing } => {
                write!(f, "{}{way}{}", scale(*own), if *passing { ", with a passing half step" } else { "" })
            }
            Kind::Chromatic { target: Some(to) } => write!(f, "half steps into {}", target(*to)),
            Kind::Chromatic { target: None } => write!(f, "chromatic run{way}"),
            Kind::Approach { target: to } => write!(f, "approach to {}", target(*to)),
            Kind::Enclosure { target: to } => write!(f, "enclosure of {}", target(*to)),
            Kind::Neighbor => f.write_str("neighbor note"),
            Kind::Landing(landing) => landing.fmt(f),
            Kind::Loose => f.write_str("no name"),
        }
    }
}
