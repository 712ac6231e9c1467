//! Checks what a reader downloads against size budgets.

use anyhow::{Result, bail};
use flate2::Compression;
use flate2::write::GzEncoder;
use std::io::Write;
use std::ops::AddAssign;
use std::path::Path;
use walkdir::WalkDir;

/// Everything that the page loads, gzipped, in bytes. Just above what it is; the goal is 470,000 without harmony, exchange and lessons.
const PAGE_BUDGET: usize = 640_000;
/// The module of an example in a lesson page, gzipped, in bytes.
const EXAMPLE_BUDGET: usize = 200_000;

#[derive(Clone, Copy, Debug, Default)]
struct Size {
    raw: usize,
    gzip: usize,
}

impl Size {
    fn of(content: &[u8]) -> Result<Self> {
        // The default level of web servers.
        let mut encoder = GzEncoder::new(Vec::new(), Compression::default());
        encoder.write_all(content)?;
        Ok(Self { raw: content.len(), gzip: encoder.finish()?.len() })
    }
}

impl AddAssign for Size {
    fn add_assign(&mut self, other: Self) {
        self.raw += other.raw;
        self.gzip += other.gzip;
    }
}

/// What a file is for, by the start of its name: these are loaded by an example in a lesson page, by one that is played, by scripts and examples with a
/// mistake, when somebody imports or exports a file of another program, or only by the demo lesson. The page loads all others.
const ELEMENT: &[&str] = &["halfbar_widget", "half-bar"];
const SOUND: &[&str] = &["halfbar_sound"];
const SCRIPTS: &[&str] = &["halfbar_piece"];
const EXCHANGE: &[&str] = &["halfbar_exchange"];
const LESSON: &[&str] = &["lesson"];

/// The files of one download.
struct Load {
    wasm: Size,
    js: Size,
    css: Size,
}

impl Load {
    fn of(site: &Path, wanted: impl Fn(&str) -> bool) -> Result<Load> {
        let kind = |extension| of_kind(site, extension, &wanted);
        Ok(Load { wasm: kind("wasm")?, js: kind("js")?, css: kind("css")? })
    }

    fn total(&self) -> Size {
        let mut total = self.wasm;
        total += self.js;
        total += self.css;
        total
    }
}

/// Prints the sizes; fails if a budget is exceeded.
pub(crate) fn check(site: &Path, single: &Path) -> Result<()> {
    let starts = |name: &str, list: &[&str]| list.iter().any(|start| name.starts_with(start));
    let others = [ELEMENT, SOUND, SCRIPTS, EXCHANGE, LESSON];
    let page = Load::of(site, |name| !others.iter().any(|list| starts(name, list)))?;
    let [element, sound, scripts, exchange] =
        [ELEMENT, SOUND, SCRIPTS, EXCHANGE].map(|list| Load::of(site, |name| starts(name, list)));
    let (element, sound, scripts, exchange) = (element?, sound?, scripts?, exchange?);

    println!("{:<18}{:>10}{:>10}{:>10}", "KB", "raw", "gzip", "at most");
    for (whose, load, wasm, total) in
        [("page", &page, None, Some(PAGE_BUDGET)), ("element", &element, Some(EXAMPLE_BUDGET), None)]
    {
        print_row(&format!("{whose}: wasm"), load.wasm, wasm);
        print_row("JavaScript", load.js, None);
        print_row("CSS", load.css, None);
        print_row("wasm + JS + CSS", load.total(), total);
    }
    for (whose, load) in
        [("sound: wasm + JS", &sound), ("scripts: wasm + JS", &scripts), ("files: wasm + JS", &exchange)]
    {
        print_row(whose, load.total(), None);
    }
    print_row("single file", Size::of(&fs_err::read(single)?)?, None);

    let over: Vec<_> = [
        ("the page's wasm + JS + CSS", page.total(), PAGE_BUDGET),
        ("the element's wasm", element.wasm, EXAMPLE_BUDGET),
    ]
    .into_iter()
    .filter_map(|(what, size, budget)| overrun(what, size, budget))
    .collect();
    if !over.is_empty() {
        bail!("{}", over.join("\n"));
    }
    Ok(())
}

/// The total size of all files with this extension and a matching name, each gzipped by itself, as it is sent.
fn of_kind(site: &Path, extension: &str, wanted: impl Fn(&str) -> bool) -> Result<Size> {
    let mut sum = Size::default();
    for entry in WalkDir::new(site) {
        let entry = entry?;
        let path = entry.path();
        if path.extension().is_some_and(|found| found == extension)
            && entry.file_name().to_str().is_some_and(&wanted)
        {
            sum += Size::of(&fs_err::read(path)?)?;
        }
    }
    Ok(sum)
}

fn print_row(what: &str, size: Size, budget: Option<usize>) {
    let budget = budget.map(kb).unwrap_or_default();
    println!("{what:<18}{:>10}{:>10}{budget:>10}", kb(size.raw), kb(size.gzip));
}

fn overrun(what: &str, size: Size, budget: usize) -> Option<String> {
    let by = size.gzip.checked_sub(budget).filter(|by| *by > 0)?;
    Some(format!("{what} is {by} bytes over its budget of {} KB gzipped", kb(budget)))
}

/// Kilobytes of 1000 bytes, rounded up to tenths so that nothing over a budget looks within it.
fn kb(bytes: usize) -> String {
    let tenths = bytes.div_ceil(100);
    format!("{}.{}", tenths / 10, tenths % 10)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_budget_may_be_reached_but_not_passed() {
        let size = |gzip| Size { raw: 0, gzip };
        assert_eq!(overrun("it", size(250_000), 250_000), None);
        assert_eq!(
            overrun("it", size(250_001), 250_000).as_deref(),
            Some("it is 1 bytes over its budget of 250.0 KB gzipped")
        );
    }

    #[test]
    fn kilobytes_are_rounded_up() {
        assert_eq!([0, 1, 100, 12_345, 250_000].map(kb), ["0.0", "0.1", "0.1", "12.4", "250.0"]);
    }

    #[test]
    fn only_files_of_the_kind_count_in_any_folder() -> Result<()> {
        let site = tempfile::tempdir()?;
        fs_err::create_dir(site.path().join("snippets"))?;
        for (name, content) in [("a.js", "12"), ("snippets/b.js", "345"), ("a.d.ts", "6789")] {
            fs_err::write(site.path().join(name), content)?;
        }
        assert_eq!(of_kind(site.path(), "js", |_| true)?.raw, 5);
        assert_eq!(of_kind(site.path(), "js", |name| name.starts_with('b'))?.raw, 3);
        Ok(())
    }
}
