//! A piece as flat records, for scripts, tests and web pages.
//!
//! Times are exact fractions of a quarter note as text: `onset` from the start of the line, `start` from the
//! start of the bar, and `beat` counted from 1 in units of the meter. Note values and beams have MusicXML's
//! names (MusicXML 4.0).

use serde::Serialize;

use crate::Piece;
use crate::attack::Attack;
use crate::bars::Place;
use crate::chord;
use crate::error::Result;
use crate::hand::{self, Bound, Crossings, Fingering, Fretting, Reason};
use crate::harmony::{Direction, Kind, NameSign, Names};
use crate::line::{ChordAt, Line, NoteId};
use crate::neck::Stroke;
use crate::notate::Symbol;
use crate::time::{Onset, Span};

/// Everything about a piece.
#[derive(Serialize, Clone, PartialEq, Eq, Debug)]
#[allow(missing_docs)]
pub struct Dump {
    pub line: Heading,
    pub chords: Vec<Chord>,
    pub notes: Vec<Note>,
    pub plan: Plan,
    /// Other fingerings, if asked for.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub ways: Vec<Way>,
    pub written: Vec<Written>,
    pub windows: Vec<Window>,
    /// The names of what is in the line, if asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub names: Option<Vec<Name>>,
}

/// The heading of the line, as the text format writes it.
#[derive(Serialize, Clone, PartialEq, Eq, Debug)]
#[allow(missing_docs)]
pub struct Heading {
    pub title: String,
    pub key: String,
    pub meter: String,
    pub tempo: u16,
    pub feel: String,
    pub tuning: String,
    pub style: &'static str,
    pub picking: String,
}

/// A chord symbol and what it means.
#[derive(Serialize, Clone, PartialEq, Eq, Debug)]
#[allow(missing_docs)]
pub struct Chord {
    pub bar: u32,
    pub beat: String,
    pub onset: String,
    /// The symbol as written: `Bb-7b5/D`, `NC`.
    pub symbol: String,
    /// `None` for no chord, as are the fields after it.
    pub root: Option<String>,
    pub bass: Option<String>,
    /// In its shortest form: `m7b5`. `None` if it can't be read.
    pub quality: Option<String>,
    /// The degrees as they are stacked, from the root.
    pub degrees: Vec<String>,
    /// Why the quality can't be read, and what to write instead.
    pub remark: Option<String>,
}

/// The fingering and picking as a whole.
#[derive(Serialize, Clone, PartialEq, Eq, Debug)]
#[allow(missing_docs)]
pub struct Plan {
    pub cost: u32,
    pub inside_crossings: usize,
    pub outside_crossings: usize,
}

/// Another fingering.
#[derive(Serialize, Clone, PartialEq, Eq, Debug)]
#[allow(missing_docs)]
pub struct Way {
    /// The position that it stays in, as a Roman numeral, if it is that kind.
    pub position: Option<String>,
    /// What it costs the fretting hand.
    pub cost: u32,
    pub plan: Plan,
    /// How each note is played, in order of time.
    pub notes: Vec<Placed>,
}

/// Where and how a note is played.
#[derive(Serialize, Clone, PartialEq, Eq, Debug)]
#[allow(missing_docs)]
pub struct Placed {
    pub id: u32,
    pub string: u8,
    pub fret: u8,
    pub finger: u8,
    /// The fret that the index finger is at.
    pub position: u8,
    pub stroke: Option<&'static str>,
}

/// One part of a note's cost, coming from the note before.
#[derive(Serialize, Clone, PartialEq, Eq, Debug)]
#[allow(missing_docs)]
pub struct Charged {
    pub term: &'static str,
    pub cost: u32,
    pub says: String,
}

/// A note or rest.
#[derive(Serialize, Clone, PartialEq, Eq, Debug)]
#[allow(missing_docs)]
pub struct Note {
    pub id: u32,
    pub bar: u32,
    pub beat: String,
    /// `None` for a rest, as are the fields about pitch and the neck.
    pub pitch: Option<String>,
    pub midi: Option<u8>,
    /// What it is over its chord: `b9`.
    pub degree: Option<String>,
    pub onset: String,
    pub duration: String,
    pub string: Option<u8>,
    pub fret: Option<u8>,
    pub finger: Option<u8>,
    pub position: Option<u8>,
    pub stroke: Option<&'static str>,
    /// How it begins: `struck`, `hammered`, `pulled` or `slid`.
    pub attack: Option<&'static str>,
    pub costs: Vec<Charged>,
}

/// A written note or rest; `note` is the id of the event it writes.
#[derive(Serialize, Clone, PartialEq, Eq, Debug)]
#[allow(missing_docs)]
pub struct Written {
    pub note: u32,
    pub bar: usize,
    pub start: String,
    pub value: &'static str,
    pub dots: u8,
    /// The actual and normal number of each tuplet around it, outermost first.
    pub tuplets: Vec<[u8; 2]>,
    pub tie: &'static str,
    pub beams: Vec<&'static str>,
}

/// A name of some notes of the plain line.
#[derive(Serialize, Clone, PartialEq, Eq, Debug)]
#[allow(missing_docs)]
pub struct Name {
    pub first: u32,
    pub last: u32,
    /// Where the first and the last note start: `1.1`, `1.4+` for the and of four, otherwise `1.7/3`.
    pub from: String,
    pub to: String,
    /// What kind of group it is; `call` if it has the words that the writer gave it.
    pub kind: &'static str,
    /// The root and quality of a chord.
    pub root: Option<String>,
    pub quality: Option<String>,
    pub scale: Option<String>,
    /// The lowest member of a chord whose notes lie in an octave: 0 for the root.
    pub inversion: Option<u8>,
    pub direction: &'static str,
    pub says: String,
    pub cost: u32,
    /// Other readings.
    pub others: Vec<String>,
}

/// A recast window.
#[derive(Serialize, Clone, PartialEq, Eq, Debug)]
#[allow(missing_docs)]
pub struct Window {
    pub bar: u32,
    pub beat: String,
    pub span: String,
    pub figure: String,
    pub spelling: &'static str,
    /// The ids of the line's notes that aren't played because the figure takes fewer.
    pub left_out: Vec<u32>,
}

impl Dump {
    /// The records of a piece.
    ///
    /// # Errors
    /// [`Error`](crate::Error) for places out of range.
    pub fn of(piece: &Piece) -> Result<Dump> {
        let heading = piece.line().heading();
        let notes: Result<Vec<Note>> = piece.timed().events.iter().map(|event| note(piece, event)).collect();
        let chords: Result<Vec<Chord>> = piece.line().chords().iter().map(|at| chord(piece, at)).collect();
        let windows: Result<Vec<Window>> = piece
            .timed()
            .windows
            .iter()
            .zip(piece.casting().windows())
            .map(|(window, cast)| {
                let place = piece.line().bars().place(window.span.start())?;
                Ok(Window {
                    bar: place.bar,
                    beat: place.beat.to_string(),
                    span: window.span.length()?.to_string(),
                    figure: cast.figure.name().into(),
                    spelling: window.spelling.name(),
                    left_out: window.left_out.iter().map(|note| note.0).collect(),
                })
            })
            .collect();
        let written = piece.written().bars.iter().zip(1..).flat_map(|(bar, number)| {
            bar.symbols.iter().enumerate().map(move |(index, symbol)| Written {
                note: symbol.note.0,
                bar: number,
                start: symbol.start.to_string(),
                value: symbol.value.base.name(),
                dots: symbol.value.dots,
                tuplets: bar.tuplets_of(index).map(|tuplet| [tuplet.actual, tuplet.normal]).collect(),
                tie: tie(symbol),
                beams: symbol.beams.iter().map(|beam| beam.name()).collect(),
            })
        });
        Ok(Dump {
            line: Heading {
                title: heading.title.clone(),
                key: piece.line().bars().key(0).to_string(),
                meter: piece.line().bars().meter(0).to_string(),
                tempo: heading.tempo.quarters_per_minute(),
                feel: heading.feel.to_string(),
                tuning: heading.neck.tuning().to_string(),
                style: heading.style.name(),
                picking: heading.picking.to_string(),
            },
            chords: chords?,
            notes: notes?,
            plan: plan(piece.fingering()),
            ways: Vec::new(),
            written: written.collect(),
            windows: windows?,
            names: None,
        })
    }

    /// These records with up to `count` other fingerings of the whole line, positions first.
    pub fn with_ways(mut self, piece: &Piece, count: usize, bound: Bound) -> Dump {
        let all = Span::new(Onset::ZERO, piece.line().end());
        let ways = all.map(|all| piece.fingering().listed(piece.line(), all, count, bound));
        self.ways = ways.iter().flatten().map(way).collect();
        self
    }

    /// These records with the names of what is in the line, as they are drawn.
    ///
    /// # Errors
    /// [`Error`](crate::Error) for places out of range.
    pub fn with_names(mut self, line: &Line, names: &Names) -> Result<Dump> {
        let name = |sign: NameSign| {
            let events = line.events();
            let place = |note: NoteId| -> Result<String> {
                let onset = events.get(note.0 as usize).map_or(Onset::ZERO, |event| event.onset);
                Ok(short(line.bars().place(onset)?))
            };
            let found = sign.index.and_then(|index| Some((index, names.all().get(index)?)));
            let (root, quality, scale, inversion) =
                found.map_or((None, None, None, None), |(_, name)| parts(&name.kind));
            Ok(Name {
                first: sign.first.0,
                last: sign.last.0,
                from: place(sign.first)?,
                to: place(sign.last)?,
                kind: match found {
                    Some((_, name)) => name.kind.name(),
                    None if sign.is_landing => "landing",
                    None => "call",
                },
                root,
                quality,
                scale,
                inversion,
                direction: found.map_or(Direction::Mixed, |(_, name)| name.direction).name(),
                says: sign.says,
                cost: found.map_or(0, |(_, name)| name.cost()),
                others: found.map_or_else(Vec::new, |(index, _)| {
                    names.others(index).into_iter().map(|other| other.says).collect()
                }),
            })
        };
        let signs = names.signs(line).into_iter().map(name);
        self.names = Some(signs.collect::<Result<Vec<Name>>>()?);
        Ok(self)
    }
}

/// A place with the and of a beat as `4+`.
fn short(Place { bar, beat }: Place) -> String {
    match beat.denom() {
        2 => format!("{bar}.{}+", beat.numer() / 2),
        _ => format!("{bar}.{beat}"),
    }
}

/// The root and quality of a chord, the scale, and the inversion.
fn parts(kind: &Kind) -> (Option<String>, Option<String>, Option<String>, Option<u8>) {
    match kind {
        Kind::Arpeggio { root, quality, inversion, .. } => {
            (Some(root.to_string()), Some(quality.to_string()), None, *inversion)
        }
        Kind::Voicing { root, quality, .. } => {
            (Some(root.to_string()), Some(quality.to_string()), None, None)
        }
        Kind::Pentatonic { scale, .. } | Kind::Pattern { scale, .. } | Kind::Run { scale, .. } => {
            (None, None, Some(scale.to_string()), None)
        }
        _ => (None, None, None, None),
    }
}

fn plan(plan: &Fingering) -> Plan {
    let Crossings { inside, outside } = plan.crossings();
    Plan { cost: plan.cost(), inside_crossings: inside, outside_crossings: outside }
}

fn way(way: &hand::Way) -> Way {
    let other = &way.fingering;
    let placed = other.notes().iter().filter_map(|&note| {
        let Fretting { string, fret, finger, position } = other.of(note)?;
        let stroke = stroke(other.attacks().of(note));
        Some(Placed { id: note.0, string: string.0, fret: fret.0, finger: finger.0, position, stroke })
    });
    let position = way.position.map(|position| position.to_string());
    Way { position, cost: way.cost, plan: plan(other), notes: placed.collect() }
}

fn chord(piece: &Piece, at: &ChordAt) -> Result<Chord> {
    let place = piece.line().bars().place(at.onset)?;
    let chord = at.symbol.chord();
    let quality = chord.map(chord::Chord::quality);
    Ok(Chord {
        bar: place.bar,
        beat: place.beat.to_string(),
        onset: at.onset.to_string(),
        symbol: at.symbol.to_string(),
        root: chord.map(|chord| chord.root().to_string()),
        bass: chord.and_then(|chord| chord.bass()).map(|bass| bass.to_string()),
        quality: quality.and_then(Result::ok).map(|quality| quality.to_string()),
        degrees: chord
            .into_iter()
            .flat_map(|chord| chord.tones())
            .map(|(degree, _)| degree.to_string())
            .collect(),
        remark: quality.and_then(Result::err).map(|why| why.to_string()),
    })
}

fn note(piece: &Piece, event: &crate::line::Event) -> Result<Note> {
    let place = piece.timed().bars.place(event.onset)?;
    let fingering = piece.fingering();
    let (fretting, attack) = (fingering.of(event.id), fingering.attacks().of(event.id));
    Ok(Note {
        id: event.id.0,
        bar: place.bar,
        beat: place.beat.to_string(),
        pitch: event.pitch.map(|pitch| pitch.to_string()),
        midi: event.pitch.and_then(|pitch| pitch.midi()).map(|key| key.0),
        degree: piece.score().degree(event.id).map(|degree| degree.to_string()),
        onset: event.onset.to_string(),
        duration: event.duration.to_string(),
        string: fretting.map(|fretting| fretting.string.0),
        fret: fretting.map(|fretting| fretting.fret.0),
        finger: fretting.map(|fretting| fretting.finger.0),
        position: fretting.map(|fretting| fretting.position),
        stroke: stroke(attack),
        attack: attack.map(Attack::name),
        costs: fingering.reasons(event.id, place).iter().map(charged).collect(),
    })
}

fn stroke(attack: Option<Attack>) -> Option<&'static str> {
    attack.and_then(Attack::stroke).map(Stroke::name)
}

fn charged(reason: &Reason) -> Charged {
    Charged { term: reason.term.name(), cost: reason.cost, says: reason.words.clone() }
}

fn tie(symbol: &Symbol) -> &'static str {
    match (symbol.tied_from, symbol.tied_to) {
        (false, false) => "none",
        (false, true) => "start",
        (true, false) => "stop",
        (true, true) => "both",
    }
}
