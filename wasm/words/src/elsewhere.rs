//! Checks that no other browser crate has sentences of its own.
#![allow(clippy::unwrap_used, reason = "a failing test should panic")]

use std::fs;
use std::path::Path;

/// The crates whose sentences belong in this one.
const CRATES: [&str; 9] = [
    "src",
    "dom/src",
    "exchange/src",
    "markup/src",
    "piece/src",
    "player/src",
    "sound/src",
    "view/src",
    "widget/src",
];

/// How selectors start.
const SELECTORS: [char; 4] = ['#', '.', ':', '['];

/// Strings that look like sentences but aren't: other selectors, headers and markup. The last ones are errors in the console that tell a
/// programmer that page and module don't fit together.
const OTHERS: [&str; 28] = [
    // Keys of stored values.
    "delay of taps",
    "delay of the microphone",
    "input, textarea, select",
    "(prefers-reduced-motion: reduce)",
    "svg, textarea, code, [translate=no]",
    "choices figures",
    "problem remark",
    "<div class=",
    "<label title=",
    "<input type=",
    "<li><span",
    "(min-width:",
    "input:not(",
    "button:not(",
    "input, select, .pad",
    "timed {class}",
    " disabled",
    "div > svg ",
    "mark {}",
    " checked",
    " translate=",
    "title: A new line",
    ", first {first}",
    ", slurs",
    "there is no window",
    "there is no document",
    "the page lacks its",
    "`{name}` is of another kind",
];

#[test]
fn nothing_is_said_elsewhere() {
    let top = Path::new(env!("CARGO_MANIFEST_DIR")).parent().unwrap();
    let mut said = Vec::new();
    for folder in CRATES {
        sentences_in(&top.join(folder), &mut said);
    }
    assert!(said.is_empty(), "these belong in wasm/words:\n{}", said.join("\n"));
}

fn sentences_in(folder: &Path, said: &mut Vec<String>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            sentences_in(&path, said);
            continue;
        }
        let source = fs::read_to_string(&path).unwrap();
        // Tests say what they want to, and stand at the end.
        let code = source.split("#[cfg(test)]").next().unwrap_or_default();
        let code = code
            .lines()
            .filter(|row| !row.trim_start().starts_with("//") && !row.trim_start().starts_with("#["));
        let code = code.collect::<Vec<_>>().join("\n");
        let found = literals(&code).into_iter().filter(|text| is_sentence(text));
        let ours = found.filter(|text| !OTHERS.iter().any(|other| text.starts_with(other)));
        said.extend(ours.map(|text| format!("{}: {text}", path.display())));
    }
}

/// All string literals.
fn literals(code: &str) -> Vec<String> {
    let (mut found, mut open) = (Vec::new(), None::<String>);
    let mut letters = code.chars().peekable();
    while let Some(letter) = letters.next() {
        match (&mut open, letter) {
            (Some(text), '\\') => text.extend(letters.next()),
            (Some(_), '"') => found.extend(open.take()),
            (Some(text), _) => text.push(letter),
            (None, '\'') if letters.peek() == Some(&'"') => drop(letters.next()),
            (None, '"') => open = Some(String::new()),
            (None, _) => {}
        }
    }
    found
}

/// Whether a string has a space and a lowercase word.
fn is_sentence(text: &str) -> bool {
    let bare = text.split('{').map(|part| part.split_once('}').map_or(part, |(_, after)| after));
    let bare = bare.collect::<String>();
    let small = |word: &str| word.len() > 1 && word.chars().all(|letter| letter.is_ascii_lowercase());
    let may_be = text.contains(' ') && (!text.starts_with(SELECTORS) || text.starts_with(". "));
    may_be && bare.split(|letter: char| !letter.is_alphanumeric()).any(small)
}

#[test]
fn sentences_are_found() {
    let code = "say(\"plain again\"); label(\"{a} of {b}\"); select(\"svg\"); let quote = '\"'; say(\"It \\\"is\\\" back.\")";
    let found: Vec<_> = literals(code).into_iter().filter(|text| is_sentence(text)).collect();
    assert_eq!(found, ["plain again", "{a} of {b}", "It \"is\" back."]);
    assert!(!is_sentence("{width} {height}") && !is_sentence("M 0 0"));
}
