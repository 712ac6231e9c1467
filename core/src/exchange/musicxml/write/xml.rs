//! Elements, one inside another.

use quick_xml::Writer;
use quick_xml::events::{BytesDecl, BytesEnd, BytesStart, BytesText, Event};

/// An attribute: its name and value.
pub(super) type Attribute<'a> = (&'a str, &'a str);

/// A document that is being written.
pub(super) struct Xml {
    writer: Writer<Vec<u8>>,
}

impl Xml {
    pub(super) fn new() -> Xml {
        let mut xml = Xml { writer: Writer::new_with_indent(Vec::new(), b' ', 1) };
        xml.put(Event::Decl(BytesDecl::new("1.0", Some("UTF-8"), None)));
        xml
    }

    /// An element with others inside.
    pub(super) fn within<T>(
        &mut self,
        name: &str,
        attributes: &[Attribute<'_>],
        inside: impl FnOnce(&mut Xml) -> T,
    ) -> T {
        self.put(Event::Start(start(name, attributes)));
        let made = inside(self);
        self.put(Event::End(BytesEnd::new(name)));
        made
    }

    /// An element with text.
    pub(super) fn text(&mut self, name: &str, attributes: &[Attribute<'_>], text: &str) {
        self.put(Event::Start(start(name, attributes)));
        self.put(Event::Text(BytesText::new(&allowed(text))));
        self.put(Event::End(BytesEnd::new(name)));
    }

    /// An element with a number, a name or whatever else can be written.
    pub(super) fn value(&mut self, name: &str, value: impl ToString) {
        self.text(name, &[], &value.to_string());
    }

    /// An element with nothing inside.
    pub(super) fn empty(&mut self, name: &str, attributes: &[Attribute<'_>]) {
        self.put(Event::Empty(start(name, attributes)));
    }

    pub(super) fn finish(self) -> String {
        let mut bytes = self.writer.into_inner();
        bytes.push(b'\n');
        // All of it was written from strings.
        String::from_utf8(bytes).unwrap_or_default()
    }

    fn put(&mut self, event: Event<'_>) {
        // A vector takes whatever is written.
        let _ = self.writer.write_event(event);
    }
}

fn start<'a>(name: &'a str, attributes: &[Attribute<'a>]) -> BytesStart<'a> {
    BytesStart::new(name).with_attributes(attributes.iter().copied())
}

/// The text with U+FFFD in place of the characters that XML can't have (XML 1.0, section 2.2).
fn allowed(text: &str) -> String {
    let is_allowed = |letter: char| match letter {
        '\t' | '\n' | '\r' => true,
        '\u{FFFE}' | '\u{FFFF}' => false,
        letter => letter >= ' ',
    };
    text.chars().map(|letter| if is_allowed(letter) { letter } else { char::REPLACEMENT_CHARACTER }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// XML 1.0, section 2.11: a reader turns line ends into line feeds, unless they are written as references.
    #[test]
    fn text_survives_what_readers_do_to_it() {
        let mut xml = Xml::new();
        let text = "a < b & \"c\"\r\n\n  d\te\r ";
        xml.within("all", &[("of", "it's\n\"<1>\"")], |xml| xml.text("text", &[], text));
        let written = xml.finish();
        let read = roxmltree::Document::parse(&written).unwrap();
        let root = read.root_element();
        assert_eq!(root.attribute("of"), Some("it's\n\"<1>\""));
        assert_eq!(root.first_element_child().unwrap().text(), Some(text));
    }

    #[test]
    fn what_xml_cannot_have_is_replaced() {
        assert_eq!(
            allowed("a\u{0}b\u{1F}c\u{FFFF}\u{FFFE}\u{85}𝄪"),
            "a\u{FFFD}b\u{FFFD}c\u{FFFD}\u{FFFD}\u{85}𝄪"
        );
    }
}
