//! The page as a single file that needs neither a server nor a network: everything that `index.html` loads is inlined.

use crate::bundle::Script;
use anyhow::{Result, ensure};
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use flate2::Compression;
use flate2::write::GzEncoder;
use std::io::Write;
use std::path::Path;

// These are matched literally; everything else in these files can change.
pub(crate) const STYLE: &str = r#"<link rel="stylesheet" href="style.css">"#;
pub(crate) const FAILURE: &str = r#"<script src="failure.js"></script>"#;
pub(crate) const START: &str = r#"<script type="module" src="start.js"></script>"#;
/// Makes the browser keep the site, which the single file doesn't need.
pub(crate) const OFFLINE: &str = r#"<script type="module" src="offline.js"></script>"#;
const MANIFEST: &str = r#"<link rel="manifest" href="app.webmanifest">"#;
const ICON: &str = r#"<link rel="icon" href="icon.svg">"#;
/// The fonts that the style sheet asks for.
const FONTS: [&str; 2] = ["text-400.woff2", "text-600.woff2"];
/// What asks for them early, so that they are there for the first letter.
pub(crate) const PRELOADS: [&str; 2] = [
    r#"<link rel="preload" href="text-400.woff2" as="font" type="font/woff2" crossorigin>"#,
    r#"<link rel="preload" href="text-600.woff2" as="font" type="font/woff2" crossorigin>"#,
];
const IMPORT: &str = r#"import { page } from "./modules.js";"#;
/// What `modules.js` exports, but from inlined modules; `{wasm}`, `{exchange}` and `{hear}` are replaced by their content and that of `hear.js`. The
/// browser itself decompresses the modules (WHATWG Compression Standard), the second one when it is needed.
const MODULES: &str = r#"const expanded = async (text) => {
  if (!globalThis.DecompressionStream)
    throw Object.assign(new Error("this browser can't decompress it"), {
      remedy: "Please update your browser, or open this file in another one.",
    });
  const gzip = Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));
  const stream = new Blob([gzip]).stream().pipeThrough(new DecompressionStream("gzip"));
  return new Response(stream, { headers: { "Content-Type": "application/wasm" } });
};
let exchange;
const files = async (name, ...rest) => {
  await (exchange ??= halfbar_exchange({ module_or_path: expanded("{exchange}") }));
  return halfbar_exchange[name](...rest);
};
const page = () =>
  halfbar_wasm({ module_or_path: expanded("{wasm}") }).then(() => halfbar_wasm.start("data:text/javascript;base64,{hear}", files));
"#;

/// What makes a browser fetch something: its beginning and end.
const FETCHES: [(&str, &str); 4] = [("<link ", ">"), ("src=\"", "\""), ("@import ", ";"), ("url(", ")")];

/// Combines the page, what it loads from the folder `www`, its module and the one for files into a single file.
pub(crate) fn page(index: &str, www: &Path, scripts: &[Script; 2]) -> Result<String> {
    let read = |name| fs_err::read_to_string(www.join(name));
    inline(
        index,
        &with_fonts(read("style.css")?, www)?,
        &read("failure.js")?,
        &start(&read("start.js")?, scripts, &read("hear.js")?)?,
        &read("icon.svg")?,
    )
}

/// The style sheet with its fonts inside.
fn with_fonts(style: String, www: &Path) -> Result<String> {
    FONTS.iter().try_fold(style, |style, font| {
        let data = STANDARD.encode(fs_err::read(www.join(font))?);
        let inside = format!("url(\"data:font/woff2;base64,{data}\")");
        replace_once("style.css", &style, &format!("url(\"{font}\")"), &inside)
    })
}

fn inline(index: &str, style: &str, failure: &str, start: &str, icon: &str) -> Result<String> {
    let without = |page: String, tag: &&str| replace_once("index.html", &page, tag, "");
    let index = [OFFLINE, MANIFEST].iter().chain(&PRELOADS).try_fold(index.to_owned(), without)?;
    let bare = [STYLE, FAILURE, START, ICON].iter().try_fold(index.clone(), without)?;
    refuse_fetches("index.html", &bare)?;
    refuse_fetches("style.css", style)?;

    let style = format!("<style>\n{}</style>", escape(style, &["/style"], r"\3C "));
    let failure = format!("<script>\n{}</script>", escape_script(failure));
    // A module, like the tag it replaces, so that it also waits for the whole page. It works from disk because it imports nothing.
    let start = format!("<script type=\"module\">\n{}</script>", escape_script(start));

    let icon = format!("<link rel=\"icon\" href=\"data:image/svg+xml;base64,{}\">", STANDARD.encode(icon));

    let page = replace_once("index.html", &index, STYLE, &style)?;
    let page = replace_once("index.html", &page, ICON, &icon)?;
    let page = replace_once("index.html", &page, FAILURE, &failure)?;
    replace_once("index.html", &page, START, &start)
}

/// `start.js` with the modules and their glue in place of its import.
fn start(source: &str, [page, exchange]: &[Script; 2], hear: &str) -> Result<String> {
    let module = [
        ("{wasm}", STANDARD.encode(gzip(&page.wasm)?)),
        ("{exchange}", STANDARD.encode(gzip(&exchange.wasm)?)),
        ("{hear}", STANDARD.encode(hear)),
    ];
    let module = module.iter().try_fold(MODULES.to_owned(), |module, (place, content)| {
        replace_once("the single-file page", &module, place, content)
    })?;
    let glue = format!("{}\n{}", page.glue.trim_end(), exchange.glue.trim_end());
    replace_once("start.js", source, IMPORT, &format!("{glue}\n{module}"))
}

/// Compressed as far as gzip can.
fn gzip(content: &[u8]) -> Result<Vec<u8>> {
    let mut encoder = GzEncoder::new(Vec::new(), Compression::best());
    encoder.write_all(content)?;
    Ok(encoder.finish()?)
}

pub(crate) fn replace_once(file: &str, text: &str, old: &str, new: &str) -> Result<String> {
    let times = text.matches(old).count();
    ensure!(times != 0, "{file} has no `{old}`, which the single-file page needs");
    ensure!(times == 1, "{file} has `{old}` {times} times; the single-file page needs it exactly once");
    Ok(text.replacen(old, new, 1))
}

/// Anything but data: addresses and fragments of the page itself would be missing when the file is opened from disk.
fn refuse_fetches(file: &str, text: &str) -> Result<()> {
    for (begin, end) in FETCHES {
        for rest in text.split(begin).skip(1) {
            let what = rest.split(end).next().unwrap_or(rest);
            let within = what.contains("data:") || what.trim_start_matches(['"', '\'']).starts_with('#');
            ensure!(
                within,
                "{file} loads `{begin}{what}{end}`, which the single-file page can't; use a data: address"
            );
        }
    }
    Ok(())
}

/// Escapes what could end a script or hide its end, as the HTML standard advises.
fn escape_script(script: &str) -> String {
    escape(script, &["/script", "script", "!--"], r"\x3C")
}

/// Replaces each `<` before one of the words, in any case, by `instead`.
fn escape(text: &str, words: &[&str], instead: &str) -> String {
    let risky = |piece: &str| {
        words.iter().any(|word| piece.get(..word.len()).is_some_and(|start| start.eq_ignore_ascii_case(word)))
    };
    let mut pieces = text.split('<');
    let mut escaped = pieces.next().unwrap_or_default().to_owned();
    for piece in pieces {
        escaped.push_str(if risky(piece) { instead } else { "<" });
        escaped.push_str(piece);
    }
    escaped
}

#[cfg(test)]
mod tests {
    use super::*;
    use anyhow::Context;
    use flate2::read::GzDecoder;
    use std::io::Read;

    fn index() -> String {
        format!(
            "<head>\n{ICON}\n{MANIFEST}{}{STYLE}\n{FAILURE}\n{START}{OFFLINE}\n</head>",
            PRELOADS.concat()
        )
    }

    fn message<T>(result: Result<T>) -> String {
        result.err().map(|error| error.to_string()).unwrap_or_default()
    }

    #[test]
    fn everything_is_inlined_in_place() -> Result<()> {
        let page =
            inline(&index(), "p { color: red }\n", "function showFailure() {}\n", "start();\n", "icon")?;
        assert_eq!(
            page,
            "<head>\n<link rel=\"icon\" href=\"data:image/svg+xml;base64,aWNvbg==\">\n<style>\np { color: red }\n</style>\n<script>\nfunction showFailure() {}\n</script>\n\
             <script type=\"module\">\nstart();\n</script>\n</head>"
        );
        Ok(())
    }

    #[test]
    fn a_missing_or_doubled_tag_is_named() {
        for tag in [STYLE, FAILURE, START, OFFLINE, MANIFEST, ICON].into_iter().chain(PRELOADS) {
            let missing = message(inline(&index().replace(tag, ""), "", "", "", ""));
            assert!(missing.contains("index.html has no") && missing.contains(tag), "{missing}");
            let doubled = message(inline(&index().replace(tag, &tag.repeat(2)), "", "", "", ""));
            assert!(doubled.contains("2 times") && doubled.contains(tag), "{doubled}");
        }
    }

    #[test]
    fn start_runs_the_embedded_modules() -> Result<()> {
        let script = |name: &str, wasm| Script { glue: format!("let {name} = glue;\n"), wasm };
        let scripts = [script("halfbar_wasm", vec![0, 255]), script("halfbar_exchange", vec![1, 254])];
        let text = start(&format!("{IMPORT}\npage();\n"), &scripts, "hear();")?;
        let glue = "let halfbar_wasm = glue;\nlet halfbar_exchange = glue;\nconst expanded";
        assert!(text.starts_with(glue), "{text}");
        for Script { glue, wasm } in &scripts {
            let name = glue.split(' ').nth(1).unwrap_or_default();
            let call = format!("{name}({{ module_or_path: expanded(\"");
            let (_, rest) = text.split_once(&call).with_context(|| text.clone())?;
            let gzip = STANDARD.decode(rest.split('"').next().unwrap_or(rest))?;
            let mut found = Vec::new();
            GzDecoder::new(&*gzip).read_to_end(&mut found)?;
            assert_eq!(found, *wasm);
        }
        assert!(text.contains("base64,aGVhcigpOw==\""), "{text}");
        assert!(text.ends_with("page();\n"), "{text}");
        assert!(message(start("page();", &scripts, "")).contains("start.js has no"));
        Ok(())
    }

    #[test]
    fn content_cannot_end_its_element_early() -> Result<()> {
        let page =
            inline(&index(), "a::after { content: \"</STYLE>\" }", "'</Script>'", "'<!--<script>' < 1", "")?;
        assert!(page.contains(r#"content: "\3C /STYLE>""#), "{page}");
        assert!(page.contains(r"'\x3C/Script>'"), "{page}");
        assert!(page.contains(r"'\x3C!--\x3Cscript>' < 1"), "{page}");
        Ok(())
    }

    #[test]
    fn what_would_be_fetched_is_refused() {
        for extra in [r#"<img src="a.png">"#, r#"<link rel="preload" href="a.svg">"#] {
            assert!(
                message(inline(&(index() + extra), "", "", "", "")).contains("index.html loads"),
                "{extra}"
            );
        }
        for style in ["@import 'a.css';", "p { background: url('a.png') }"] {
            assert!(message(inline(&index(), style, "", "", "")).contains("style.css loads"), "{style}");
        }
        let page = index() + r##"<link rel="preload" href="data:,"><a href="/"><rect fill="url(#g)"/>"##;
        assert_eq!(message(inline(&page, "p { background: url(\"data:,\") }", "", "", "")), "");
    }
}
