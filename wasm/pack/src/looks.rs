//! The styles of the inside of the element: the ones it shares with the page and its own, as a module that a browser imports.

use anyhow::{Result, ensure};
use std::path::Path;

/// The module's name.
pub(crate) const NAME: &str = "half-bar-style.js";
/// The element's own styles.
pub(crate) const INSIDE: &str = "half-bar-inside.css";
/// What is between these in the page's style sheet is shared.
const BOTH: (&str, &str) = ("/* Shared with the element: */", "/* The page only: */");

/// The module, from the styles in the folder `www`.
pub(crate) fn module(www: &Path) -> Result<String> {
    let read = |name| fs_err::read_to_string(www.join(name));
    written(&read("style.css")?, &read(INSIDE)?)
}

fn written(style: &str, inside: &str) -> Result<String> {
    let parts = style.split(BOTH.0).skip(1).map(|rest| rest.split(BOTH.1).next().unwrap_or(rest));
    // The element's own styles come last, so that they win.
    let styles: Vec<&str> = parts.chain([inside]).map(str::trim).collect();
    ensure!(styles.len() > 1, "style.css has no `{}` before the styles that the element shares", BOTH.0);
    let styles = styles.join("\n\n");
    ensure!(
        ["`", "\\", "${"].iter().all(|sign| !styles.contains(sign)),
        "the element's styles contain `, \\ or ${{, which have a meaning in their module"
    );
    Ok(format!("// Generated from style.css and {INSIDE}.\nexport const styles = `\n{styles}\n`;\n"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_element_has_what_is_shared_and_its_own() -> Result<()> {
        let style = format!("a {{}}\n{}\nb {{}}\n{}\nc {{}}\n{}\nd {{}}\n", BOTH.0, BOTH.1, BOTH.0);
        let module = written(&style, "e {}\n")?;
        assert!(module.ends_with("`\nb {}\n\nd {}\n\ne {}\n`;\n"), "{module}");
        assert!(!module.contains("a {}") && !module.contains("c {}"), "{module}");
        assert!(written("a {}", "").is_err());
        for sign in ["`", "\\", "${"] {
            assert!(written(&style, sign).is_err(), "{sign}");
        }
        Ok(())
    }
}
