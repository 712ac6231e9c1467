//! Which figure a tap gives, and in which spelling: radio buttons with the rhythms as they would be written.

use std::sync::Arc;

use halfbar_core::engrave;
use halfbar_core::recast::{Figure, Spelling};
use halfbar_core::{Result, write};
use halfbar_words::view as says;

use crate::escaped;

/// The spelling that is wanted, or, for a figure that lacks it, its usual one.
pub fn spelling_for(figure: &Figure, wanted: Spelling) -> Spelling {
    if figure.spellings().contains(&wanted) { wanted } else { figure.spellings()[0] }
}

/// A rhythm's picture, as SVG; of the plain half-bar where there is none.
///
/// # Errors
/// When the rhythm is beyond any notation.
pub fn picture(rhythm: Option<(&Arc<Figure>, Spelling)>) -> Result<String> {
    let scene = engrave::picture(rhythm)?;
    Ok(scene.systems.first().map(|system| write::svg::system(&scene, system)).unwrap_or_default())
}

/// The figures of the catalogue, in the spelling that is wanted where they have it; the first is chosen.
///
/// # Errors
/// When a rhythm is beyond any notation.
pub fn figures(wanted: Spelling) -> Result<String> {
    Figure::all().iter().enumerate().map(|(index, one)| figure(one, wanted, index == 0)).collect()
}

/// A figure to choose.
///
/// # Errors
/// When the rhythm is beyond any notation.
pub fn figure(figure: &Arc<Figure>, wanted: Spelling, chosen: bool) -> Result<String> {
    // A figure of the user's own has the name that the user gave it, in whatever language.
    let own = figure.label().is_empty();
    let (shown, title) =
        if own { (figure.name(), says::OWN_FIGURE) } else { (figure.label(), figure.says()) };
    let (name, shown, title) = (escaped(figure.name()), escaped(shown), escaped(title));
    let translate = if own { " translate=\"no\"" } else { "" };
    let picture = picture(Some((figure, spelling_for(figure, wanted))))?;
    Ok(format!(
        "<label title=\"{title}\">{}<span class=\"picture\" aria-hidden=\"true\">{picture}</span>\
         <span{translate}>{shown}</span></label>",
        radio("figure", &name, chosen)
    ))
}

/// The spellings, of which the catalogue's first figure has some; the first is chosen.
pub fn spellings() -> String {
    let can = Figure::all()[0].spellings();
    Spelling::ALL
        .iter()
        .enumerate()
        .map(|(index, one)| spelling(*one, index == 0, can.contains(one)))
        .collect()
}

/// A spelling to choose, if it can be.
pub fn spelling(spelling: Spelling, chosen: bool, can: bool) -> String {
    let radio = radio("spelling", spelling.name(), chosen);
    let radio = if can { radio } else { radio.replacen('>', " disabled>", 1) };
    format!("<label>{radio}<span>{}</span></label>", spelling.label())
}

fn radio(name: &str, value: &str, chosen: bool) -> String {
    let chosen = if chosen { " checked" } else { "" };
    format!("<input type=\"radio\" name=\"{name}\" value=\"{value}\"{chosen}>")
}
