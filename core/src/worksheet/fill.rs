//! Puts blocks on pages.

use crate::scene::{Point, Sp};

use super::blocks::Block;
use super::page::{Format, Page, SPACE, WIDTH};

/// The margin above and below, in millimeters. Most printers reach closer to the edges, and the footer goes
/// below.
const MARGIN: f64 = 15.0;
/// The most that blocks are moved apart to fill a page.
const MOST_STRETCH: Sp = 3.0;

/// Pages being filled.
pub(super) struct Fill {
    format: Format,
    /// The blocks of each page, with their positions below the upper margin.
    sheets: Vec<Sheet>,
}

#[derive(Default)]
struct Sheet {
    blocks: Vec<(Sp, Block)>,
    /// Where the last block ends.
    end: Sp,
    /// Whether the first block is a title.
    titled: bool,
    /// Whether there is an example here.
    begun: bool,
    /// Whether the next block didn't fit.
    full: bool,
}

impl Fill {
    pub(super) fn new(format: Format) -> Fill {
        Fill { format, sheets: vec![Sheet::default()] }
    }

    /// The height of the room for blocks.
    fn room(&self) -> Sp {
        self.format.size().1 - 2.0 * MARGIN / SPACE
    }

    /// Where a block would start and end on the current page.
    fn place(&self, block: &Block) -> (Sp, Sp) {
        let start = match self.sheets.last() {
            Some(sheet) if !sheet.blocks.is_empty() => sheet.end + block.before,
            _ => 0.0,
        };
        (start, start + block.height)
    }

    /// Starts a new page.
    pub(super) fn turn(&mut self) {
        self.sheets.push(Sheet::default());
    }

    fn put(&mut self, block: Block) {
        let (start, end) = self.place(&block);
        if let Some(sheet) = self.sheets.last_mut() {
            sheet.blocks.push((start, block));
            sheet.end = end;
        }
    }

    /// The title of what follows, on a page with nothing else on it yet.
    pub(super) fn head(&mut self, block: Block) {
        self.put(block);
        if let Some(sheet) = self.sheets.last_mut() {
            sheet.titled = true;
        }
    }

    /// An example, with its blocks on one page if a page can hold them.
    pub(super) fn example(&mut self, blocks: Vec<Block>) {
        let room = self.room();
        let mut height = 0.0;
        for block in &blocks {
            height += block.height + if height > 0.0 { block.before } else { 0.0 };
        }
        let mut whole = height <= room;
        for block in blocks {
            let block = block.within(room);
            let begun = self.sheets.last().is_some_and(|sheet| sheet.begun);
            let needed = if whole { height } else { block.height };
            // The first block stays below a title if it can, since a title alone on its page says nothing.
            let needed = if begun { needed } else { block.height };
            if self.place(&block).0 + needed > room {
                if let Some(sheet) = self.sheets.last_mut() {
                    sheet.full = true;
                }
                self.turn();
            }
            whole = false;
            self.put(block);
            if let Some(sheet) = self.sheets.last_mut() {
                sheet.begun = true;
            }
        }
    }

    /// The pages. Full ones are stretched a little, so that they end at the same height.
    pub(super) fn pages(self) -> Vec<Page> {
        let (room, (width, _)) = (self.room(), self.format.size());
        let (left, top) = ((width - WIDTH) / 2.0, MARGIN / SPACE);
        let page = |sheet: Sheet| {
            // What is under a title keeps its distance.
            let titled = usize::from(sheet.titled);
            let gaps = sheet.blocks.len().saturating_sub(titled + 1).max(1);
            #[allow(clippy::cast_precision_loss, reason = "a page holds a few blocks")]
            let stretch = ((room - sheet.end) / gaps as f64).min(MOST_STRETCH);
            let stretch = if sheet.full { stretch } else { 0.0 };
            let (mut parts, mut said, mut moved) = (Vec::new(), Vec::new(), 0.0);
            for (index, (y, block)) in sheet.blocks.into_iter().enumerate() {
                moved += if index > titled { stretch } else { 0.0 };
                let origin = Point::new(left, top + y + moved);
                said.extend(Some(block.says).filter(|says| !says.is_empty()));
                parts.extend(block.parts.into_iter().map(|mut part| {
                    part.at = Point::new(origin.x + part.at.x, origin.y + part.at.y);
                    part
                }));
            }
            Page { description: said.join(" "), parts }
        };
        self.sheets.into_iter().map(page).collect()
    }
}
