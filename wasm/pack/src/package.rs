//! The element as a folder that is ready for the npm registry.

use anyhow::{Context, Result};
use std::path::Path;

use crate::bundle;

/// What the package has from the site.
const FILES: [&str; 2] = ["half-bar.js", "half-bar.css"];
/// The licences: of the code, and of the fonts whose outlines it draws.
const LICENCES: [&str; 4] =
    ["LICENSE-APACHE", "LICENSE-MIT", "core/glyphs/OFL-noto-music.txt", "core/glyphs/OFL-source-serif.txt"];
/// Where the README's part on the element starts, and what comes after it.
const PART: (&str, &str) = ("### All of it", "\n## ");

/// Fills the package's folder, made anew so that nothing old stays behind.
pub(crate) fn fill(root: &Path, modules: &Path, package: &Path) -> Result<()> {
    if package.exists() {
        fs_err::remove_dir_all(package)?;
    }
    fs_err::create_dir_all(package)?;
    let www = root.join("www");
    bundle::element(modules, &www, package)?;
    for file in FILES {
        fs_err::copy(www.join(file), package.join(file))?;
    }
    for file in LICENCES {
        let path = root.join(file);
        fs_err::copy(&path, package.join(path.file_name().context("a licence without a name")?))?;
    }
    let own = root.join("wasm/pack/package");
    fs_err::copy(own.join("half-bar.d.ts"), package.join("half-bar.d.ts"))?;
    let manifest = fs_err::read_to_string(own.join("package.json"))?;
    fs_err::write(package.join("package.json"), manifest.replace("{version}", env!("CARGO_PKG_VERSION")))?;
    let part = part(&fs_err::read_to_string(root.join("README.md"))?)?;
    let readme = fs_err::read_to_string(own.join("README.md"))?;
    fs_err::write(package.join("README.md"), readme.replace("{element}", &part))?;
    Ok(())
}

/// What the README says about attributes, properties, methods, events and looks, so that it is written once.
fn part(readme: &str) -> Result<String> {
    let start = readme.find(PART.0).with_context(|| format!("README.md lacks `{}`", PART.0))?;
    let rest = &readme[start + PART.0.len()..];
    Ok(rest.split(PART.1).next().unwrap_or(rest).trim().to_owned() + "\n")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_readme_gives_its_part_only() -> Result<()> {
        let readme = "# A\n\n## B\n\n### All of it\n\n| a |\n\n### Sub\n\nc\n\n## D\n\ne\n";
        assert_eq!(part(readme)?, "| a |\n\n### Sub\n\nc\n");
        assert!(part("# A\n").is_err());
        Ok(())
    }
}
