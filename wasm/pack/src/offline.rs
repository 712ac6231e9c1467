//! What lets a browser keep the site: a folder named after the version, the service worker with its list of files, and the manifest.

use anyhow::{Context, Result};
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::path::Path;
use walkdir::WalkDir;

use crate::single_file::{FAILURE, OFFLINE, PRELOADS, START, STYLE, replace_once};

const PAGE: &str = "index.html";
const WORKER: &str = "worker.js";
const MANIFEST: &str = "app.webmanifest";
/// Files with the same address in every version, by the start of their names: pages, and what other pages and operating systems request.
const STAYS: [&str; 6] = [PAGE, "lesson.", "half-bar.css", WORKER, MANIFEST, "icon"];
/// The modules that other pages import, and whether they have a default export. They are replaced by files that re-export what the version has.
const PASSED_ON: [(&str, bool); 4] = [
    ("half-bar.js", false),
    ("halfbar_widget.js", true),
    ("halfbar_piece.js", true),
    ("halfbar_exchange.js", true),
];
/// Files that a browser keeps no copy of, by a part of their names: types, and the module for scripts and for mistakes in an example, which no page of
/// the site loads.
const NOT_KEPT: [&str; 2] = [".d.ts", "halfbar_piece"];
/// How many digits of the hash are a version's name; `worker.js` recognizes the folder by them.
const DIGITS: usize = 12;

/// Fills in the site's manifest, moves its files into the version's folder, and tells the service worker what to keep.
pub(crate) fn prepare(site: &Path) -> Result<()> {
    dress(site)?;
    let version = version(site)?;
    move_in(site, &version)?;
    list(site, &version)
}

/// Fills in the manifest with the page's light color.
fn dress(site: &Path) -> Result<()> {
    let style = fs_err::read_to_string(site.join("style.css"))?;
    let paper = style.split_once("--paper: ").and_then(|(_, rest)| rest.split_once(';'));
    let paper = paper.context("style.css has no `--paper: …;`")?.0;
    let manifest = fs_err::read_to_string(site.join(MANIFEST))?;
    Ok(fs_err::write(site.join(MANIFEST), manifest.replace("{paper}", paper))?)
}

/// The files of a folder by name, with `/` as the separator on every system.
fn files(site: &Path) -> Result<BTreeMap<String, Vec<u8>>> {
    let mut files = BTreeMap::new();
    for entry in WalkDir::new(site) {
        let entry = entry?;
        if entry.file_type().is_file() {
            let path = entry.path().strip_prefix(site)?;
            let parts: Vec<_> = path.iter().map(|part| part.to_string_lossy()).collect();
            files.insert(parts.join("/"), fs_err::read(entry.path())?);
        }
    }
    Ok(files)
}

/// A hash of everything in the folder.
fn version(site: &Path) -> Result<String> {
    let mut hash = Sha256::new();
    for (name, content) in files(site)? {
        hash.update(name.len().to_le_bytes());
        hash.update(name);
        hash.update(content.len().to_le_bytes());
        hash.update(content);
    }
    let digits: String = hash.finalize().iter().map(|byte| format!("{byte:02x}")).collect();
    Ok(digits[..DIGITS].to_owned())
}

/// Moves what belongs to the version into its folder.
fn move_in(site: &Path, version: &str) -> Result<()> {
    let folder = site.join(version);
    fs_err::create_dir(&folder)?;
    for entry in fs_err::read_dir(site)? {
        let entry = entry?;
        let name = entry.file_name().to_string_lossy().into_owned();
        if name != version && !STAYS.iter().any(|start| name.starts_with(start)) {
            fs_err::rename(entry.path(), folder.join(name))?;
        }
    }
    for (name, has_default) in PASSED_ON {
        let from = format!("from \"./{version}/{name}\";\n");
        let default = if has_default { format!("export {{ default }} {from}") } else { String::new() };
        fs_err::write(site.join(name), format!("{default}export * {from}"))?;
    }
    let page = site.join(PAGE);
    let mut moved = [STYLE, FAILURE, START, OFFLINE].into_iter().chain(PRELOADS);
    let text = moved.try_fold(fs_err::read_to_string(&page)?, |text, tag| {
        let to = ["href=\"", "src=\""]
            .iter()
            .fold(tag.to_owned(), |tag, start| tag.replace(start, &format!("{start}{version}/")));
        replace_once(PAGE, &text, tag, &to)
    })?;
    Ok(fs_err::write(page, text)?)
}

/// Fills in the service worker's list: every file that a page may load, with its hash (W3C Subresource Integrity).
fn list(site: &Path, version: &str) -> Result<()> {
    let mut list = BTreeMap::new();
    for (name, content) in files(site)? {
        if name != WORKER && !NOT_KEPT.iter().any(|part| name.contains(part)) {
            // The folder's own address is the page.
            let name = if name == PAGE { String::new() } else { name };
            list.insert(name, format!("sha256-{}", STANDARD.encode(Sha256::digest(content))));
        }
    }
    let worker = site.join(WORKER);
    let text = fs_err::read_to_string(&worker)?;
    let text = replace_once(WORKER, &text, "{version}", version)?;
    let text = replace_once(WORKER, &text, "{files}", &serde_json::to_string_pretty(&list)?)?;
    Ok(fs_err::write(worker, text)?)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A site before preparation.
    fn site() -> Result<tempfile::TempDir> {
        let site = tempfile::tempdir()?;
        for (name, content) in [
            (PAGE, ([STYLE, FAILURE, START, OFFLINE].concat() + &PRELOADS.concat()).as_str()),
            (WORKER, "const VERSION = \"{version}\"; const FILES = {files};"),
            (MANIFEST, "\"theme_color\": \"{paper}\""),
            ("style.css", ":root { --paper: #fed; --ink: #123; } .dark { --paper: #000; }"),
            ("start.js", "start()"),
            ("half-bar.js", "element"),
            ("half-bar.d.ts", "types"),
            ("halfbar_widget.js", "widget"),
            ("halfbar_piece.js", "piece"),
            ("halfbar_exchange.js", "files"),
        ] {
            fs_err::write(site.path().join(name), content)?;
        }
        Ok(site)
    }

    #[test]
    fn what_a_page_loads_lies_in_the_folder_of_its_version() -> Result<()> {
        let site = site()?;
        prepare(site.path())?;
        let files = files(site.path())?;
        let text = |name: &str| String::from_utf8_lossy(&files[name]).into_owned();
        let (_, rest) = text(WORKER)
            .split_once("VERSION = \"")
            .map(|(a, b)| (a.to_owned(), b.to_owned()))
            .context("no version")?;
        let version = rest.split('"').next().unwrap_or_default().to_owned();
        assert!(
            version.len() == DIGITS && version.chars().all(|digit| digit.is_ascii_hexdigit()),
            "{version}"
        );
        assert_eq!(text(&format!("{version}/start.js")), "start()");
        for moved in ["style.css", "start.js", "failure.js", "offline.js", "text-400.woff2", "text-600.woff2"]
        {
            assert!(text(PAGE).contains(&format!("=\"{version}/{moved}\"")), "{}", text(PAGE));
        }
        assert_eq!(text("half-bar.js"), format!("export * from \"./{version}/half-bar.js\";\n"));
        assert_eq!(
            text("halfbar_widget.js"),
            format!(
                "export {{ default }} from \"./{version}/halfbar_widget.js\";\n\
                 export * from \"./{version}/halfbar_widget.js\";\n"
            )
        );
        assert_eq!(text(MANIFEST), "\"theme_color\": \"#fed\"");
        // The worker lists all of them, but neither itself nor files that no browser loads.
        for name in files.keys() {
            let key =
                if name == PAGE { "\"\": \"sha256-".to_owned() } else { format!("\"{name}\": \"sha256-") };
            let wanted = name != WORKER && !name.ends_with(".d.ts") && !name.ends_with("halfbar_piece.js");
            assert_eq!(text(WORKER).contains(&key), wanted, "{name}");
        }
        Ok(())
    }

    #[test]
    fn a_version_is_its_content() -> Result<()> {
        let (one, same, other) = (site()?, site()?, site()?);
        fs_err::write(other.path().join("start.js"), "stop()")?;
        let [one, same, other] = [one, same, other].map(|site| version(site.path()).unwrap_or_default());
        assert_eq!(one, same);
        assert_ne!(one, other);
        // Moving bytes from one file to the next is a change, too.
        let moved = site()?;
        fs_err::write(moved.path().join("half-bar.js"), "elemen")?;
        fs_err::write(moved.path().join("half-bar.d.ts"), "ttypes")?;
        assert_ne!(version(moved.path())?, one);
        Ok(())
    }
}
