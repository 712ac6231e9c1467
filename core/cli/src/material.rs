//! The commands that make lines from chords and scales.

use std::path::Path;

use clap::Args;
use halfbar_core::bars::Bars;
use halfbar_core::harmony::Position;
use halfbar_core::key::Key;
use halfbar_core::line::Heading;
use halfbar_core::material::{
    self, Arpeggios, Chain, ChordSize, Leap, Made, MaterialError, NoteOrder, Progression, Setup, Shapes, Voicing, Way,
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
    /// The setup, with what isn't asked for as it is in another one.
    fn setup(&self, usual: Setup) -> Result<Setup, String> {
        let key = self.key.unwrap_or(usual.bars.key(0));
        let bars = Bars::new(self.meter).in_key(key);
        let bars = match self.pickup {
            Some(pickup) => bars.with_pickup(pickup).map_err(|error| error.to_string())?,
            None => bars,
        };
        let neck = self.neck.clone().unwrap_or_default();
        Ok(Setup { bars, heading: Heading { neck, ..usual.heading }, region: self.region.region() })
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
    /// Repeat the chords through a scale that they belong to, such as `Eb major`.
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
    let usual = Chain::new(chords.map_err(|error| wrong("chain", &error))?);
    let setup = Setup { bars: Chain::new(asked.chords).setup.bars, ..usual.setup };
    let asked = Chain {
        setup: asked.setup.setup(setup)?,
        shapes: asked.shapes,
        inversion: asked.inversion,
        direction: asked.direction,
        notes: asked.notes,
        leap: asked.leap,
        chords: usual.chords,
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
        _ => text.parse().map(|number| Inversion(Some(number))).map_err(|_| "write 0, 1, 2, 3 or each".into()),
    }
}

pub(crate) fn arpeggios(asked: ArpeggiosArguments) -> Result<String, String> {
    let usual = Arpeggios::new(asked.scale);
    let asked = Arpeggios {
        setup: asked.setup.setup(usual.setup)?,
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
    /// The number of the lowest degree: 1, 3, 5 or 7; whichever is nearest by default.
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
        setup: asked.setup.setup(usual.setup)?,
        chords: usual.chords,
        position,
        lowest: asked.lowest,
        order: asked.order.unwrap_or_default(),
    };
    told("voicing", material::voicing(&asked))
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
