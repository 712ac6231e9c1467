//! The commands that make lines from chords and scales.

use std::path::{Path, PathBuf};

use clap::Args;
use halfbar_core::bars::{Bars, Place};
use halfbar_core::chord::ChordSymbol;
use halfbar_core::harmony::Position;
use halfbar_core::key::Key;
use halfbar_core::line::Heading;
use halfbar_core::material::{
    self, Arpeggios, Chain, ChordSize, Land, Leap, Made, MaterialError, NoteOrder, Pentatonic, Progression,
    Setup, Shapes, Side, Voicing, Way,
};
use halfbar_core::meter::Meter;
use halfbar_core::neck::Neck;
use halfbar_core::recast::Casting;
use halfbar_core::scale::Scale;
use halfbar_core::time::Duration;
use halfbar_core::write;

use crate::{RegionArguments, named};

/// The bars and the neck of a line that is made.
#[derive(Args)]
struct SetupArguments {
    /// The key, such as Eb or `C minor`; as the chords or the scale suggest by default.
    #[arg(long)]
    key: Option<Key>,
    /// The meter.
    #[arg(long, default_value = "4/4")]
    meter: Meter,
    /// The length of a pickup, in quarter notes.
    #[arg(long)]
    pickup: Option<Duration>,
    /// Tuning, frets and capo, such as `drop-d, 24 frets`.
    #[arg(long)]
    neck: Option<Neck>,
    #[command(flatten)]
    region: RegionArguments,
}

impl SetupArguments {
    /// The setup, in this key if none is asked for.
    fn setup(&self, usual: Key) -> Result<Setup, String> {
        let key = self.key.unwrap_or(usual);
        let bars = Bars::new(self.meter).in_key(key);
        let bars = match self.pickup {
            Some(pickup) => bars.with_pickup(pickup).map_err(|error| error.to_string())?,
            None => bars,
        };
        let neck = self.neck.clone().unwrap_or_default();
        Ok(Setup { bars, heading: Heading { neck, ..Heading::default() }, region: self.region.region() })
    }
}

/// Arpeggios over chords, each joined to the next.
#[derive(Args)]
pub(crate) struct ChainArguments {
    /// Chords with their lengths in quarter notes, such as `Fm7:2 Bb7alt:2 Ebmaj7:4`. A chord without a length lasts to the end of its bar.
    chords: Progression,
    /// Which shapes the chords get: own, scale (the sevenths of the chord's scale), or a list of shapes on degrees of the chord, such as
    /// `b3 maj7, b7 m7b5`.
    #[arg(long, default_value = "own")]
    shapes: Shapes,
    /// The inversion of each shape, 0 for root position; whichever joins best by default.
    #[arg(long)]
    inversion: Option<u8>,
    /// Which way each shape goes: up or down; whichever joins best by default.
    #[arg(long)]
    direction: Option<Way>,
    /// How many notes each chord gets before it rests; as many as it has room for by default.
    #[arg(long)]
    notes: Option<u8>,
    /// How far a joint may leap: step, third, fourth, fifth or octave.
    #[arg(long, default_value = "third")]
    leap: Leap,
    /// Repeat the chords through a scale that they belong to, such as `Eb major`, as triads and seventh chords: a sixth becomes a seventh, and ninths
    /// and above are left out.
    #[arg(long, value_name = "SCALE")]
    through: Option<Scale>,
    /// How many steps of the scale to move: 1 for steps, 2 for thirds, negative for down.
    #[arg(long, default_value_t = 1, requires = "through", allow_negative_numbers = true)]
    by: i32,
    /// How many times to move.
    #[arg(long, default_value_t = 6, requires = "through", value_parser = clap::value_parser!(u8).range(1..=24))]
    times: u8,
    #[command(flatten)]
    setup: SetupArguments,
}

pub(crate) fn chain(asked: ChainArguments) -> Result<String, String> {
    let chords = match asked.through {
        Some(scale) => asked.chords.through(scale, asked.by, asked.times),
        None => Ok(asked.chords.clone()),
    };
    let asked = Chain {
        setup: asked.setup.setup(asked.chords.key())?,
        shapes: asked.shapes,
        inversion: asked.inversion,
        direction: asked.direction,
        notes: asked.notes,
        leap: asked.leap,
        chords: chords.map_err(|error| wrong("chain", &error))?,
    };
    told("chain", material::chain(&asked))
}

/// The chords of a scale, one after another.
#[derive(Args)]
pub(crate) struct ArpeggiosArguments {
    /// The scale, such as `Eb major`.
    scale: Scale,
    /// Play seventh chords instead of triads.
    #[arg(long)]
    sevenths: bool,
    /// The inversion: 0 for root position, 1, 2, 3, or each.
    #[arg(long, default_value = "0", value_parser = inversion)]
    inversion: Inversion,
    /// The order of the notes, each by its number from the lowest, such as 1324.
    #[arg(long)]
    order: Option<NoteOrder>,
    /// Which way each arpeggio goes: up or down.
    #[arg(long, default_value = "up")]
    direction: Way,
    /// Give each note a string of its own.
    #[arg(long)]
    one_per_string: bool,
    /// How many steps to go from the tonic, negative for down.
    #[arg(long, default_value_t = 7, allow_negative_numbers = true)]
    steps: i8,
    #[command(flatten)]
    setup: SetupArguments,
}

/// One inversion, or each.
#[derive(Clone, Copy)]
struct Inversion(Option<u8>);

fn inversion(text: &str) -> Result<Inversion, String> {
    match text {
        "each" => Ok(Inversion(None)),
        _ => {
            text.parse().map(|number| Inversion(Some(number))).map_err(|_| "write 0, 1, 2, 3 or each".into())
        }
    }
}

pub(crate) fn arpeggios(asked: ArpeggiosArguments) -> Result<String, String> {
    let usual = Arpeggios::new(asked.scale);
    let asked = Arpeggios {
        setup: asked.setup.setup(usual.setup.bars.key(0))?,
        scale: asked.scale,
        size: if asked.sevenths { ChordSize::Sevenths } else { ChordSize::Triads },
        inversion: asked.inversion.0,
        order: asked.order.unwrap_or_default(),
        direction: asked.direction,
        one_per_string: asked.one_per_string,
        steps: asked.steps,
    };
    told("arpeggios", material::arpeggios(&asked))
}

/// Voicings, note by note.
#[derive(Args)]
pub(crate) struct VoicingArguments {
    /// A chord, or chords with their lengths in quarter notes, such as `Cm7:4 F7:4`. A chord without a length lasts to the end of its bar.
    chords: Progression,
    /// Which notes of a close position are an octave lower, counted from the highest: 2, 3 or 2+4; 2 by default.
    #[arg(long, value_parser = dropped, conflicts_with_all = ["shell", "spread"])]
    drop: Option<Position>,
    /// Play shells: root, third and seventh.
    #[arg(long, conflicts_with = "spread")]
    shell: bool,
    /// Play spread triads: the middle note is an octave higher.
    #[arg(long)]
    spread: bool,
    /// The number of the lowest degree, one that the chord has, such as 1, 3, 5 or 7; whichever is nearest by default.
    #[arg(long)]
    lowest: Option<u8>,
    /// The order of the notes, each by its number from the lowest, such as 1324.
    #[arg(long)]
    order: Option<NoteOrder>,
    #[command(flatten)]
    setup: SetupArguments,
}

fn dropped(text: &str) -> Result<Position, String> {
    match text {
        "2" => Ok(Position::DropTwo),
        "3" => Ok(Position::DropThree),
        "2+4" | "24" => Ok(Position::DropTwoAndFour),
        _ => Err("write 2, 3 or 2+4".into()),
    }
}

pub(crate) fn voicing(asked: VoicingArguments) -> Result<String, String> {
    let usual = Voicing::new(asked.chords);
    let position = match (asked.shell, asked.spread) {
        (true, _) => Position::Shell,
        (_, true) => Position::Spread,
        _ => asked.drop.unwrap_or(usual.position),
    };
    let asked = Voicing {
        setup: asked.setup.setup(usual.setup.bars.key(0))?,
        chords: usual.chords,
        position,
        lowest: asked.lowest,
        order: asked.order.unwrap_or_default(),
    };
    told("voicing", material::voicing(&asked))
}

/// A pentatonic scale in groups.
#[derive(Args)]
pub(crate) struct PentatonicArguments {
    /// The scale: a tonic and minor, major, minor 6 or major b6, such as `G minor`.
    #[arg(value_parser = material::pentatonic_scale)]
    scale: Scale,
    /// How many notes a group has, 2 to 6; straight through the scale by default.
    #[arg(long)]
    groups: Option<u8>,
    /// How many scale tones each group starts after the one before.
    #[arg(long, default_value_t = 1)]
    advance: u8,
    /// Skip every other tone in a group.
    #[arg(long)]
    skip: bool,
    /// How many notes lie on each string, 2 or 3; as the hand finds them by default.
    #[arg(long)]
    per_string: Option<u8>,
    /// Which way to go: up or down.
    #[arg(long, default_value = "up")]
    direction: Way,
    /// A chord to play it over, such as Ebmaj7; the scale has to fit it.
    #[arg(long)]
    over: Option<ChordSymbol>,
    #[command(flatten)]
    setup: SetupArguments,
}

pub(crate) fn pentatonic(asked: PentatonicArguments) -> Result<String, String> {
    let usual = Pentatonic::new(asked.scale);
    let asked = Pentatonic {
        setup: asked.setup.setup(usual.setup.bars.key(0))?,
        scale: asked.scale,
        groups: asked.groups,
        advance: asked.advance,
        skips: asked.skip,
        per_string: asked.per_string,
        direction: asked.direction,
        over: asked.over,
    };
    told("pentatonic", material::pentatonic(&asked))
}

/// The pentatonic scales that fit a chord.
#[derive(Args)]
pub(crate) struct PentatonicsArguments {
    /// The chord, such as Ebmaj7.
    chord: ChordSymbol,
}

pub(crate) fn pentatonics(asked: &PentatonicsArguments) -> Result<String, String> {
    let fits = material::pentatonics(&asked.chord).map_err(|error| wrong("pentatonics", &error))?;
    Ok(fits.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n"))
}

/// The shapes of an altered dominant.
#[derive(Args)]
pub(crate) struct AlteredArguments {
    /// The dominant, such as Bb7alt.
    chord: ChordSymbol,
    /// Write a line with the shape of this number instead of the list.
    #[arg(long, value_name = "NUMBER")]
    shape: Option<usize>,
    #[command(flatten)]
    setup: SetupArguments,
}

pub(crate) fn altered(asked: &AlteredArguments) -> Result<String, String> {
    let shapes = material::altered(&asked.chord).map_err(|error| wrong("altered", &error))?;
    let Some(number) = asked.shape else {
        let rows = (1..).zip(&shapes).map(|(number, shape)| format!("{number:>2}  {shape}"));
        return Ok(rows.collect::<Vec<_>>().join("\n"));
    };
    let shape = number.checked_sub(1).and_then(|index| shapes.get(index));
    let shape = shape
        .ok_or_else(|| format!("altered: there is no shape {number}: they are 1 to {}", shapes.len()))?;
    told("altered", shape.line(&asked.setup.setup(Key::C)?))
}

/// A line that lands on its chords.
#[derive(Args)]
pub(crate) struct LandArguments {
    /// The text file; `-` reads standard input.
    file: PathBuf,
    /// The chord to land on, by where it starts: bar and beat, such as 2.1; every one by default.
    #[arg(long)]
    at: Option<Place>,
    /// The degrees to land on by their numbers, the preferred ones first; the first two count the same.
    #[arg(long, default_value = "3 7 9 5 1", value_parser = targets)]
    targets: Targets,
    /// From which side to reach them: below or above; either by default.
    #[arg(long)]
    from: Option<Side>,
    /// How many notes may be changed, 1 to 3.
    #[arg(long, default_value_t = 3)]
    most: u8,
}

/// Numbers of degrees.
#[derive(Clone)]
struct Targets(Vec<u8>);

fn targets(text: &str) -> Result<Targets, String> {
    let numbers = text.split([' ', ',']).filter(|number| !number.is_empty()).map(str::parse);
    let known = |numbers: &Vec<u8>| numbers.iter().all(|number| [1, 3, 5, 7, 9, 11, 13].contains(number));
    let numbers = numbers.collect::<Result<Vec<u8>, _>>().ok().filter(known);
    numbers.map(Targets).ok_or_else(|| "write numbers of degrees, such as `3 7 9`".into())
}

pub(crate) fn land(asked: &LandArguments) -> Result<String, String> {
    let (line, casting) = crate::piece(&asked.file)?.into_parts();
    let how = Land { at: asked.at, targets: asked.targets.0.clone(), from: asked.from, most: asked.most };
    let landed = material::land(&line, &casting, &how);
    let landed = landed.map_err(|error| named(&asked.file, &error.to_string()))?;
    for change in &landed.changes {
        eprintln!("{}", named(&asked.file, &change.to_string()));
    }
    let text = write::text::line(&landed.line, &landed.casting);
    Ok(text.map_err(|error| named(&asked.file, &error.to_string()))?.trim_end().to_string())
}

/// The text of a line that was made. What came out differently than asked goes to standard error.
fn told(command: &str, made: Result<Made, MaterialError>) -> Result<String, String> {
    let Made { line, remarks } = made.map_err(|error| wrong(command, &error))?;
    for remark in remarks {
        eprintln!("{}", named(Path::new(command), &format!(" {remark}")));
    }
    let text = write::text::line(&line, &Casting::default()).map_err(|error| error.to_string())?;
    Ok(text.trim_end().to_string())
}

fn wrong(command: &str, error: &MaterialError) -> String {
    named(Path::new(command), &format!(" {error}"))
}
