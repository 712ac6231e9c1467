//! The element as a folder ready for the npm registry.

use anyhow::{Context, Result};
use std::path::Path;

use crate::bundle;

/// Files that the package shares with the site.
const FILES: [&str; 4] = ["half-bar.js", "half-bar-modules.js", "half-bar-phrases.js", "half-bar.css"];
/// Files of its own: what to read, types for scripts and for templates, and the manifest that editors read.
const OWN: [&str; 9] = [
    "README.md",
    "custom-elements.json",
    "phrases.json",
    "half-bar.css.d.ts",
    "half-bar.d.ts",
    "jsx.d.ts",
    "react.d.ts",
    "svelte.d.ts",
    "vue.d.ts",
];
/// What the generated types of a class take for granted (`Symbol.dispose`), and an app's own settings may lack.
const DISPOSABLE: &str = "/// <reference lib=\"esnext.disposable\" />\n";
/// The licenses of the code, and of the fonts whose outlines it draws.
const LICENSES: [&str; 4] =
    ["LICENSE-APACHE", "LICENSE-MIT", "core/glyphs/OFL-noto-music.txt", "core/glyphs/OFL-source-serif.txt"];

/// Fills the package's folder, which is created from scratch so that no old files remain.
pub(crate) fn fill(root: &Path, modules: &Path, package: &Path) -> Result<()> {
    if package.exists() {
        fs_err::remove_dir_all(package)?;
    }
    fs_err::create_dir_all(package)?;
    let www = root.join("www");
    bundle::element(modules, &www, package)?;
    for name in ["halfbar_piece.d.ts", "halfbar_exchange.d.ts"] {
        let types = package.join(name);
        fs_err::write(&types, format!("{DISPOSABLE}{}", fs_err::read_to_string(&types)?))?;
    }
    for file in FILES {
        fs_err::copy(www.join(file), package.join(file))?;
    }
    for file in LICENSES {
        let path = root.join(file);
        fs_err::copy(&path, package.join(path.file_name().context("a license file without a name")?))?;
    }
    let own = root.join("wasm/pack/package");
    for file in OWN {
        fs_err::copy(own.join(file), package.join(file))?;
    }
    let form = fs_err::read_to_string(own.join("package.json"))?;
    let manifest = manifest(&form, env!("CARGO_PKG_VERSION"), env!("CARGO_PKG_REPOSITORY"));
    Ok(fs_err::write(package.join("package.json"), manifest)?)
}

/// The manifest from its form; the line of the repository is left out as long as it is unknown.
fn manifest(form: &str, version: &str, repository: &str) -> String {
    let lines = form.lines().filter(|line| !repository.is_empty() || !line.contains("{repository}"));
    let manifest: String = lines.flat_map(|line| [line, "\n"]).collect();
    manifest.replace("{version}", version).replace("{repository}", repository)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_manifest_has_a_repository_once_it_is_known() -> Result<()> {
        let form = include_str!("../package/package.json");
        for (repository, field) in
            [("", None), ("https://host.example/halfbar", Some("https://host.example/halfbar"))]
        {
            let manifest: serde_json::Value = serde_json::from_str(&manifest(form, "1.2.3", repository))?;
            assert_eq!(manifest["version"], "1.2.3");
            assert_eq!(manifest.get("repository").and_then(|url| url.as_str()), field);
        }
        Ok(())
    }

    /// Without an entry in `exports`, nobody can import a file. Those that only `half-bar.js` imports need none.
    #[test]
    fn every_documented_file_is_exported() -> Result<()> {
        let manifest: serde_json::Value = serde_json::from_str(include_str!("../package/package.json"))?;
        let exported = manifest["exports"].to_string();
        for file in OWN.iter().chain(&["half-bar.css", "half-bar.js"]).filter(|file| **file != "README.md") {
            assert!(exported.contains(&format!("\"./{file}\"")), "{file}");
        }
        Ok(())
    }
}
