//! Piece -> MIDI.

use midly::num::{u4, u7, u15, u24, u28};
use midly::{Format, Header, MetaMessage, MidiMessage, Smf, Timing, TrackEvent, TrackEventKind};

use crate::error::Result as CoreResult;
use crate::exchange::error::Result;
use crate::key::{Key, Mode};
use crate::line::Feel;
use crate::meter::Meter;
use crate::order;
use crate::perform::{self, Click, ClickKind, Metronome, Sound, clicks, count_in};
use crate::piece::Piece;
use crate::sound::Voicing;
use crate::time::{Duration, Onset, Span, TimeError};

/// What a MIDI file has besides the line.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct MidiOptions {
    /// Whether notes have their written times instead of the performed ones.
    pub straight: bool,
    /// The clicks, if there are any.
    pub click: Option<Metronome>,
    /// How many bars are counted in.
    pub count_in: u8,
    /// Whether the chords are played, too.
    pub comp: bool,
}

/// Ticks per quarter note, at least: 2^3 * 3^2 * 5 * 7. It is doubled while a written time is not a whole tick.
const FEWEST_TICKS: u16 = 2_520;
const MOST_TICKS: u16 = 20_160;

/// Channels and programs, counted from 0 (General MIDI, level 1): a jazz guitar, a piano, and the percussion channel.
const LINE: (u8, u8) = (0, 26);
const CHORDS: (u8, u8) = (1, 0);
const PERCUSSION: u8 = 9;
/// High and low wood block (General MIDI, level 1).
const WOOD_BLOCKS: (u8, u8) = (76, 77);
/// How hard notes are struck: usually, accented, led into without a stroke; chords; clicks on the first beat, others, in between.
const STRUCK: u8 = 80;
const ACCENTED: u8 = 110;
const LED: u8 = 64;
const CHORD: u8 = 50;
const CLICKS: [u8; 3] = [110, 80, 50];
/// How long a click lasts.
const CLICK: Duration = Duration::of(1, 8);

/// A piece as a Standard MIDI File of format 1. `text` is the line's own text, which travels in the file.
///
/// The first track has the tempo, meters, keys and, as markers, the chords. The second one has the line, on channel 1. Others have what the
/// options ask for: the chords on channel 2, and clicks on channel 10. Before a pickup, the missing part of its bar is silent, so that every bar
/// starts where a sequencer counts one.
///
/// ```
/// use halfbar_core::exchange::midi::{MidiOptions, document};
/// use halfbar_core::{Piece, read};
///
/// let text = "feel: swing 2\n@Fm7 F3 Ab C Eb  G F Eb C |\n";
/// let reading = read::text(text);
/// let piece = Piece::new(reading.line.expect("a full bar"), reading.casting)?;
/// let options = MidiOptions { click: Some("2+4".parse().expect("beats")), count_in: 1, ..MidiOptions::default() };
/// let file = document(&piece, text, &options)?;
/// assert!(file.starts_with(b"MThd"));
/// # Ok::<(), halfbar_core::exchange::ExchangeError>(())
/// ```
///
/// # Errors
/// [`Error`](crate::Error) for times out of range, such as a file of more than 2^28 ticks.
pub fn document(piece: &Piece, text: &str, options: &MidiOptions) -> Result<Vec<u8>> {
    Ok(file(piece, text, options)?)
}

fn file(piece: &Piece, text: &str, options: &MidiOptions) -> CoreResult<Vec<u8>> {
    let straight;
    let played = if options.straight {
        straight = piece.paced(piece.line().heading().tempo, Feel::Straight)?;
        &straight
    } else {
        piece
    };
    let bars = piece.line().bars();
    let (counted, lead) = count_in(bars, Onset::ZERO, options.count_in)?;
    let (_, missing) = bars.split(Onset::ZERO)?;
    let clock = Clock { ticks: ticks(piece), lead: lead.max(missing) };
    let end = clock.tick(piece.line().end())?;

    let markers = markers(played)?;
    let mut tracks = vec![conductor(piece, text, &markers, &clock)?, notes(&played.sounds()?, &clock)?];
    if options.comp {
        tracks.push(chords(played, &clock)?);
    }
    if options.click.is_some() || !counted.is_empty() {
        tracks.push(clicked(played, &counted, options.click, &clock)?);
    }
    let timing = Timing::Metrical(u15::from(clock.ticks));
    let tracks = tracks.into_iter().map(|track| track.finish(end)).collect::<CoreResult<_>>()?;
    let mut bytes = Vec::new();
    // A vector takes whatever is written.
    let _ = Smf { header: Header::new(Format::Parallel, timing), tracks }.write(&mut bytes);
    Ok(bytes)
}

/// Ticks per quarter note: enough for every written time, if possible.
fn ticks(piece: &Piece) -> u16 {
    let events = piece.timed().events.iter().map(|event| event.onset);
    let chords = piece.line().chords().iter().map(|chord| chord.onset);
    let times: Vec<i64> = events.chain(chords).map(|onset| onset.since_start().denom()).collect();
    let is_enough = |ticks: u16| times.iter().all(|denom| i64::from(ticks) % denom == 0);
    let mut ticks = FEWEST_TICKS;
    while ticks < MOST_TICKS && !is_enough(ticks) {
        ticks *= 2;
    }
    ticks
}

/// From music to ticks.
struct Clock {
    ticks: u16,
    /// What comes before the start of the line: the count-in, and the missing part of a pickup bar.
    lead: Duration,
}

impl Clock {
    /// The tick nearest to a moment of the line. Each is computed from the start, so errors don't accumulate.
    fn tick(&self, onset: Onset) -> CoreResult<i64> {
        self.ticks_in(onset.checked_add(self.lead)?.since_start())
    }

    fn ticks_in(&self, length: Duration) -> CoreResult<i64> {
        let ticks = length.checked_mul(self.ticks.into())?;
        Ok((2 * i128::from(ticks.numer()) + i128::from(ticks.denom()))
            .div_euclid(2 * i128::from(ticks.denom()))
            .try_into()
            .map_err(|_| TimeError)?)
    }
}

/// Events in any order.
#[derive(Default)]
struct Track<'a> {
    events: Vec<(i64, Rank, TrackEventKind<'a>)>,
}

/// What comes first of events at the same tick: a key must be released before it is pressed again.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Rank {
    Off,
    Set,
    On,
}

impl<'a> Track<'a> {
    fn named(name: &'a str) -> Track<'a> {
        let mut track = Track::default();
        track.meta(0, MetaMessage::TrackName(name.as_bytes()));
        track
    }

    fn meta(&mut self, tick: i64, message: MetaMessage<'a>) {
        self.events.push((tick, Rank::Set, TrackEventKind::Meta(message)));
    }

    fn midi(&mut self, tick: i64, rank: Rank, channel: u8, message: MidiMessage) {
        let channel = u4::from(channel);
        self.events.push((tick, rank, TrackEventKind::Midi { channel, message }));
    }

    fn program(&mut self, (channel, program): (u8, u8)) {
        self.midi(0, Rank::Set, channel, MidiMessage::ProgramChange { program: u7::from(program) });
    }

    /// A key from one tick to another; at least for a tick, since it would never be released otherwise.
    fn key(&mut self, channel: u8, key: u8, velocity: u8, (from, to): (i64, i64)) {
        let (key, vel) = (u7::from(key), u7::from(velocity));
        self.midi(from, Rank::On, channel, MidiMessage::NoteOn { key, vel });
        self.midi(to.max(from + 1), Rank::Off, channel, MidiMessage::NoteOff { key, vel: u7::from(0) });
    }

    /// Its events in order of time, each counted from the one before.
    fn finish(mut self, end: i64) -> CoreResult<Vec<TrackEvent<'a>>> {
        let last = self.events.iter().map(|(tick, ..)| *tick).max().unwrap_or(0);
        self.events.push((end.max(last), Rank::On, TrackEventKind::Meta(MetaMessage::EndOfTrack)));
        order::sort(&mut self.events, |(tick, rank, _)| (*tick, *rank));
        let mut before = 0;
        let events = self.events.into_iter().map(|(tick, _, kind)| {
            let delta = u32::try_from(tick - before).ok().and_then(u28::try_from).ok_or(TimeError)?;
            before = tick;
            Ok(TrackEvent { delta, kind })
        });
        events.collect()
    }
}

/// The chords, where they start as performed.
fn markers(played: &Piece) -> CoreResult<Vec<(Onset, String)>> {
    let chords = played.line().chords().iter();
    let markers = chords.map(|chord| {
        let at = perform::played(played.score(), played.performed(), chord.onset)?;
        Ok((at, chord.symbol.to_string()))
    });
    markers.collect()
}

/// The track with everything but notes.
fn conductor<'a>(
    piece: &'a Piece,
    text: &'a str,
    markers: &'a [(Onset, String)],
    clock: &Clock,
) -> CoreResult<Track<'a>> {
    let (heading, bars) = (piece.line().heading(), piece.line().bars());
    let mut track = Track::default();
    if !heading.title.is_empty() {
        track = Track::named(&heading.title);
    }
    if !text.is_empty() {
        track.meta(0, MetaMessage::Text(text.as_bytes()));
    }
    let quarter = (60_000_000 + u32::from(heading.tempo.quarters_per_minute()) / 2)
        / u32::from(heading.tempo.quarters_per_minute());
    track.meta(0, MetaMessage::Tempo(u24::from(quarter)));
    track.meta(0, meter(bars.meter(0)));
    track.meta(0, key(bars.key(0)));
    let count = piece.line().bar_count();
    for (index, changed) in bars.changes().filter(|(index, _)| *index < count) {
        track.meta(clock.tick(bars.downbeat(index)?)?, meter(changed));
    }
    for (index, changed) in bars.key_changes().filter(|(index, _)| *index < count) {
        track.meta(clock.tick(bars.downbeat(index)?)?, key(changed));
    }
    for (at, chord) in markers {
        track.meta(clock.tick(*at)?, MetaMessage::Marker(chord.as_bytes()));
    }
    Ok(track)
}

/// A meter; sequencers click on quarter notes or, in meters of eighths, on the first group.
fn meter(meter: Meter) -> MetaMessage<'static> {
    let unit = 96 / meter.unit();
    let click = if meter.has_quarter_beats() { unit } else { unit * meter.groups().next().unwrap_or(1) };
    let power = u8::try_from(meter.unit().ilog2()).unwrap_or(0);
    MetaMessage::TimeSignature(meter.count(), power, click, 8)
}

fn key(key: Key) -> MetaMessage<'static> {
    MetaMessage::KeySignature(key.fifths(), key.mode() == Mode::Minor)
}

/// The track with the line.
fn notes(sounds: &[Sound], clock: &Clock) -> CoreResult<Track<'static>> {
    let mut track = Track::named("Guitar");
    track.program(LINE);
    for sound in sounds {
        let velocity = match sound.attack.stroke() {
            _ if sound.accent => ACCENTED,
            Some(_) => STRUCK,
            None => LED,
        };
        track.key(LINE.0, sound.key.0, velocity, (clock.tick(sound.start)?, clock.tick(sound.end)?));
    }
    Ok(track)
}

/// The track with the accompaniment.
fn chords(played: &Piece, clock: &Clock) -> CoreResult<Track<'static>> {
    let mut track = Track::named("Chords");
    track.program(CHORDS);
    for change in played.changes()? {
        let time = (clock.tick(change.span.start())?, clock.tick(change.span.end())?);
        for key in Voicing::of(&change.symbol).into_iter().flat_map(Voicing::keys) {
            track.key(CHORDS.0, key.0, CHORD, time);
        }
    }
    Ok(track)
}

/// The track with the count-in and the metronome.
fn clicked(
    played: &Piece,
    counted: &[Click],
    metronome: Option<Metronome>,
    clock: &Clock,
) -> CoreResult<Track<'static>> {
    let line = played.line();
    let whole = Span::new(Onset::ZERO, line.end()).ok_or(TimeError)?;
    let during = match metronome {
        Some(metronome) => clicks(line.bars(), whole, metronome, line.heading())?,
        None => Vec::new(),
    };
    let mut track = Track::named("Clicks");
    let counted = counted.iter().map(|click| (clock.ticks_in(click.at.since_start()), click.kind));
    let during = during.iter().map(|click| (clock.tick(click.at), click.kind));
    let length = clock.ticks_in(CLICK)?;
    for (tick, kind) in counted.chain(during) {
        let tick = tick?;
        let key = if kind == ClickKind::Accent { WOOD_BLOCKS.0 } else { WOOD_BLOCKS.1 };
        track.key(PERCUSSION, key, CLICKS[kind as usize], (tick, tick + length));
    }
    Ok(track)
}
