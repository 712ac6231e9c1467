//! The signs that a quality is written with.

use crate::pitch::Alter;

/// What a part of a written quality means.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Sign {
    /// `maj`, `M`: the seventh that follows is a major one.
    Major,
    /// The triangle: a major seventh, even where no number follows.
    Triangle,
    Minor,
    Diminished,
    HalfDiminished,
    Augmented,
    /// `7`, `13`; or a number that no chord has.
    Number(u8),
    /// `69`, `6/9`.
    SixNine,
    /// `b9`, `#11`, `-5`.
    Altered(Alter, u8),
    /// `add9`.
    Added(Alter, u8),
    /// `no3`.
    Omitted(u8),
    /// `sus`, `sus4`, `sus2`: which degree, if that is written.
    Suspended(Option<u8>),
    /// `alt`.
    Alt,
    Open,
    Close,
    Separator,
    /// Without a meaning in chord symbols.
    Unread,
}

/// The ways that each sign is written, the longer ones first (Brandt & Roemer 1976, and common practice). Triangle, ring and stroke
/// have look-alikes that can be typed.
const WAYS: [(&str, Sign); 34] = [
    ("6/9", Sign::SixNine),
    ("sus2", Sign::Suspended(Some(2))),
    ("sus4", Sign::Suspended(Some(4))),
    ("maj", Sign::Major),
    ("Maj", Sign::Major),
    ("MAJ", Sign::Major),
    ("min", Sign::Minor),
    ("Min", Sign::Minor),
    ("MIN", Sign::Minor),
    ("dim", Sign::Diminished),
    ("aug", Sign::Augmented),
    ("sus", Sign::Suspended(None)),
    ("alt", Sign::Alt),
    ("ma", Sign::Major),
    ("Ma", Sign::Major),
    ("MA", Sign::Major),
    ("mi", Sign::Minor),
    ("Mi", Sign::Minor),
    ("MI", Sign::Minor),
    ("M", Sign::Major),
    ("\u{394}", Sign::Triangle),
    ("\u{25B3}", Sign::Triangle),
    ("\u{2206}", Sign::Triangle),
    ("^", Sign::Triangle),
    ("m", Sign::Minor),
    ("o", Sign::Diminished),
    ("\u{B0}", Sign::Diminished),
    ("\u{BA}", Sign::Diminished),
    ("\u{F8}", Sign::HalfDiminished),
    ("\u{D8}", Sign::HalfDiminished),
    ("(", Sign::Open),
    (")", Sign::Close),
    (",", Sign::Separator),
    ("/", Sign::Separator),
];

/// Splits a quality into signs, each with its text; together they cover all of it.
///
/// ```text
/// m7b5        m  7  b5
/// 7(b9,#11)   7  (  b9  ,  #11  )
/// ```
pub(crate) fn signs(quality: &str) -> impl Iterator<Item = (Sign, &str)> {
    let mut rest = quality;
    std::iter::from_fn(move || {
        let letter = rest.chars().next()?;
        let (sign, length) = sign(rest, rest.len() == quality.len()).unwrap_or_else(|| {
            // A word that doesn't start with a sign has no meaning, up to its end.
            let word = rest.find(|c: char| !c.is_alphabetic()).unwrap_or(rest.len());
            (Sign::Unread, word.max(letter.len_utf8()))
        });
        let (text, after) = rest.split_at_checked(length)?;
        rest = after;
        Some((sign, text))
    })
}

/// The sign that `text` starts with, and its length.
fn sign(text: &str, is_first: bool) -> Option<(Sign, usize)> {
    // Before all others: `omit` starts as a diminished chord does.
    for word in ["add", "omit", "no"] {
        let Some((alter, rest)) = text.strip_prefix(word).map(Alter::split_from) else { continue };
        if let Some((number, after)) = number(rest).filter(|_| word == "add" || alter == Alter::NATURAL) {
            let sign = if word == "add" { Sign::Added(alter, number) } else { Sign::Omitted(number) };
            return Some((sign, text.len() - after.len()));
        }
    }
    let known = WAYS.into_iter().find(|(way, sign)| {
        text.strip_prefix(way).is_some_and(|rest| *sign != Sign::Major || !is_minor(way, rest))
    });
    if let Some((way, sign)) = known {
        return Some((sign, way.len()));
    }
    let (alter, rest) = Alter::split_from(text);
    if let Some((number, after)) = number(rest) {
        let sign = match (alter, number) {
            (Alter::NATURAL, 69) => Sign::SixNine,
            (Alter::NATURAL, _) => Sign::Number(number),
            _ => Sign::Altered(alter, number),
        };
        return Some((sign, text.len() - after.len()));
    }
    // A chord is minor or augmented by the sign that comes first; later ones lower or raise a degree.
    let mut letters = text.chars();
    let (alter, triad) = match letters.next()? {
        '-' | '\u{2212}' => (Alter::FLAT, Sign::Minor),
        '+' => (Alter::SHARP, Sign::Augmented),
        _ => return None,
    };
    let rest = letters.as_str();
    Some(match number(rest).filter(|_| !is_first) {
        Some((number, after)) => (Sign::Altered(alter, number), text.len() - after.len()),
        None => (triad, text.len() - rest.len()),
    })
}

/// Whether what looks like `ma` is a minor chord with `add`, `alt` or `aug` after it.
fn is_minor(way: &str, rest: &str) -> bool {
    way.ends_with(['a', 'A']) && rest.starts_with(['d', 'l', 'u'])
}

/// The number that `text` starts with, and what follows it. All its digits have to belong to it.
fn number(text: &str) -> Option<(u8, &str)> {
    let digits = text.bytes().take_while(u8::is_ascii_digit).count();
    let (number, rest) = text.split_at_checked(digits)?;
    Some((number.parse().ok().filter(|_| !number.starts_with('0'))?, rest))
}
