//! MIDI files for the tests: lines as somebody would play them, not quite in time.
#![allow(clippy::cast_possible_truncation, reason = "ticks of short lines")]

use halfbar_core::Piece;
use halfbar_core::key::Mode;
use halfbar_core::time::Duration;
use midly::num::{u4, u7, u15, u24, u28};
use midly::{Format, Header, MetaMessage, MidiMessage, Smf, Timing, TrackEvent, TrackEventKind};
use proptest::prelude::*;

/// Ticks per quarter note, as is usual.
pub const TICKS: u16 = 480;

/// How notes are off.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Jitter {
    /// By a normal distribution with this standard deviation, in seconds.
    Normal(f64),
    /// Evenly up to so many seconds early or late.
    Uniform(f64),
}

impl Jitter {
    /// How far the next note is off, in seconds.
    pub fn next(self, rng: &mut impl Rng) -> f64 {
        let mut even = || rng.random_range(f64::EPSILON..1.0);
        match self {
            // Box and Muller, "A note on the generation of random normal deviates" (1958).
            Jitter::Normal(deviation) => {
                deviation * (-2.0 * even().ln()).sqrt() * (std::f64::consts::TAU * even()).cos()
            }
            Jitter::Uniform(most) => most * (2.0 * even() - 1.0),
        }
    }
}

/// A file of events at ticks, of one track.
pub fn file(ticks: u16, events: &[(u32, TrackEventKind<'_>)]) -> Vec<u8> {
    let mut sorted = events.to_vec();
    sorted.sort_by_key(|(tick, kind)| {
        let is_on = matches!(kind, TrackEventKind::Midi { message: MidiMessage::NoteOn { .. }, .. });
        (*tick, is_on)
    });
    let mut before = 0;
    let mut track = Vec::new();
    for (tick, kind) in sorted {
        track.push(TrackEvent { delta: u28::from(tick - before), kind });
        before = tick;
    }
    track.push(TrackEvent { delta: u28::from(0), kind: TrackEventKind::Meta(MetaMessage::EndOfTrack) });
    let header = Header::new(Format::SingleTrack, Timing::Metrical(u15::from(ticks)));
    let mut bytes = Vec::new();
    Smf { header, tracks: vec![track] }.write(&mut bytes).unwrap();
    bytes
}

/// A note from one tick to another.
pub fn note<'a>(channel: u8, key: u8, from: u32, to: u32) -> [(u32, TrackEventKind<'a>); 2] {
    let (channel, key) = (u4::from(channel), u7::from(key));
    let on = MidiMessage::NoteOn { key, vel: u7::from(80) };
    let off = MidiMessage::NoteOff { key, vel: u7::from(0) };
    [
        (from, TrackEventKind::Midi { channel, message: on }),
        (to, TrackEventKind::Midi { channel, message: off }),
    ]
}

/// A meter, with its lower number as a power of two.
pub fn meter<'a>(tick: u32, count: u8, power: u8) -> (u32, TrackEventKind<'a>) {
    (tick, TrackEventKind::Meta(MetaMessage::TimeSignature(count, power, 24, 8)))
}

/// A key.
pub fn key<'a>(tick: u32, sharps: i8, is_minor: bool) -> (u32, TrackEventKind<'a>) {
    (tick, TrackEventKind::Meta(MetaMessage::KeySignature(sharps, is_minor)))
}

/// A piece as played by somebody whose notes start early or late. Notes that follow one another still do.
pub fn played(piece: &Piece, jitter: Jitter, rng: &mut impl Rng) -> Vec<u8> {
    let line = piece.line();
    let bars = line.bars();
    let lead = Duration::ZERO.checked_sub(bars.downbeat(0).unwrap().since_start()).unwrap().to_f64();
    let tempo = f64::from(line.heading().tempo.quarters_per_minute());
    let tick = |quarters: f64| ((quarters + lead).max(0.0) * f64::from(TICKS)).round() as u32;
    let micros = (60_000_000.0 / tempo).round() as u32;
    let mut events = vec![(0, TrackEventKind::Meta(MetaMessage::Tempo(u24::from(micros))))];
    let power = |unit: u8| u8::try_from(unit.ilog2()).unwrap();
    let first = bars.meter(0);
    events.push(meter(0, first.count(), power(first.unit())));
    for (index, changed) in bars.changes() {
        let at = tick(bars.downbeat(index).unwrap().since_start().to_f64());
        events.push(meter(at, changed.count(), power(changed.unit())));
    }
    events.push(key(0, bars.key(0).fifths(), bars.key(0).mode() == Mode::Minor));
    let sounds = piece.sounds().unwrap();
    let starts: Vec<u32> = sounds
        .iter()
        .map(|sound| tick(sound.start.since_start().to_f64() + jitter.next(rng) * tempo / 60.0))
        .collect();
    for (index, sound) in sounds.iter().enumerate() {
        let end = match sounds.get(index + 1) {
            Some(next) if next.start == sound.end => starts[index + 1],
            _ => tick(sound.end.since_start().to_f64()),
        };
        events.extend(note(0, sound.key.0, starts[index], end.max(starts[index] + 1)));
    }
    file(TICKS, &events)
}
