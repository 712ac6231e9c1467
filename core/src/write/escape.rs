//! Text in markup.

use std::fmt::{Arguments, Write};

/// Text escaped so that nothing in it is read as markup. Characters that HTML can't contain are removed.
pub(super) fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '&' => out += "&amp;",
            '<' => out += "&lt;",
            '>' => out += "&gt;",
            '"' => out += "&quot;",
            '\'' => out += "&#39;",
            '\n' | '\t' => out.push(letter),
            letter if letter.is_control() => {}
            letter => out.push(letter),
        }
    }
    out
}

/// Writing to a string can't fail.
pub(super) fn put(out: &mut String, args: Arguments<'_>) {
    let _ = out.write_fmt(args);
}
