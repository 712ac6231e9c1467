//! How the inside of the element looks: what it shares with the page, and its own, as a module that a browser imports.

use anyhow::{Result, ensure};
use std::path::Path;

/// The module's name.
pub(crate) const NAME: &str = "half-bar-style.js";
/// The element's own.
pub(crate) const INSIDE: &str = "half-bar-inside.css";
/// Between these in the page's style sheet lies what both have.
const BOTH: (&str, &str) = ("/* The element has this, too: */", "/* The page alone: */");

/// The module, from the styles in the folder `www`.
pub(crate) fn module(www: &Path) -> Result<String> {
    let read = |name| fs_err::read_to_string(www.join(name));
    written(&read("style.css")?, &read(INSIDE)?)
}

fn written(style: &str, inside: &str) -> Result<String> {
    let parts = style.split(BOTH.0).skip(1).map(|rest| rest.split(BOTH.1).next().unwrap_or(rest));
    // The element's own comes last and so has the last word.
    let styles: Vec<&str> = parts.chain([inside]).map(str::trim).collect();
    ensure!(styles.len() > 1, "style.css lacks `{}`, before what the element shares", BOTH.0);
    let styles = styles.join("\n\n");
    ensure!(
        ["`", "\\", "${"].iter().all(|sign| !styles.contains(sign)),
        "the element's styles have a `, \\ or ${{, which would mean something in their module"
    );
    Ok(format!("// Made of style.css and {INSIDE}.\nexport const styles = `\n{styles}\n`;\n"))
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
