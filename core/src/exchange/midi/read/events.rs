//! Bytes -> the notes of each track and channel, and what the file says about all of them.

use midly::{Format, MetaMessage, MidiMessage, Timing, TrackEventKind};

use crate::exchange::midi::error::MidiError;

/// The longest file that is read, in bytes.
const LONGEST: usize = 4 << 20;
const MOST_TRACKS: usize = 128;
const MOST_EVENTS: usize = 500_000;
/// Channel 10 counted from zero, which has percussion (*General MIDI System Level 1*).
const PERCUSSION: u8 = 9;

/// What is in a file. Times are in ticks from its start.
#[derive(Clone, Debug, Default)]
pub(super) struct File {
    /// Ticks per quarter note.
    pub(super) ticks: u16,
    pub(super) title: String,
    /// In order of tracks, then channels; without percussion.
    pub(super) voices: Vec<Voice>,
    /// In microseconds per quarter note.
    pub(super) tempos: Vec<(u64, u32)>,
    /// The upper number, and the lower one as a power of two.
    pub(super) meters: Vec<(u64, u8, u8)>,
    /// Sharps, or flats if negative; and whether it is minor.
    pub(super) keys: Vec<(u64, i8, bool)>,
    pub(super) markers: Vec<(u64, String)>,
    /// The line's own text.
    pub(super) text: Option<String>,
    pub(super) lyrics: usize,
    /// Notes on the percussion channel.
    pub(super) drums: usize,
}

/// The notes of one channel of a track.
#[derive(Clone, Debug)]
pub(super) struct Voice {
    pub(super) name: String,
    /// The channel, from 1.
    pub(super) channel: u8,
    /// In order of time, then of pitch.
    pub(super) notes: Vec<Note>,
    pub(super) bends: usize,
    /// The end of its track.
    pub(super) end: u64,
}

/// One note.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Note {
    pub(super) start: u64,
    pub(super) end: u64,
    pub(super) key: u8,
}

/// Reads a file to its end. The library stops silently where a track can't be read, so every track must have its end, and there must be as
/// many as the header says.
pub(super) fn file(bytes: &[u8]) -> Result<File, MidiError> {
    if bytes.len() > LONGEST {
        return Err(MidiError::Long { allowed: LONGEST >> 20 });
    }
    // The library negates this byte of a header, which has no negative.
    let has_no_negative = |header: &[u8]| header.starts_with(b"MThd") && header.last() == Some(&0x80);
    if bytes.windows(13).any(has_no_negative) {
        return Err(MidiError::Header);
    }
    let (header, tracks) = midly::parse(bytes).map_err(|_| MidiError::Header)?;
    let ticks = match header.timing {
        Timing::Timecode(..) => return Err(MidiError::Frames),
        Timing::Metrical(ticks) => ticks.as_int(),
    };
    if ticks == 0 {
        return Err(MidiError::Header);
    }
    let told = tracks.size_hint().0;
    if header.format == Format::Sequential && told > 1 {
        return Err(MidiError::Patterns);
    }
    if told > MOST_TRACKS {
        return Err(MidiError::Tracks { allowed: MOST_TRACKS });
    }
    let mut file = File { ticks, ..File::default() };
    let (mut found, mut events) = (0, 0);
    let mut texts = Vec::new();
    for track in tracks.take(told) {
        let track = track.map_err(|_| MidiError::Header)?;
        found += 1;
        let mut reader = Track::default();
        let mut is_whole = false;
        for event in track.bytemapped() {
            let (bytes, event) = event.map_err(|_| MidiError::Broken { track: found })?;
            events += 1;
            if events > MOST_EVENTS {
                return Err(MidiError::Events { allowed: MOST_EVENTS });
            }
            reader.now += u64::from(event.delta.as_int());
            match event.kind {
                TrackEventKind::Meta(MetaMessage::EndOfTrack) => {
                    // Its length is the last byte that a truncated file lacks.
                    is_whole = bytes.ends_with(&[0x2f, 0]);
                    break;
                }
                TrackEventKind::Meta(meta) => reader.meta(&meta, &mut file, &mut texts),
                TrackEventKind::Midi { channel, message } => reader.message(channel.as_int(), message),
                TrackEventKind::SysEx(_) | TrackEventKind::Escape(_) => {}
            }
        }
        if !is_whole {
            return Err(MidiError::Broken { track: found });
        }
        reader.close(found == 1, told == 1, &mut file);
    }
    if found < told {
        return Err(MidiError::Missing { found, told });
    }
    file.tempos.sort_by_key(|tempo| tempo.0);
    file.meters.sort_by_key(|meter| meter.0);
    file.keys.sort_by_key(|key| key.0);
    file.markers.sort_by_key(|marker| marker.0);
    // A line's text has rows; other texts in a file seldom have.
    file.text = texts.into_iter().find(|text: &String| text.contains('\n'));
    Ok(file)
}

/// A track while it is read.
struct Track {
    now: u64,
    name: String,
    /// The notes of each channel, and which of them still sound, by key.
    channels: Vec<Channel>,
}

#[derive(Clone)]
struct Channel {
    notes: Vec<Note>,
    sounding: [Option<usize>; 128],
    bends: usize,
}

impl Default for Track {
    fn default() -> Track {
        let channel = Channel { notes: Vec::new(), sounding: [None; 128], bends: 0 };
        Track { now: 0, name: String::new(), channels: vec![channel; 16] }
    }
}

impl Track {
    fn meta(&mut self, meta: &MetaMessage, file: &mut File, texts: &mut Vec<String>) {
        match *meta {
            MetaMessage::TrackName(name) if self.name.is_empty() => {
                self.name = words(name).trim().to_string()
            }
            MetaMessage::Tempo(micros) => file.tempos.push((self.now, micros.as_int())),
            MetaMessage::TimeSignature(count, power, ..) => file.meters.push((self.now, count, power)),
            MetaMessage::KeySignature(sharps, is_minor) => file.keys.push((self.now, sharps, is_minor)),
            MetaMessage::Marker(words_of) => file.markers.push((self.now, words(words_of))),
            MetaMessage::Text(text) => texts.push(words(text)),
            MetaMessage::Lyric(_) => file.lyrics += 1,
            _ => {}
        }
    }

    fn message(&mut self, channel: u8, message: MidiMessage) {
        let now = self.now;
        let Some(channel) = self.channels.get_mut(usize::from(channel)) else { return };
        match message {
            MidiMessage::NoteOn { key, vel } if vel > 0 => {
                channel.off(key.as_int(), now);
                if let Some(sounding) = channel.sounding.get_mut(usize::from(key.as_int())) {
                    *sounding = Some(channel.notes.len());
                    channel.notes.push(Note { start: now, end: now, key: key.as_int() });
                }
            }
            MidiMessage::NoteOn { key, .. } | MidiMessage::NoteOff { key, .. } => {
                channel.off(key.as_int(), now)
            }
            MidiMessage::PitchBend { bend } if bend.as_int() != 0 => channel.bends += 1,
            _ => {}
        }
    }

    /// Adds its notes to the file.
    fn close(self, is_first: bool, is_only: bool, file: &mut File) {
        let has_notes = self.channels.iter().any(|channel| !channel.notes.is_empty());
        // A first track without notes, or the only one, has the name of the piece.
        if is_first && (is_only || !has_notes) {
            file.title.clone_from(&self.name);
        }
        let (name, end) = (self.name, self.now);
        for (number, mut channel) in (0u8..).zip(self.channels) {
            for key in 0..128 {
                channel.off(key, end);
            }
            if number == PERCUSSION {
                file.drums += channel.notes.len();
            } else if !channel.notes.is_empty() {
                let Channel { mut notes, bends, .. } = channel;
                // The same note twice is one, the longer one.
                notes.sort_by_key(|note| (note.start, note.key, std::cmp::Reverse(note.end)));
                notes.dedup_by_key(|note| (note.start, note.key));
                file.voices.push(Voice { name: name.clone(), channel: number + 1, notes, bends, end });
            }
        }
    }
}

impl Channel {
    fn off(&mut self, key: u8, now: u64) {
        let sounding = self.sounding.get_mut(usize::from(key)).and_then(Option::take);
        if let Some(note) = sounding.and_then(|index| self.notes.get_mut(index)) {
            note.end = now;
        }
    }
}

/// Text of a file, which has no encoding of its own: UTF-8 if it can be that.
fn words(bytes: &[u8]) -> String {
    match str::from_utf8(bytes) {
        Ok(text) => text.to_string(),
        Err(_) => bytes.iter().map(|&byte| char::from(byte)).collect(),
    }
}
