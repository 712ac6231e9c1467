//! The music in words, for those who don't see it.

use std::fmt::Write;

use crate::line::{Feel, Line};
use crate::notate::{Symbol, Written};
use crate::pitch::{Alter, Pitch};

/// A few sentences: what the line is, then each bar with its notes.
pub(super) fn describe(line: &Line, written: &Written) -> String {
    let heading = line.heading();
    let feel = match heading.feel {
        Feel::Straight => "straight eighths",
        Feel::SwingAuto | Feel::Swing(_) => "swing",
    };
    let bars = match written.bars.len() {
        1 => "1 bar".to_string(),
        n => format!("{n} bars"),
    };
    let mut text = format!(
        "{bars} in {}, {}, {} quarter notes a minute, {feel}.",
        line.bars().meter(0),
        spoken_key(&line.bars().key(0).to_string()),
        heading.tempo
    );
    for (index, bar) in written.bars.iter().enumerate() {
        let _ = write!(text, " Bar {}", line.bars().number(index));
        if let Some(meter) = super::new_meter(written, index).filter(|_| index > 0) {
            let _ = write!(text, ", now in {}/{}", meter.count(), meter.unit());
        }
        let key = line.bars().key(index);
        if index > 0 && line.bars().key(index - 1) != key {
            let _ = write!(text, ", now in {}", spoken_key(&key.to_string()));
        }
        text.push(':');
        let sounding = bar.symbols.iter().enumerate().filter(|(_, symbol)| !symbol.tied_from);
        let words = sounding.map(|(symbol_index, symbol)| {
            let triplet = if bar.tuplets_of(symbol_index).next().is_some() { " in a triplet" } else { "" };
            format!(" {}{triplet}", spoken(symbol))
        });
        let words: Vec<_> = words.collect();
        let _ = write!(text, "{}.", if words.is_empty() { " held over".into() } else { words.join(",") });
    }
    text
}

fn spoken(symbol: &Symbol) -> String {
    let dotted = ["", "dotted ", "double-dotted "][usize::from(symbol.value.dots.min(2))];
    let value = symbol.value.base.name();
    match symbol.pitch {
        None => format!("{dotted}{value} rest"),
        Some(pitch) => format!(
            "{}{} {dotted}{value}{}",
            symbol
                .grace
                .map_or(String::new(), |grace| format!("{} grace note to ", spoken_pitch(grace.pitch))),
            spoken_pitch(pitch),
            if symbol.tied_to { " tied over" } else { "" }
        ),
    }
}

pub(super) fn spoken_pitch(pitch: Pitch) -> String {
    format!("{}{} {}", pitch.name.step.letter(), spoken_alter(pitch.name.alter), pitch.octave)
}

pub(super) fn spoken_alter(alter: Alter) -> &'static str {
    match alter.half_steps() {
        -2 => " double flat",
        -1 => " flat",
        1 => " sharp",
        2 => " double sharp",
        _ => "",
    }
}

/// `Eb` as `E flat major`.
fn spoken_key(key: &str) -> String {
    let (tonic, mode) = key.split_once(' ').unwrap_or((key, "major"));
    let (letter, sign) = tonic.split_at(1);
    let sign = match sign {
        "b" => " flat",
        "#" => " sharp",
        _ => "",
    };
    format!("{letter}{sign} {mode}")
}
