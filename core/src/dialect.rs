//! What note lengths are called in the United States and in the United Kingdom.

use std::borrow::Cow;

use crate::naming::by_name;

/// Which names note lengths have. All messages are written with the American names; [`Dialect::say`] puts
/// them in the reader's dialect.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default, Hash)]
pub enum Dialect {
    /// Quarter notes and eighths.
    #[default]
    American,
    /// Crotchets and quavers.
    British,
}

/// American and British names, and whether the American one means a length even without `note` or `rest`
/// after it. A half, for example, may be half of anything.
const NAMES: [(&str, &str, bool); 10] = [
    ("whole", "semibreve", false),
    ("half", "minim", false),
    ("quarter", "crotchet", false),
    ("eighth", "quaver", true),
    ("sixteenth", "semiquaver", true),
    ("16th", "semiquaver", true),
    ("thirty-second", "demisemiquaver", true),
    ("32nd", "demisemiquaver", true),
    ("sixty-fourth", "hemidemisemiquaver", true),
    ("64th", "hemidemisemiquaver", true),
];

impl Dialect {
    /// Both dialects, in the order they are offered.
    pub const ALL: [Dialect; 2] = [Dialect::American, Dialect::British];

    /// `us` or `uk`.
    pub fn name(self) -> &'static str {
        match self {
            Dialect::American => "us",
            Dialect::British => "uk",
        }
    }

    /// A sentence of ours in the reader's dialect. Quotes in \`backticks\` or “curly quotes” stay the same,
    /// and so do hyphenated names, such as those of figures.
    ///
    /// ```
    /// use halfbar_core::dialect::Dialect;
    ///
    /// let said = Dialect::British.say("Play an eighth earlier: `eighth` has two quarter notes");
    /// assert_eq!(said, "Play a quaver earlier: `eighth` has two crotchets");
    /// assert_eq!(Dialect::British.say("A quarter-note triplet, as in quarter-triplet"), "A crotchet triplet, as in quarter-triplet");
    /// assert_eq!(Dialect::American.say("eighths"), "eighths");
    /// ```
    pub fn say(self, text: &str) -> Cow<'_, str> {
        if self == Dialect::American {
            return text.into();
        }
        let (mut said, mut rest) = (String::with_capacity(text.len()), text);
        let mut letters = text.chars();
        while let Some(first) = letters.next() {
            let end = |after: &str, is_end: fn(char) -> bool| after.find(is_end).unwrap_or(after.len());
            let (length, inside) = (first.len_utf8(), letters.as_str());
            let length = match first {
                // A quote with its closing sign; without one, it extends to the end.
                '`' => (end(inside, |c| c == '`') + 2).min(rest.len()),
                '\u{201C}' => length + end(inside, |c| c == '\u{201D}'),
                _ => end(rest, |c| !is_of_word(c)).max(length),
            };
            let Some((word, after)) = rest.split_at_checked(length) else { break };
            let Some((british, ending, after)) = british(word, after) else {
                said += word;
                (rest, letters) = (after, after.chars());
                continue;
            };
            // "An eighth", but "a quaver".
            if said.ends_with(" an ") || matches!(said.as_str(), "An " | "an ") {
                said.truncate(said.len() - 2);
                said.push(' ');
            }
            let mut british = british.chars();
            said.extend(british.next().map(|letter| match first.is_ascii_uppercase() {
                true => letter.to_ascii_uppercase(),
                false => letter,
            }));
            said += british.as_str();
            said += ending;
            (rest, letters) = (after, after.chars());
        }
        said.into()
    }

    /// The American form of a plural length name in either dialect: `quavers` is `eighths`. Other words are
    /// left alone.
    pub(crate) fn understood(plural: &str) -> Cow<'_, str> {
        let known =
            plural.strip_suffix('s').and_then(|name| NAMES.iter().find(|(_, british, _)| *british == name));
        known.map_or(plural.into(), |(american, ..)| format!("{american}s").into())
    }
}

/// Beyond ASCII, letters and punctuation are told apart by the block of punctuation: Unicode's tables would
/// add 4 KB to a module.
fn is_of_word(c: char) -> bool {
    c.is_ascii_alphanumeric()
        || matches!(c, '-' | '_')
        || (c > '\u{BF}' && !('\u{2000}'..'\u{2070}').contains(&c))
}

/// The British name of a length with its ending, and the text after it: a ` note` after the word belongs to it.
fn british<'a>(word: &str, after: &'a str) -> Option<(&'static str, &'static str, &'a str)> {
    let named = |name: &str| NAMES.iter().find(|(american, ..)| american.eq_ignore_ascii_case(name));
    if let Some(&(_, british, alone)) = named(word) {
        let behind = |next: &str| {
            after.trim_ascii_start().strip_prefix(next).filter(|behind| !behind.starts_with(is_of_word))
        };
        return match (behind("note"), behind("notes")) {
            (Some(rest), _) => Some((british, "", rest)),
            (_, Some(rest)) => Some((british, "s", rest)),
            _ => (alone || behind("rest").is_some()).then_some((british, "", after)),
        };
    }
    if let Some(&(_, british, _)) = word.strip_suffix("-note").and_then(named) {
        return Some((british, "", after));
    }
    let plural = word.strip_suffix('s').and_then(named).filter(|(.., alone)| *alone);
    plural.map(|&(_, british, _)| (british, "s", after))
}

by_name!(Dialect, "a dialect");

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_are_called_as_the_reader_calls_them() {
        for (american, british) in [
            (
                "3 bars, 132 quarter notes per minute, straight eighths.",
                "3 bars, 132 crotchets per minute, straight quavers.",
            ),
            ("Eighths swing 2 : 1", "Quavers swing 2 : 1"),
            ("An eighth earlier", "A quaver earlier"),
            ("a note a sixteenth later", "a note a semiquaver later"),
            ("whole note, dotted half note, quarter rest", "semibreve, dotted minim, crotchet rest"),
            ("eighth note tied to thirty-second note", "quaver tied to demisemiquaver"),
            ("notes down to 64ths", "notes down to hemidemisemiquavers"),
            (
                "`eighth`, an eighth, \u{201C}eighth\u{201D} and eighth",
                "`eighth`, a quaver, \u{201C}eighth\u{201D} and quaver",
            ),
            ("1/2 of a quarter\n  note is left", "1/2 of a crotchet is left"),
            ("Play quarter-note triplets evenly", "Play crotchet triplets evenly"),
            ("dotted eighth notes, and eighth-note triplets", "dotted quavers, and quaver triplets"),
        ] {
            assert_eq!(Dialect::British.say(american), british);
            assert_eq!(Dialect::American.say(american), american);
            assert_eq!(Dialect::British.say(british), british);
        }
    }

    #[test]
    fn what_is_no_length_stays() {
        for text in [
            "three quarters of a beat, half a beat, the whole line",
            "half-whole diminished, whole tone, a half step, half-bar",
            "quarter-triplet, late-sixteenths, eighth-2, an-eighth, my_eighths",
            "`eighths` is no figure, nor is `an eighth note",
            "\u{201C}Eighth notes, eighth week\u{201D}: kept",
            "weighth eighthly quarters and halves, \u{E9}eighth",
            "the seventh note, note 8",
            "",
        ] {
            assert_eq!(Dialect::British.say(text), text);
        }
    }

    #[test]
    fn both_are_understood() {
        assert_eq!(
            ["eighths", "quavers", "triplets", ""].map(Dialect::understood),
            ["eighths", "eighths", "triplets", ""]
        );
        assert_eq!(
            Dialect::ALL.map(|words| words.name().parse()),
            [Ok(Dialect::American), Ok(Dialect::British)]
        );
        assert!("fr".parse::<Dialect>().is_err());
    }
}
