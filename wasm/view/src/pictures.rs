//! Rhythms as pictures: on pads and beside the figures to choose from.

use std::sync::Arc;

use halfbar_core::recast::{Figure, Spelling};
use halfbar_dom::Result;
use halfbar_markup::picture;

use crate::unworded;

/// A figure in a spelling; `None` is the plain half-bar.
pub type Rhythm = Option<(Arc<Figure>, Spelling)>;

/// The pictures that were asked for. Each is drawn once.
#[derive(Default)]
pub struct Pictures {
    drawn: Vec<Picture>,
}

struct Picture {
    rhythm: Rhythm,
    svg: String,
}

impl Pictures {
    /// A rhythm's picture, as SVG.
    ///
    /// # Errors
    /// An `Error` with `code` when the rhythm is beyond any notation.
    pub fn of(&mut self, rhythm: &Rhythm) -> Result<&str> {
        let index = match self.drawn.iter().position(|picture| picture.rhythm == *rhythm) {
            Some(index) => index,
            None => {
                self.drawn.push(Picture::of(rhythm)?);
                self.drawn.len() - 1
            }
        };
        Ok(&self.drawn[index].svg)
    }

    /// Forgets a figure that is no more.
    pub fn forget(&mut self, name: &str) {
        let other =
            |picture: &Picture| picture.rhythm.as_ref().is_none_or(|(figure, _)| figure.name() != name);
        self.drawn.retain(other);
    }
}

impl Picture {
    fn of(rhythm: &Rhythm) -> Result<Picture> {
        let svg = picture(rhythm.as_ref().map(|(figure, spelling)| (figure, *spelling))).map_err(unworded)?;
        Ok(Picture { rhythm: rhythm.clone(), svg })
    }
}
