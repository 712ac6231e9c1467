//! No other module of the browser's says anything by itself.
#![allow(clippy::unwrap_used, reason = "a test that can't go on has to stop")]

use std::fs;
use std::path::Path;

/// The crates that speak by this one.
const CRATES: [&str; 5] = ["src", "dom/src", "player/src", "view/src", "widget/src"];

/// What a selector starts with.
const SELECTORS: [char; 4] = ['#', '.', ':', '['];

/// What looks like a sentence, and is none: other selectors, headers and markup. The last ones tell a programmer, by an error in the console, that
/// page and module don't fit.
const OTHERS: [&str; 15] = [
    // Names under which the browser keeps something.
    "delay of taps",
    "delay of the microphone",
    "input, textarea, select",
    "(prefers-reduced-motion: reduce)",
    "svg, textarea, code, [translate=no]",
    "choices figures",
    "problem remark",
    "<div class=",
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
    assert!(said.is_empty(), "these belong into wasm/words:\n{}", said.join("\n"));
}

fn sentences_in(folder: &Path, said: &mut Vec<String>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            sentences_in(&path, said);
            continue;
        }
        let source = fs::read_to_string(&path).unwrap();
        let code = source
            .lines()
            .filter(|row| !row.trim_start().starts_with("//") && !row.trim_start().starts_with("#["));
        let code = code.collect::<Vec<_>>().join("\n");
        let found = literals(&code).into_iter().filter(|text| is_sentence(text));
        let ours = found.filter(|text| !OTHERS.iter().any(|other| text.starts_with(other)));
        said.extend(ours.map(|text| format!("{}: {text}", path.display())));
    }
}

/// What stands between quotation marks.
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

/// Whether it has a space and a word in small letters.
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
