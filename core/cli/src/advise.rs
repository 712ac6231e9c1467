//! `halfbar advise`: where to recast a line, and why.

use std::path::PathBuf;

use clap::Args;
use halfbar_core::advise::{self, Density, Suggestion};
use halfbar_core::recast::Spelling;
use halfbar_core::write;

use crate::{bytes, figure_of, named, piece_of, words};

/// What is asked for.
#[derive(Args)]
pub(crate) struct Advise {
    /// The text file; `-` reads standard input.
    file: PathBuf,
    /// How much to recast: sparingly (at most one half-bar in eight), often (one in four), alternately (every other one) or everywhere
    /// (all that can be).
    #[arg(long, default_value = "sparingly")]
    density: Density,
    /// The figure, from the catalogue or from the text.
    #[arg(long, default_value = "split-last")]
    figure: String,
    /// Its notation: bracket, tied, plain or grouped; by default, the usual one of those that work at each place.
    #[arg(long)]
    spelling: Option<Spelling>,
    /// Write the text with all of the suggestions taken instead.
    #[arg(long)]
    take: bool,
}

/// A row for each suggestion, or the text with all of them taken.
pub(crate) fn advise(asked: &Advise) -> Result<String, String> {
    let file = asked.file.as_path();
    let source = bytes(file).map_err(|error| named(file, &error.to_string()))?;
    let (line, mut casting) = piece_of(file, &source)?.into_parts();
    let own = "add your own to the text, such as `figure: lilt = 2/3 1/3 1/3 2/3`";
    let figure = figure_of(&casting, &asked.figure, own).map_err(|error| named(file, &error))?;
    let suggestions = advise::advise(&line, &casting, &figure, asked.spelling, asked.density)
        .map_err(|error| named(file, &error.to_string()))?;
    if !asked.take {
        return Ok(suggestions.iter().map(row).collect::<Vec<_>>().join("\n"));
    }
    for suggestion in suggestions {
        casting.put(suggestion.window);
    }
    let text = write::text::with_casting(&String::from_utf8_lossy(&source), &casting, line.bars());
    Ok(text.map_err(|error| named(file, &error.to_string()))?.trim_end().to_string())
}

/// A place, a weight and the reasons, each with its own weight.
fn row(suggestion: &Suggestion) -> String {
    let reasons = suggestion.reasons.iter().map(|reason| format!("{reason} ({:+})", reason.weight()));
    let reasons = reasons.collect::<Vec<_>>().join(", ");
    words().say(format!("{}  {:+}  {reasons}", suggestion.place, suggestion.weight).trim_end()).into_owned()
}
