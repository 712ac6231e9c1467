//! How values are named in text, and the error for an unknown name.

/// The error for a name that no value of its kind has.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[error("`{text}` is not {kind}: write {allowed}")]
pub struct UnknownName {
    /// The text that was read.
    pub text: String,
    /// What the text should have named, with an article: `a view`.
    pub kind: &'static str,
    /// All allowed names as one phrase: `both`, `staff` or `tab`, each in backticks.
    pub allowed: String,
}

/// The value with this name.
pub(crate) fn named<T: Copy>(
    text: &str,
    kind: &'static str,
    all: &[T],
    name: impl Fn(T) -> &'static str,
) -> Result<T, UnknownName> {
    let unknown = || UnknownName {
        text: quoted(text),
        kind,
        allowed: one_of(&all.iter().map(|&value| name(value)).collect::<Vec<_>>()),
    };
    all.iter().copied().find(|&value| name(value) == text).ok_or_else(unknown)
}

/// Reads and writes a type by the names of its values, which it lists in `ALL`; the second argument is its kind,
/// as in [`UnknownName`].
macro_rules! by_name {
    ($type:ident, $kind:literal) => {
        impl std::str::FromStr for $type {
            type Err = $crate::naming::UnknownName;

            fn from_str(text: &str) -> std::result::Result<$type, Self::Err> {
                $crate::naming::named(text, $kind, &$type::ALL, $type::name)
            }
        }

        $crate::naming::by_name!($type);
    };
    ($type:ident) => {
        impl std::fmt::Display for $type {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str(self.name())
            }
        }
    };
}
pub(crate) use by_name;

/// Names as one phrase: `a`, `b` or `c`, each in backticks.
pub(crate) fn one_of(names: &[&str]) -> String {
    let mut phrase = String::new();
    for (index, name) in names.iter().enumerate() {
        phrase += match index {
            0 => "",
            index if index + 1 == names.len() => " or ",
            _ => ", ",
        };
        phrase += &format!("`{name}`");
    }
    phrase
}

/// Items as one phrase: `a, b and c`.
pub(crate) fn all_of(items: impl IntoIterator<Item = impl ToString>) -> String {
    let items: Vec<String> = items.into_iter().map(|item| item.to_string()).collect();
    match items.as_slice() {
        [others @ .., last] if !others.is_empty() => format!("{} and {last}", others.join(", ")),
        _ => items.concat(),
    }
}

/// A number in words up to ten, then in digits.
pub(crate) fn number(number: i64) -> String {
    const WORDS: [&str; 11] =
        ["no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"];
    let word = usize::try_from(number).ok().and_then(|index| WORDS.get(index));
    word.map_or_else(|| number.to_string(), ToString::to_string)
}

/// What to write instead of a text that can't be read: what was meant if that is clear, otherwise what is
/// allowed.
pub(crate) fn remedy(instead: Option<&str>, allowed: &str) -> String {
    match instead {
        Some(instead) => format!("write `{instead}`"),
        None => format!("write {allowed}"),
    }
}

/// The most characters of a text that a message quotes.
const LONGEST_QUOTE: usize = 40;

/// A piece of the user's text that a message can safely quote between backticks: not too long, without
/// backticks, and without characters that could reorder or hide the words around it.
pub(crate) fn quoted(text: &str) -> String {
    let mut quote: String =
        text.chars().take(LONGEST_QUOTE).map(visible).map(|c| if c == '`' { '\'' } else { c }).collect();
    if text.chars().nth(LONGEST_QUOTE).is_some() {
        quote += "...";
    }
    quote
}

/// The character itself if it is visible, otherwise `?`. Tabs are kept.
pub(crate) fn visible(c: char) -> char {
    let reorders =
        matches!(c, '\u{200B}'..='\u{200F}' | '\u{202A}'..='\u{202E}' | '\u{2060}'..='\u{2069}' | '\u{FEFF}');
    if c != '\t' && (c.is_control() || reorders) { '?' } else { c }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn unknown_names_say_what_there_is() {
        let error = named("bth", "a view", &[0, 1, 2], |index| ["both", "staff", "tab"][index]).unwrap_err();
        assert_eq!(error.to_string(), "`bth` is not a view: write `both`, `staff` or `tab`");
        assert_eq!(named("tab", "a view", &[0, 1, 2], |index| ["both", "staff", "tab"][index]), Ok(2));
    }
}
