//! What is checked before a tree is built, so that a small file can't take much time or memory.

use quick_xml::Reader;
use quick_xml::events::Event;

use crate::exchange::musicxml::MusicXmlError;

/// The most elements within elements. MusicXML 4.0 needs 10 or so.
const DEEPEST: u16 = 64;
/// The most attributes of an element. MusicXML 4.0 has at most 40 or so. Each is compared with all others when the tree is built.
const MOST_ATTRIBUTES: usize = 100;

/// Goes through a text once. What isn't XML is told when the tree is built.
pub(super) fn check(text: &str) -> Result<(), MusicXmlError> {
    let mut reader = Reader::from_str(text);
    let config = reader.config_mut();
    config.check_end_names = false;
    config.allow_unmatched_ends = true;
    let mut depth = 0u16;
    loop {
        let tag = match reader.read_event() {
            Ok(Event::DocType(words)) if has_declarations(words.as_ref()) => {
                return Err(MusicXmlError::Declarations);
            }
            Ok(Event::Start(tag)) => {
                depth += 1;
                tag
            }
            Ok(Event::Empty(tag)) => tag,
            Ok(Event::End(_)) => {
                depth = depth.saturating_sub(1);
                continue;
            }
            Ok(Event::Eof) | Err(_) => return Ok(()),
            Ok(_) => continue,
        };
        if depth > DEEPEST {
            return Err(MusicXmlError::Deep { allowed: DEEPEST });
        }
        if tag.attributes().with_checks(false).take(MOST_ATTRIBUTES + 1).count() > MOST_ATTRIBUTES {
            return Err(MusicXmlError::Attributes { allowed: MOST_ATTRIBUTES });
        }
    }
}

/// Whether a document type has an internal subset: a bracket that isn't quoted.
fn has_declarations(words: &str) -> bool {
    let mut quote = None;
    for letter in words.chars() {
        match (quote, letter) {
            (None, '[') => return true,
            (None, '"' | '\'') => quote = Some(letter),
            (Some(open), close) if open == close => quote = None,
            _ => {}
        }
    }
    false
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_document_type_is_harmless_without_declarations() {
        assert_eq!(check("<!DOCTYPE a PUBLIC \"-//[x]\" 'http://b/[c].dtd'><a>[</a>"), Ok(()));
        for text in [
            "<!DOCTYPE a [<!ENTITY b 'c'>]><a/>",
            "<!DOCTYPE a SYSTEM '>' [ ]><a/>",
            "<!-- <!DOCTYPE a> --><!DOCTYPE a [<!ENTITY b 'c'>]><a/>",
        ] {
            assert_eq!(check(text), Err(MusicXmlError::Declarations), "{text}");
        }
    }

    #[test]
    fn depth_and_attributes_have_limits() {
        let deep = |depth: usize| check(&("<a>".repeat(depth) + &"</a>".repeat(depth)));
        assert_eq!((deep(64), deep(65)), (Ok(()), Err(MusicXmlError::Deep { allowed: 64 })));
        assert_eq!(check(&"<a></a>".repeat(100)), Ok(()));
        let attributes = |count: usize| {
            let all: String = (0..count).map(|number| format!(" a{number}='>'")).collect();
            check(&format!("<a{all}/>"))
        };
        assert_eq!(
            (attributes(100), attributes(101)),
            (Ok(()), Err(MusicXmlError::Attributes { allowed: 100 }))
        );
    }
}
