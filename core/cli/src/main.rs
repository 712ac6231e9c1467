//! `halfbar`: checks the text of a line, draws it, and makes other files from it.

mod advise;
mod exchange;
mod export;
mod material;
mod sheet;

use std::fs;
use std::io::{self, IsTerminal, Read, Write};
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::sync::{Arc, OnceLock};

use clap::{Args, Parser, Subcommand, ValueEnum};
use halfbar_core::bars::{BarsError, Place};
use halfbar_core::describe;
use halfbar_core::dialect::Dialect;
use halfbar_core::drill::{self, Cycle, Exercise, Region, Shape, Side};
use halfbar_core::engrave::{self, Layout, View, Width};
use halfbar_core::fretboard::{FretboardLook, Labels};
use halfbar_core::hand::{self, Bound};
use halfbar_core::harmony::{self, Kind};
use halfbar_core::line::{Degrees, Feel, Heading, SwingRatio, Tempo};
use halfbar_core::neck::{Fret, Position, Strings};
use halfbar_core::perform::{Metronome, Practice};
use halfbar_core::recast::{self, Casting, Direction, Figure};
use halfbar_core::scale::Scale;
use halfbar_core::score::Annotations;
use halfbar_core::sound::{self, Levels};
use halfbar_core::technique::{FingeringStyle, Picking};
use halfbar_core::time::{Duration, Onset, Span};
use halfbar_core::write::dump::Dump;
use halfbar_core::write::svg::Paper;
use halfbar_core::{Piece, read, write};

/// The sample rate of the sound, in hertz.
const RATE: u32 = 48_000;

/// Recast half-bars of a jazz line into other rhythms
///
/// Results go to standard output, except those of `render`.
#[derive(Parser)]
#[command(version, arg_required_else_help = true)]
struct Arguments {
    #[command(subcommand)]
    command: Command,
    /// What to call note lengths: us (quarter notes, eighths) or uk (crotchets, quavers).
    #[arg(long, global = true, default_value = "us")]
    words: Dialect,
}

/// The dialect chosen on the command line, for everything that is written.
static WORDS: OnceLock<Dialect> = OnceLock::new();

fn words() -> Dialect {
    WORDS.get().copied().unwrap_or_default()
}

#[derive(Subcommand)]
enum Command {
    /// Check the text of a line: list every mistake with its line, column and remedy.
    Check {
        /// The text file; `-` reads standard input.
        file: PathBuf,
    },
    /// Draw the music as SVG.
    Draw {
        /// The text file; `-` reads standard input.
        file: PathBuf,
        /// The width of a system, in staff spaces.
        #[arg(long, default_value_t = Layout::default().width)]
        width: Width,
        /// What each system shows: both, staff, tab or rhythm.
        #[arg(long, default_value = "both")]
        view: View,
        #[command(flatten)]
        added: Added,
        /// Draw on white instead of a transparent background.
        #[arg(long)]
        white: bool,
    },
    /// Describe the music in words: the line, then one row per bar with every note as it is written and
    /// played.
    Describe {
        /// The text file; `-` reads standard input.
        file: PathBuf,
        #[command(flatten)]
        added: Added,
    },
    /// Draw a bar or a passage on the neck as SVG.
    Neck {
        /// The text file; `-` reads standard input.
        file: PathBuf,
        /// The number of the bar; 0 is a pickup.
        #[arg(long, required_unless_present = "from", conflicts_with = "from")]
        bar: Option<usize>,
        /// Where the passage starts: bar and beat, such as 1.3. Notes held over into it are drawn too.
        #[arg(long, requires = "to")]
        from: Option<String>,
        /// Where the passage ends; this place isn't part of it.
        #[arg(long, requires = "from")]
        to: Option<String>,
        /// Play it in this position, such as V or 5.
        #[arg(long)]
        position: Option<Position>,
        /// What to show at the notes: names, degrees or fingers.
        #[arg(long, default_value = "names")]
        labels: Labels,
        /// Draw it for a left-handed player.
        #[arg(long)]
        left: bool,
        /// Draw on white instead of a transparent background.
        #[arg(long)]
        white: bool,
    },
    /// List the figures: name, lengths in quarter notes, notations, and what each sounds like.
    Figures {
        /// Draw them as SVG instead.
        #[arg(long)]
        picture: bool,
        /// Draw on white instead of a transparent background.
        #[arg(long, requires = "picture")]
        white: bool,
    },
    /// List the places that carry a figure: bar, beat, figure and notation.
    Find {
        /// The text file; `-` reads standard input.
        file: PathBuf,
    },
    /// Name what is in the line: a row for each arpeggio, run, pattern and landing, with its place and what it costs.
    ///
    /// Example: `echo "@Fm7 Ab3 C Eb G  F Eb D C |" | halfbar name -`
    Name {
        /// The text file; `-` reads standard input.
        file: PathBuf,
        /// Add other readings below each name, and how much more they cost.
        #[arg(long)]
        others: bool,
    },
    /// Suggest where to recast the line: a row for each half-bar, with its place, its weight and the reasons.
    ///
    /// Example: `echo "@Dm7 D4 F A C5  B A G F | @G7 E4:4 |" | halfbar advise - --density sparingly`
    Advise(advise::Advise),
    /// Write the text of a line in a MusicXML file (.musicxml, .xml, .mxl) or a MIDI file (.mid), whatever its name. What was left out or
    /// changed is said on standard error.
    ///
    /// Example: `echo "@Fm7 Ab3 C Eb G  F Eb D C |" | halfbar musicxml - | halfbar open -`
    Open(exchange::Open),
    /// Write the plain line, with every figure removed.
    Restore {
        /// The text file; `-` reads standard input.
        file: PathBuf,
    },
    /// Write the text with a passage moved by an eighth. Notes that lose time are reported on standard error.
    Shift {
        /// The text file; `-` reads standard input.
        file: PathBuf,
        /// Where the passage starts: bar and beat, such as 1.3.
        from: String,
        /// Where the passage ends; this place isn't part of it.
        to: String,
        /// Which way to move it.
        direction: Way,
    },
    /// Write a sequence: a shape and its copies, moved step by step through a scale on the same strings. At the
    /// highest fret, it continues an octave lower. Copies that change octave, notation or rhythm are reported on
    /// standard error.
    Shape {
        /// The text file; `-` reads standard input.
        file: PathBuf,
        /// The scale, such as `Bb dorian`.
        #[arg(long)]
        scale: Scale,
        #[command(flatten)]
        region: RegionArguments,
        /// How many steps to move, negative for down; up through one octave by default.
        #[arg(long, allow_negative_numbers = true)]
        steps: Option<i8>,
        /// Where the shape starts: bar and beat, such as 1.3. By default, the shape is the first recast
        /// passage or, if nothing is recast, the group of the bar (the half-bar in 4/4) where the first note
        /// starts.
        #[arg(long, requires = "to")]
        from: Option<String>,
        /// Where the shape ends; this place isn't part of it.
        #[arg(long, requires = "from")]
        to: Option<String>,
    },
    /// Write the line in all twelve keys. Copies that change octave, fingering, notation or rhythm, and names that are
    /// simplified, are reported on standard error.
    Keys {
        /// The text file; `-` reads standard input.
        file: PathBuf,
        /// The interval from key to key: fourths, semitones or whole-tones.
        #[arg(long, default_value = "fourths")]
        by: Cycle,
        #[command(flatten)]
        region: RegionArguments,
    },
    /// Write the sound as WAV (16 bits, mono).
    Wav {
        /// The text file; `-` reads standard input.
        file: PathBuf,
        /// The tempo in quarter notes per minute, 30 to 320; as in the text by default.
        #[arg(long)]
        bpm: Option<Tempo>,
        /// The ratio of the long eighth to the short one, 1 (straight) to 3.5; as in the text by default.
        #[arg(long)]
        swing: Option<SwingRatio>,
        /// The metronome: every, 2+4, 1 or off, then `, eighths` or `, triplets` to subdivide, and
        /// `, other bars` to mute every other bar.
        #[arg(long, default_value = "off")]
        click: Metronome,
        /// Where to start: bar and beat, such as 1.3; the start of the line by default.
        #[arg(long)]
        from: Option<String>,
        /// Where to stop; this place isn't played. The end of the line by default.
        #[arg(long)]
        to: Option<String>,
        /// How many times to play it.
        #[arg(long, default_value_t = 1, value_parser = clap::value_parser!(u16).range(1..=999))]
        repeat: u16,
        /// How many bars to count in.
        #[arg(long, default_value_t = 0, value_parser = clap::value_parser!(u8).range(0..=4))]
        count_in: u8,
        /// Play the chords, with their roots in the bass.
        #[arg(long)]
        comp: bool,
        /// Leave out the line.
        #[arg(long)]
        no_line: bool,
    },
    /// Write the line as MusicXML 4.0, for programs that set music. The text travels in the file.
    ///
    /// Example: `echo "@Fm7 F3 Ab C Eb  G F Eb C |" | halfbar musicxml - > line.musicxml`
    #[command(name = "musicxml")]
    MusicXml(export::MusicXmlArguments),
    /// Write the line as a MIDI file, with the times that are played. The text travels in the file.
    ///
    /// Example: `echo "@Fm7 F3 Ab C Eb  G F Eb C |" | halfbar midi - --click 2+4 --count-in 1 > line.mid`
    Midi(export::MidiArguments),
    /// Write the small steps that lead to a figure. Each step is a text of its own, starting at a row
    /// `# step`.
    Ladder {
        /// A figure from the catalogue or the line, or lengths in quarter notes, such as `2/3 1/3 1/3 2/3`.
        figure: String,
        /// Where to start: triplets (or whichever even notes are closest) or eighths; both by default.
        #[arg(long)]
        side: Option<Side>,
        /// A line to end the ladder in; `-` reads standard input.
        #[arg(long)]
        line: Option<PathBuf>,
    },
    /// Write arpeggios over chords, each joined to the next by the best inversion, direction and octave. Tones that are left out are reported on
    /// standard error.
    ///
    /// Example: `halfbar chain "Fm7:2 Bb7alt:2 Ebmaj7:4"`
    Chain(material::ChainArguments),
    /// Write the arpeggios of a scale, step by step, where they span the fewest frets.
    ///
    /// Example: `halfbar arpeggios "Eb major" --sevenths --inversion 1 --strings 4-2`
    Arpeggios(material::ArpeggiosArguments),
    /// Write a chord or several as voicings, note by note, each nearest to the one before.
    ///
    /// Example: `halfbar voicing Cm7 --drop 2`
    Voicing(material::VoicingArguments),
    /// Write a pentatonic scale, straight or in groups, as it lies on the strings.
    ///
    /// Example: `halfbar pentatonic "G minor" --groups 4 --per-string 3`
    Pentatonic(material::PentatonicArguments),
    /// List the pentatonic scales that fit a chord: a row for each, with its degrees over the chord, the scale that it is in, and which of the
    /// chord's third and seventh it has.
    ///
    /// Example: `halfbar pentatonics Ebmaj7`
    Pentatonics(material::PentatonicsArguments),
    /// List the shapes of an altered dominant: a row for each, with its number, its degrees over the chord and the scale that it is from.
    ///
    /// Example: `halfbar altered Bb7alt`
    Altered(material::AlteredArguments),
    /// Write a line so that it lands on each new chord, with as few notes changed as possible. What is changed is reported on standard error.
    ///
    /// Example: `echo "@G7 G3 A B D4  F D B G | @Cmaj7 C:4 |" | halfbar land -`
    Land(material::LandArguments),
    /// Make a worksheet as PDF: numbered examples, room to write, and an answer key.
    Worksheet(sheet::Sheet),
    /// Render each line to a file: pictures, worksheets or markup.
    Render(sheet::Render),
    /// Write notes, notation, recast passages, fingering, picking and the names of what is in the line as JSON.
    Dump {
        /// The text file; `-` reads standard input.
        file: PathBuf,
        /// The fingering: position, along, one-per-string or three-per-string; as in the text by default.
        #[arg(long)]
        style: Option<FingeringStyle>,
        /// The picking: alternate, beat, economy or sweep, then `, slurs` and `, first up` if needed; as in
        /// the text by default.
        #[arg(long)]
        picking: Option<Picking>,
        /// Play a passage in this position, such as V or 5; all of the line by default.
        #[arg(long)]
        position: Option<Position>,
        /// Where the passage in this position starts: bar and beat, such as 1.3.
        #[arg(long, requires_all = ["to", "position"])]
        from: Option<String>,
        /// Where the passage ends; this place isn't part of it.
        #[arg(long, requires = "from")]
        to: Option<String>,
        /// How many other fingerings of the line to add: positions that can hold it, then others, each with its
        /// cost.
        #[arg(long, default_value_t = 0, value_parser = clap::value_parser!(u8).range(0..=40))]
        alternatives: u8,
        /// Also add fingerings that cost more than twice as much as the cheapest.
        #[arg(long, requires = "alternatives")]
        costly: bool,
    },
}

/// What is added to the notes.
#[derive(Args)]
struct Added {
    /// Add fretting-hand fingering.
    #[arg(long)]
    fingers: bool,
    /// Mark the notes that are tones of their chord: with a ring around the head, in words as `chord tone`.
    #[arg(long)]
    chord_tones: bool,
    /// Name what is in the line: with brackets under the notes, in words where each name begins. As in the text by default.
    #[arg(long)]
    names: bool,
    /// Add the degree of each note over its chord: yes, no or, in place of any fingering, `--degrees="instead of fingers"`. As in the text by
    /// default.
    #[arg(long, num_args = 0..=1, require_equals = true, default_missing_value = "yes")]
    degrees: Option<Degrees>,
}

impl Added {
    /// A piece with its names, if they are to be shown, and what is added to its notes.
    fn to(&self, piece: Piece) -> (Piece, Annotations) {
        let asked = Annotations::of(piece.line().heading());
        let annotations = Annotations {
            fingers: self.fingers,
            chord_tones: self.chord_tones,
            names: self.names || asked.names,
            degrees: self.degrees.unwrap_or(asked.degrees),
        };
        (if annotations.names { with_names(piece) } else { piece }, annotations)
    }
}

/// A piece with the names of what is in its line.
fn with_names(piece: Piece) -> Piece {
    let signs = harmony::names(piece.line()).signs(piece.line());
    piece.with_names(signs.into())
}

/// Where on the neck an exercise stays.
#[derive(Args)]
struct RegionArguments {
    /// The strings to stay on, such as `4-2`; all of them by default.
    #[arg(long)]
    strings: Option<Strings>,
    /// The highest fret to use, counted from the capo.
    #[arg(long, value_name = "FRET", default_value_t = Region::default().up_to.0,
          value_parser = clap::value_parser!(u8).range(0..=36))]
    up_to_fret: u8,
}

impl RegionArguments {
    fn region(&self) -> Region {
        Region { strings: self.strings, up_to: Fret(self.up_to_fret) }
    }
}

#[derive(Clone, Copy, ValueEnum)]
enum Way {
    Earlier,
    Later,
}

fn main() -> ExitCode {
    let Arguments { command, words: asked } = Arguments::parse();
    // This is the only place that sets it.
    let _ = WORDS.set(asked);
    match run(command) {
        Ok(()) => ExitCode::SUCCESS,
        Err(message) => {
            eprintln!("{message}");
            ExitCode::FAILURE
        }
    }
}

fn run(command: Command) -> Result<(), String> {
    let output = match command {
        Command::Wav { file, bpm, swing, click, from, to, repeat, count_in, comp, no_line } => {
            if io::stdout().is_terminal() {
                return Err(
                    "a WAV file can't be shown in a terminal: write it to a file with `> line.wav`".into()
                );
            }
            let piece = piece(&file)?;
            let levels = Levels {
                line: if no_line { 0.0 } else { 1.0 },
                chords: if comp { 0.6 } else { 0.0 },
                bass: if comp { 0.8 } else { 0.0 },
                ..Levels::default()
            };
            let wav = at_speed(&piece, bpm, swing).map_err(|error| error.to_string()).and_then(|piece| {
                let stretch = part(&piece, from, to)?;
                if stretch.end() > piece.line().end() {
                    return Err(format!("the line ends with bar {}", last_bar(&piece)));
                }
                let practice = Practice { stretch, times: repeat, count_in, metronome: click };
                let take = piece.take(&practice).map_err(|error| error.to_string())?;
                let samples = sound::mix(&take, &levels, RATE);
                write::wav::document(&samples, RATE).map_err(|error| error.to_string())
            });
            return printed(&wav.map_err(|error| named(&file, &error))?);
        }
        Command::Open(asked) => return printed(exchange::open(&asked)?.as_bytes()),
        Command::MusicXml(asked) => return printed(&export::musicxml(&asked)?),
        Command::Midi(asked) => return printed(&export::midi(&asked)?),
        Command::Worksheet(asked) => return printed(&sheet::sheet(asked)?),
        Command::Render(asked) => return sheet::render(&asked),
        Command::Check { file } => {
            piece(&file)?;
            return Ok(());
        }
        Command::Draw { file, width, view, added, white } => {
            let (piece, annotations) = added.to(piece(&file)?);
            let layout = Layout { view, width, annotations, words: words(), ..Layout::default() };
            write::svg::document_on(&piece.engrave(&layout), paper(white))
        }
        Command::Describe { file, added } => {
            let (piece, added) = added.to(piece(&file)?);
            described(&piece, added).map_err(|error| named(&file, &error.to_string()))?
        }
        Command::Neck { file, bar, from, to, position, labels, left, white } => {
            let piece = piece(&file)?;
            let stretch = match from.zip(to) {
                Some((from, to)) => stretch_of_line(&piece, [&from, &to]),
                // Without a passage, there is a bar.
                None => bar_span(&piece, bar.unwrap_or_default()),
            };
            let stretch = stretch.map_err(|error| named(&file, &error))?;
            let piece = in_position(piece, stretch, position).map_err(|error| named(&file, &error))?;
            let look = FretboardLook { labels, left_handed: left, frets: None };
            write::svg::neck_document(&piece.fretboard(stretch, &look), paper(white))
        }
        Command::Figures { picture: false, .. } => figures(),
        Command::Figures { picture: true, white } => {
            write::svg::sheet(&engrave::catalogue().map_err(|error| error.to_string())?, paper(white))
        }
        Command::Restore { file } => {
            let piece = piece(&file)?;
            let (plain, _) =
                recast::reduce(piece.line()).map_err(|error| named(&file, &error.to_string()))?;
            let text = write::text::line(&plain, &Casting::default());
            text.map_err(|error| named(&file, &error.to_string()))?.trim_end().to_string()
        }
        Command::Name { file, others } => {
            name(&piece(&file)?, others).map_err(|error| named(&file, &error.to_string()))?
        }
        Command::Advise(asked) => advise::advise(&asked)?,
        Command::Find { file } => find(&piece(&file)?).map_err(|error| named(&file, &error.to_string()))?,
        Command::Shift { file, from, to, direction } => {
            let piece = piece(&file)?;
            shift(&file, &piece, [&from, &to], direction).map_err(|error| named(&file, &error))?
        }
        Command::Shape { file, scale, region, steps, from, to } => {
            let piece = piece(&file)?;
            shape(&file, &piece, scale, region.region(), steps, from.zip(to))
                .map_err(|error| named(&file, &error))?
        }
        Command::Keys { file, by, region } => {
            let (line, casting) = piece(&file)?.into_parts();
            let made = drill::keys(&line, &casting, by, region.region());
            made.map_err(|error| error.to_string())
                .and_then(|made| told(&file, &made))
                .map_err(|error| named(&file, &error))?
        }
        Command::Ladder { figure, side, line } => {
            let piece = line.as_deref().map(piece).transpose()?;
            let file = line.as_deref().unwrap_or(Path::new("ladder"));
            ladder(&figure, side, piece.as_ref()).map_err(|error| named(file, &error))?
        }
        Command::Chain(asked) => material::chain(asked)?,
        Command::Arpeggios(asked) => material::arpeggios(asked)?,
        Command::Voicing(asked) => material::voicing(asked)?,
        Command::Pentatonic(asked) => material::pentatonic(asked)?,
        Command::Pentatonics(asked) => material::pentatonics(&asked)?,
        Command::Altered(asked) => material::altered(&asked)?,
        Command::Land(asked) => material::land(&asked)?,
        Command::Dump { file, style, picking, position, from, to, alternatives, costly } => {
            let piece = piece(&file)?;
            let bound = if costly { Bound::None } else { Bound::TwiceTheBest };
            let dump = part(&piece, from, to).and_then(|passage| {
                let piece = played(&piece, style, picking).map_err(|error| error.to_string())?;
                let piece = in_position(piece, passage, position)?;
                let dump = Dump::of(&piece).map_err(|error| error.to_string())?;
                let names = harmony::names(piece.line());
                let dump = dump.with_names(piece.line(), &names).map_err(|error| error.to_string())?;
                Ok(dump.with_ways(&piece, alternatives.into(), bound))
            });
            let dump = dump.map_err(|error| named(&file, &error))?;
            serde_json::to_string(&dump).map_err(|error| error.to_string())?
        }
    };
    printed(format!("{output}\n").as_bytes())
}

fn printed(output: &[u8]) -> Result<(), String> {
    match io::stdout().write_all(output) {
        // A reader that has seen enough, such as `head`, is not an error.
        Err(error) if error.kind() != io::ErrorKind::BrokenPipe => Err(format!("standard output: {error}")),
        _ => Ok(()),
    }
}

/// The piece at another tempo and with another swing ratio.
fn at_speed(piece: &Piece, bpm: Option<Tempo>, swing: Option<SwingRatio>) -> halfbar_core::Result<Piece> {
    let heading = piece.line().heading();
    let heading = Heading {
        tempo: bpm.unwrap_or(heading.tempo),
        feel: swing.map_or(heading.feel, Feel::Swing),
        ..heading.clone()
    };
    Piece::new(piece.line().clone().with_heading(heading), piece.casting().clone())
}

/// The piece in another fingering or picking style.
fn played(
    piece: &Piece,
    style: Option<FingeringStyle>,
    picking: Option<Picking>,
) -> halfbar_core::Result<Piece> {
    let heading = piece.line().heading();
    let heading = Heading {
        style: style.unwrap_or(heading.style),
        picking: picking.unwrap_or(heading.picking),
        ..heading.clone()
    };
    Piece::new(piece.line().clone().with_heading(heading), piece.casting().clone())
}

/// The piece with a passage played in a position.
fn in_position(piece: Piece, passage: Span, position: Option<Position>) -> Result<Piece, String> {
    let Some(position) = position else { return Ok(piece) };
    let (line, casting) = piece.into_parts();
    Piece::new(hand::in_position(&line, passage, Some(position)), casting).map_err(|error| error.to_string())
}

fn paper(white: bool) -> Paper {
    if white { Paper::White } else { Paper::Transparent }
}

/// The windows that are recast, and those whose notes already carry a figure.
fn find(piece: &Piece) -> halfbar_core::Result<String> {
    let mut windows = piece.casting().windows().to_vec();
    windows.extend(recast::find(piece.line()));
    windows.sort_by_key(|window| window.start);
    let rows = windows.iter().map(|window| {
        let place = piece.line().bars().place(window.start)?;
        Ok(format!("{}.{} {} {}", place.bar, place.beat, window.figure.name(), window.spelling))
    });
    Ok(rows.collect::<halfbar_core::Result<Vec<_>>>()?.join("\n"))
}

fn name(piece: &Piece, others: bool) -> halfbar_core::Result<String> {
    let names = harmony::names(piece.line());
    let mut rows = Vec::new();
    for (index, name) in names.all().iter().enumerate() {
        if name.kind == Kind::Loose {
            continue;
        }
        let [first, last] = [name.places.0, name.places.1].map(|onset| piece.line().bars().place(onset));
        let (first, last) = (first?, last?);
        rows.push(format!(
            "{}.{} to {}.{}  {name}  {}",
            first.bar,
            first.beat,
            last.bar,
            last.beat,
            name.cost()
        ));
        if others {
            let readings = names.others(index);
            rows.extend(readings.iter().map(|other| {
                let reasons = if other.reasons.is_empty() { "" } else { ": " };
                format!("    or {}  +{}{reasons}{}", other.says, other.more, other.reasons.join("; "))
            }));
        }
    }
    Ok(rows.join("\n"))
}

/// The span of a bar, by its number.
fn bar_span(piece: &Piece, number: usize) -> Result<Span, String> {
    let line = piece.line();
    let first = line.bars().number(0);
    let index = number.checked_sub(first).filter(|index| *index < line.bar_count());
    let index = index
        .ok_or_else(|| format!("there is no bar {number}: the bars are {first} to {}", last_bar(piece)))?;
    line.bar(index).map_err(|error| error.to_string())
}

/// The number of the last bar.
fn last_bar(piece: &Piece) -> usize {
    piece.line().bars().number(0) + piece.line().bar_count() - 1
}

/// The passage from one place to another.
fn stretch(piece: &Piece, edges: [&str; 2]) -> Result<Span, String> {
    part(piece, Some(edges[0].into()), Some(edges[1].into()))
}

/// The passage from one place to another, or from the start to the end of the line.
fn part(piece: &Piece, from: Option<String>, to: Option<String>) -> Result<Span, String> {
    let onset = |text: String| {
        let place: Place = text.parse().map_err(|error: BarsError| error.to_string())?;
        piece.line().bars().onset(place).map_err(|error| error.to_string())
    };
    let (from, to) = (from.map_or(Ok(Onset::ZERO), onset)?, to.map_or(Ok(piece.line().end()), onset)?);
    Ok(Span::new(from, to).ok_or("the passage ends before it starts: swap the two places")?)
}

/// The passage from one place to another, which has to contain some of the line.
fn stretch_of_line(piece: &Piece, edges: [&str; 2]) -> Result<Span, String> {
    let (stretch, end) = (stretch(piece, edges)?, piece.line().end());
    match () {
        () if stretch.end() > end => {
            Err(format!("there is nothing at {}: the line ends before it", edges[1]))
        }
        () if stretch.start() == stretch.end() => Err("the passage is empty: it ends where it starts".into()),
        () => Ok(stretch),
    }
}

/// The text of a shape and its copies.
fn shape(
    file: &Path,
    piece: &Piece,
    scale: Scale,
    region: Region,
    steps: Option<i8>,
    edges: Option<(String, String)>,
) -> Result<String, String> {
    let (line, casting) = (piece.line(), piece.casting());
    let stretch = match &edges {
        Some((from, to)) => stretch(piece, [from, to])?,
        None => drill::first_shape(line, casting).map_err(|error| error.to_string())?,
    };
    let octave = i8::try_from(scale.degrees().count()).unwrap_or(i8::MAX);
    let shape = Shape { stretch, scale, steps: steps.unwrap_or(octave), region };
    let made = drill::sequence(line, casting, &shape);
    told(file, &made.map_err(|error| error.to_string())?)
}

/// The text of an exercise. What came out differently than asked goes to standard error.
fn told(file: &Path, made: &Exercise) -> Result<String, String> {
    for remark in made.remarks() {
        eprintln!("{}", named(file, &remark));
    }
    let text = write::text::line(&made.line, &made.casting).map_err(|error| error.to_string())?;
    Ok(text.trim_end().to_string())
}

/// The line in words, one row per bar.
fn described(piece: &Piece, added: Annotations) -> halfbar_core::Result<String> {
    let title = &piece.line().heading().title;
    let said = |text: String| words().say(&text).into_owned();
    let mut rows = vec![said(describe::heading(piece.line()))];
    if !title.is_empty() {
        rows.insert(0, title.clone());
    }
    for index in 0..piece.written().bars.len() {
        rows.push(said(piece.describe(index, added)?.to_string()));
    }
    Ok(rows.join("\n"))
}

/// A figure from the catalogue or from the text; otherwise what it could be, and how to write another one.
fn figure_of(known: &Casting, name: &str, own: &str) -> Result<Arc<Figure>, String> {
    known.figure(name).ok_or_else(|| {
        let names: Vec<_> = known.figures().map(|figure| figure.name()).collect();
        format!("`{name}` is not a figure: the figures are {}; or {own}", names.join(", "))
    })
}

/// The steps to a figure, one text after another.
fn ladder(name: &str, side: Option<Side>, piece: Option<&Piece>) -> Result<String, String> {
    let known = piece.map_or_else(Casting::default, |piece| piece.casting().cleared());
    let figure = match figure_of(&known, name, "write lengths such as `2/3 1/3 1/3 2/3`") {
        Ok(figure) => figure,
        Err(_) if name.starts_with(|c: char| c.is_ascii_digit() || c == 'r') => {
            Arc::new(Figure::new("own", name).map_err(|error| error.to_string())?)
        }
        Err(error) => return Err(error),
    };
    let mut texts = Vec::new();
    for side in Side::ALL.into_iter().filter(|&one| side.is_none_or(|side| side == one)) {
        let within = piece.map(|piece| (piece.line(), piece.casting()));
        let steps = drill::ladder(&figure, side, within).map_err(|error| error.to_string())?;
        for (index, step) in steps.into_iter().map(|step| step.in_words(words())).enumerate() {
            let text = write::text::line(&step.line, &step.casting).map_err(|error| error.to_string())?;
            texts.push(format!(
                "# step {} to {}, from {}\n{}",
                index + 1,
                figure.name(),
                words().say(side.name()),
                text.trim_end()
            ));
        }
    }
    Ok(texts.join("\n\n"))
}

/// The text with a passage moved.
fn shift(file: &Path, piece: &Piece, edges: [&str; 2], way: Way) -> Result<String, String> {
    let stretch = stretch(piece, edges)?;
    let direction = match way {
        Way::Earlier => Direction::Earlier,
        Way::Later => Direction::Later,
    };
    let shifted = recast::shift(piece.line(), piece.casting(), stretch, direction)
        .map_err(|error| error.to_string())?;
    for lost in &shifted.pushed_out {
        let what = if lost.left > Duration::ZERO { "shortened" } else { "pushed out" };
        eprintln!("{}", named(file, &format!("{}: {} is {what}", lost.place.spoken(), lost.pitch)));
    }
    let text = write::text::line(&shifted.line, &shifted.casting).map_err(|error| error.to_string())?;
    Ok(text.trim_end().to_string())
}

/// The catalogue as a table.
fn figures() -> String {
    let rows = Figure::all().iter().map(|figure| {
        let spellings: Vec<_> = figure.spellings().iter().map(ToString::to_string).collect();
        format!(
            "{:<17} {:<21} {:<20} {}",
            figure.name(),
            figure.to_string(),
            spellings.join(" "),
            words().say(figure.says())
        )
    });
    rows.collect::<Vec<_>>().join("\n")
}

/// Reads a file whose text has to be valid; otherwise, returns everything that is wrong with it.
fn piece(file: &Path) -> Result<Piece, String> {
    piece_of(file, &bytes(file).map_err(|error| named(file, &error.to_string()))?)
}

/// The same for text that was read from a file.
fn piece_of(file: &Path, source: &[u8]) -> Result<Piece, String> {
    let reading = read::bytes(source);
    let text = String::from_utf8_lossy(source);
    match reading.line {
        Some(line) if reading.diagnostics.is_empty() => {
            for remark in &reading.remarks {
                eprintln!("{}", named(file, &remark.render(&text)));
            }
            Piece::new(line, reading.casting).map_err(|error| named(file, &error.to_string()))
        }
        _ => {
            let messages: Vec<_> =
                reading.diagnostics.iter().map(|d| named(file, &d.render(&text))).collect();
            Err(messages.join("\n"))
        }
    }
}

fn bytes(file: &Path) -> io::Result<Vec<u8>> {
    if file.as_os_str() != "-" {
        return fs::read(file);
    }
    let mut source = Vec::new();
    io::stdin().read_to_end(&mut source)?;
    Ok(source)
}

fn named(file: &Path, message: &str) -> String {
    let name = if file.as_os_str() == "-" { "standard input".into() } else { file.display().to_string() };
    // A row of the text may follow the first row.
    let (says, context) = message.split_at(message.find('\n').unwrap_or(message.len()));
    format!("{name}:{}{context}", words().say(says))
}
