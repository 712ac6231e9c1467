//! The music: a picture a system, with its pads under it, and the same in words.

use std::sync::Arc;

use halfbar_core::dialect::Dialect;
use halfbar_core::engrave::{Before, Layout, PadRow, View, Width};
use halfbar_core::recast::{self, Figure, Grid, Offer, Spelling, Window};
use halfbar_core::scene::{Scene, Sp, System};
use halfbar_core::score::Annotations;
use halfbar_core::time::Onset;
use halfbar_core::{Piece, Result, describe, write};
use halfbar_words::view as says;

use crate::{escaped, own, spelling_for};

/// Pixels to the staff space on a wide page and on a phone, where letters have the usual 16 pixels. For a reader who has them larger, the
/// music is larger too.
const WIDE: f64 = 8.0;
const NARROW: f64 = 6.5;
const USUAL_LETTERS: f64 = 16.0;
/// A column narrower than this is a phone's.
const NARROW_BELOW: f64 = 620.0;
/// A pad is tall enough for a thumb (WCAG 2.2, target size: 44 px enhanced), and wide enough to be hit (24 px at least).
const PAD_HEIGHT: f64 = 48.0;
const PAD_WIDTH: f64 = 27.0;

/// How the music is drawn.
pub struct Look {
    /// What each system shows.
    pub view: View,
    /// What is added to the notes.
    pub annotations: Annotations,
    /// How wide a system is, in staff spaces; `None` is as wide as the column gives room for.
    pub width: Option<Sp>,
    /// What a tap may do, place by place; `None` is no pads at all.
    pub offers: Option<Vec<Offer>>,
    /// In whose words lengths are named.
    pub words: Dialect,
}

/// The room for it, in CSS pixels.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Room {
    /// How wide the column is.
    pub width: f64,
    /// How tall the page's letters are.
    pub letters: f64,
}

impl Room {
    /// A column of a page whose letters have the usual size.
    pub fn of(width: f64) -> Room {
        Room { width, letters: USUAL_LETTERS }
    }

    /// Lays the music out for it: what was asked of the engraver, and what came of it. What has not changed is taken from the page before.
    pub fn lay_out(self, piece: &Piece, look: &Look, before: Option<Before<'_>>) -> (Layout, Scene) {
        let usual = if self.width < NARROW_BELOW { NARROW } else { WIDE } * self.letters / USUAL_LETTERS;
        let space = look.width.map_or(usual, |width| self.width / width);
        let width = self.width / space;
        let pads = |scale: f64| {
            look.offers.as_ref().map(|offers| PadRow {
                height: PAD_HEIGHT / space * scale,
                least_width: PAD_WIDTH / space,
                spans: offers.iter().map(|offer| offer.span).collect(),
            })
        };
        let &Look { view, annotations, words, .. } = look;
        let mut layout =
            Layout { view, width: Width::nearest(width), head: true, annotations, pads: pads(1.0), words };
        let mut scene = match before {
            Some(before) => piece.engrave_after(&layout, before),
            None => piece.engrave(&layout),
        };
        if scene.width > width {
            // A bar that does not fit makes everything smaller, but not the pads.
            layout.pads = pads(scene.width / width);
            scene = piece.engrave(&layout);
        }
        (layout, scene)
    }
}

/// How the page shows a line at first: with a pad under every half-bar, and the catalogue's first figure chosen.
///
/// # Errors
/// When the line is too long to count.
pub fn first_look(piece: &Piece) -> Result<Look> {
    let figure = &Figure::all()[0];
    let window = Window::new(Onset::ZERO, Arc::clone(figure), spelling_for(figure, Spelling::ALL[0]));
    let offers = recast::offers(piece.line(), piece.casting(), Grid::Groups, &window)?;
    Ok(Look {
        view: View::default(),
        annotations: Annotations::default(),
        width: None,
        offers: Some(offers),
        words: Dialect::default(),
    })
}

/// What the music is, in words.
pub fn label(piece: &Piece, scene: &Scene) -> String {
    let heading = describe::heading(piece.line());
    if scene.title.is_empty() { heading } else { format!("{}: {heading}", own(&scene.title)) }
}

/// What a system shows, in words.
pub fn row_label(piece: &Piece, system: &System) -> String {
    let number = |index: usize| piece.line().bars().number(index);
    let (first, last) = (number(system.bars.start), number(system.bars.end.max(1) - 1));
    if first == last { says::bar(first) } else { says::bars(first, last) }
}

/// The head and the rows of a scene, without pads.
///
/// # Errors
/// When the music can't be said.
pub fn music(piece: &Piece, added: Annotations, scene: &Scene) -> Result<String> {
    let mut markup = format!("<div>{}</div>", write::svg::head(scene));
    for system in &scene.systems {
        let (picture, label) = (write::svg::system(scene, system), escaped(&row_label(piece, system)));
        markup += &format!(
            "<div class=\"row\"><div role=\"img\" aria-label=\"{label}\">{picture}</div><ul class=\"spoken\">"
        );
        for index in system.bars.clone() {
            let bar = describe::bar(piece.score(), index, added)?;
            markup += &format!("<li>{}</li>", escaped(&bar.to_string()));
        }
        markup += "</ul></div>";
    }
    Ok(markup)
}
