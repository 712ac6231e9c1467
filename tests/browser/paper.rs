//! The printed sheet, as a PDF that is read back by poppler (Debian `poppler-utils`), which has nothing to do with this project.

use std::path::{Path, PathBuf};
use std::process::Command;

use halfbar_tests::target;
use serde_json::{Value, json};
use thirtyfour::common::print::{PrintPage, PrintParameters};

use crate::expected::{Counts, LINE, count, long_line};
use crate::page::Page;

scenarios! {
    served (Served):
        what_is_printed_is_what_is_shown, a_long_line_on_a4, a_long_line_on_letter,
        a_short_line_on_a4_in_the_dark;
    from_disk (OneFile): what_is_printed_is_what_is_shown;
}

/// Lines of the staff and of the tab.
const LINES: usize = 5 + 6;
const DOTS_PER_INCH: f64 = 150.0;

async fn a_long_line_on_a4(page: Page) {
    prints(&page, "a4", (210.0, 297.0), "light", &long_line()).await;
}

async fn a_long_line_on_letter(page: Page) {
    prints(&page, "letter", (215.9, 279.4), "light", &long_line()).await;
}

async fn a_short_line_on_a4_in_the_dark(page: Page) {
    prints(&page, "a4-from-dark", (210.0, 297.0), "dark", LINE).await;
}

/// What is on the printed sheet, as the page prepares it.
async fn sheet(page: &Page) -> Counts {
    page.js(
        "const drawn = (role) => all(`#print svg.system g.${role}`).length;
        return {
            notes: drawn('note'), rests: drawn('rest'), tuplets: drawn('tuplet'), ties: drawn('tie'), chords: drawn('chord'),
        }",
    )
    .await
}

async fn what_is_printed_is_what_is_shown(page: Page) {
    page.open_with(1280, &long_line()).await;
    let media = |medium: &str| json!({ "media": medium });
    // Printed twice, the second time with another rhythm.
    for (bar, notation) in [(3, "tied"), (4, "bracket")] {
        page.js::<Value>("dispatchEvent(new Event('beforeprint'))").await;
        page.cdp("Emulation.setEmulatedMedia", media("print")).await;
        page.frames().await;
        let (text, printed) = (page.text().await, sheet(&page).await);
        assert_eq!(printed, count(&text), "{text}");
        // Each picture has its own box, none overlap, and none is wider than the sheet; there are no pads and no words.
        let boxes: Vec<[f64; 4]> = page
            .js("return all('#print svg.system').map((system) => {
                    const { left, top, right, bottom } = system.parentElement.getBoundingClientRect();
                    return [left, top, right, bottom];
                })")
            .await;
        assert!(boxes.len() >= 8, "{boxes:?}");
        for [left, top, right, bottom] in &boxes {
            assert!(*left >= 0.0 && *right <= 1280.0 && bottom - top > 50.0, "{boxes:?}");
        }
        for pair in boxes.windows(2) {
            assert!(pair[0][3] <= pair[1][1], "two systems overlap: {pair:?}");
        }
        let shown: Vec<String> = page
            .js("return all('body *').filter((element) => element.checkVisibility() && !element.closest('#print'))
                    .map((element) => element.outerHTML.slice(0, 80))")
            .await;
        assert!(shown.is_empty(), "{shown:#?}");
        page.cdp("Emulation.setEmulatedMedia", media("")).await;
        page.frames().await;
        page.click_pad(bar, 1).await;
        assert!(page.is_pressed(bar, 1).await);
        page.click(&format!("one('input[value={notation}]').closest('label')")).await;
    }
}

async fn prints(page: &Page, name: &str, (width, height): (f64, f64), scheme: &str, line: &str) {
    page.open_with(1280, line).await;
    let scheme = json!({ "features": [{ "name": "prefers-color-scheme", "value": scheme }] });
    page.cdp("Emulation.setEmulatedMedia", scheme).await;
    let before = page.music().await;
    // With backgrounds, because the sheet has to be white without leaving them out.
    let size = PrintPage { width: width / 10.0, height: height / 10.0 };
    let asked = PrintParameters { page: size, background: true, ..PrintParameters::default() };
    let pdf = page.driver().print_page(asked).await.unwrap();
    let file = target().join("shots").join(format!("{name}.pdf"));
    std::fs::create_dir_all(file.parent().unwrap()).unwrap();
    std::fs::write(&file, pdf).unwrap();
    let systems: usize = page.js("return all('#print svg.system').length").await;
    page.frames().await;
    assert_eq!(page.music().await, before, "printing changed what the page shows");

    let info = poppler("pdfinfo", &[file.to_str().unwrap()]);
    let field = |name: &str| {
        let row = info.lines().find_map(|row| row.strip_prefix(name));
        row.unwrap_or_else(|| panic!("no `{name}` in {info}")).trim_start_matches(':').trim().to_string()
    };
    let size: Vec<f64> = field("Page size").split(' ').filter_map(|word| word.parse::<f64>().ok()).collect();
    let expected = [width, height].map(|side| side / 25.4 * 72.0);
    assert!(size.iter().zip(expected).all(|(a, b)| (a - b).abs() < 1.0), "{size:?}: {info}");

    let words = poppler("pdftotext", &[file.to_str().unwrap(), "-"]);
    for word in ["letters", "split", "bracket", "tap", "title:", "Bar "] {
        assert!(!words.contains(word), "`{word}` is printed: {words}");
    }

    let scans = scans(&file);
    assert_eq!(scans.len().to_string(), field("Pages"), "{info}");
    let mut found = 0;
    for (index, scan) in scans.iter().enumerate() {
        let at = format!("{} page {}", file.display(), index + 1);
        found += check_sheet(scan, (width, height), &at);
    }
    assert_eq!(found, systems, "systems on {} pages of {}", scans.len(), file.display());
}

/// Checks one printed page and counts its systems.
fn check_sheet(scan: &Scan, (width, height): (f64, f64), at: &str) -> usize {
    let [left, top, right, bottom] = scan.ink().unwrap_or_else(|| panic!("{at} is blank"));
    let edges = [left, top, width - right, height - bottom];
    assert!(edges.iter().all(|edge| *edge > 10.0), "{at}: ink nearer than 10 mm to an edge: {edges:.1?}");
    assert!(scan.paper() == 255, "{at}: the paper is {} of 255", scan.paper());
    // If a system is cut, some of its lines are on another page, or what is above its staff comes below other lines.
    let lines = scan.lines();
    assert!(
        !lines.is_empty() && lines.len().is_multiple_of(LINES),
        "{at}: {} lines at {lines:.1?} mm",
        lines.len()
    );
    let under = bottom - lines.last().unwrap();
    assert!(under < 2.0, "{at}: {under:.1} mm of ink under the last line");
    for system in lines.chunks(LINES) {
        // There are 10 gaps, including the one between staff and tab. This makes sure that no two systems are mixed up.
        let gaps: Vec<f64> = system.windows(2).map(|pair| pair[1] - pair[0]).collect();
        let [staff, tab] = [&gaps[..4], &gaps[5..]].map(|gaps| gaps.iter().copied().fold(0.0, f64::max));
        assert!(staff < 2.5 && tab < 4.0, "{at}: the lines of a system are at {system:.1?} mm");
    }
    lines.len() / LINES
}

pub(crate) fn poppler(program: &str, arguments: &[&str]) -> String {
    let output = Command::new(program).args(arguments).output();
    let output = output.unwrap_or_else(|error| panic!("{program}, of poppler-utils: {error}"));
    assert!(output.status.success(), "{program} {arguments:?}: {}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8_lossy(&output.stdout).into_owned()
}

/// A printed page as a grayscale picture.
struct Scan {
    width: usize,
    pixels: Vec<u8>,
}

/// Renders each page of a PDF.
fn scans(pdf: &Path) -> Vec<Scan> {
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(pdf.file_stem().unwrap());
    let _ = std::fs::remove_dir_all(&folder);
    std::fs::create_dir_all(&folder).unwrap();
    let resolution = DOTS_PER_INCH.to_string();
    let (pdf, stem) = (pdf.to_str().unwrap(), folder.join("page"));
    poppler("pdftoppm", &["-r", &resolution, "-gray", pdf, stem.to_str().unwrap()]);
    let mut files: Vec<_> = std::fs::read_dir(&folder).unwrap().map(|file| file.unwrap().path()).collect();
    files.sort();
    let scans = files.iter().map(|file| Scan::read(&std::fs::read(file).unwrap())).collect();
    std::fs::remove_dir_all(&folder).unwrap();
    scans
}

impl Scan {
    /// Reads a binary PGM file: `P5`, width, height, the maximum value, then a byte per pixel.
    fn read(file: &[u8]) -> Scan {
        let head: Vec<&[u8]> = file.splitn(4, u8::is_ascii_whitespace).collect();
        let number = |bytes: &[u8]| std::str::from_utf8(bytes).unwrap().parse::<usize>().unwrap();
        assert_eq!(head[0], b"P5");
        let (width, height) = (number(head[1]), number(head[2]));
        let pixels = file[file.len() - width * height..].to_vec();
        Scan { width, pixels }
    }

    fn rows(&self) -> impl Iterator<Item = &[u8]> {
        self.pixels.chunks(self.width)
    }

    /// The median brightness of the page, which is that of the paper.
    fn paper(&self) -> u8 {
        let mut pixels = self.pixels.clone();
        pixels.sort_unstable();
        pixels[pixels.len() / 2]
    }

    /// The edges of everything that isn't paper: left, top, right, bottom, in millimeters.
    fn ink(&self) -> Option<[f64; 4]> {
        let dark = |pixel: &u8| *pixel < 200;
        let rows: Vec<usize> =
            self.rows().enumerate().filter(|(_, row)| row.iter().any(dark)).map(|(y, _)| y).collect();
        let left = self.rows().filter_map(|row| row.iter().position(dark)).min()?;
        let right = self.rows().filter_map(|row| row.iter().rposition(dark)).max()?;
        Some([left, *rows.first()?, right, *rows.last()?].map(millimeters))
    }

    /// The distances of the long horizontal lines from the top, in millimeters: those of staffs and tabs, not beams.
    fn lines(&self) -> Vec<f64> {
        let dark = |pixel: &u8| *pixel < 200;
        let is_line = |row: &[u8]| {
            let (Some(left), Some(right)) = (row.iter().position(dark), row.iter().rposition(dark)) else {
                return false;
            };
            let (long, inked) = (right - left, row.iter().filter(|pixel| dark(pixel)).count());
            // Numbers are in the gaps of a tab's lines.
            long > self.width / 6 && inked * 10 > long * 6
        };
        let rows: Vec<bool> = self.rows().map(is_line).collect();
        let starts: Vec<f64> =
            (1..rows.len()).filter(|&y| rows[y] && !rows[y - 1]).map(millimeters).collect();
        // A title can look like a line, but it is only one.
        let near = |a: usize, b: usize| starts.get(b).is_some_and(|other| (starts[a] - other).abs() < 4.0);
        let lines =
            (0..starts.len()).filter(|&index| near(index, index + 1) || near(index, index.wrapping_sub(1)));
        lines.map(|index| starts[index]).collect()
    }
}

fn millimeters(pixels: usize) -> f64 {
    f64::from(u32::try_from(pixels).unwrap()) / DOTS_PER_INCH * 25.4
}
