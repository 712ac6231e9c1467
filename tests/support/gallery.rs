//! Lines that are hard to engrave, in `tests/gallery`: each file is named after the difficulty, and says more in its first comments.

use std::path::Path;

use halfbar_core::engrave::{Layout, Width};
use halfbar_core::scene::{Scene, Sp};
use halfbar_core::write::svg::{Paper, document_on};
use halfbar_core::{Piece, read};

use crate::top;

/// The width of a page that doesn't set one: two bars of eighths.
const WIDTH: Sp = 80.0;

/// One of the lines.
pub struct Case {
    /// The difficulty.
    pub name: String,
    /// The line and everything derived from it.
    pub piece: Piece,
    width: Width,
}

impl Case {
    fn of(path: &Path) -> Case {
        let name = path.file_stem().unwrap().to_str().unwrap();
        let text = std::fs::read_to_string(path).unwrap();
        let reading = read::text(&text);
        assert!(reading.diagnostics.is_empty(), "{name}: {}", reading.diagnostics[0].render(&text));
        let width = text.lines().find_map(|row| row.strip_prefix("# width: ")?.parse().ok());
        let piece = Piece::new(reading.line.unwrap(), reading.casting).unwrap();
        Case { name: name.into(), piece, width: width.unwrap_or(Width::new(WIDTH).unwrap()) }
    }

    /// Its page.
    pub fn scene(&self) -> Scene {
        self.piece.engrave(&Layout { width: self.width, ..Layout::default() })
    }

    /// Its page in black on white.
    pub fn svg(&self) -> String {
        document_on(&self.scene(), Paper::White)
    }
}

/// All of them, by name. A comment such as `# width: 44` sets the width of the page.
pub fn cases() -> Vec<Case> {
    let folder = top().join("tests/gallery").read_dir().unwrap();
    let mut paths: Vec<_> = folder.map(|entry| entry.unwrap().path()).collect();
    paths.sort();
    paths.iter().map(|path| Case::of(path)).collect()
}
