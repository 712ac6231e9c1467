//! The measures of a part -> its bars.

use roxmltree::Node;

use crate::time::Duration;

use super::attributes::Attributes;
use super::direction::{count, direction, sound};
use super::harmony::symbol;
use super::model::{Bar, Directions, Part};
use super::note::{is_whole_bar, note};
use super::tree::{child, text, text_of};

/// A measure: the element that has its number, and the one that has its content.
#[derive(Clone, Copy)]
pub(super) struct Measure<'a, 'i> {
    pub(super) named: Node<'a, 'i>,
    pub(super) content: Node<'a, 'i>,
}

/// Reads a part bar by bar.
pub(super) fn part(name: String, measures: &[Measure<'_, '_>], directions: &mut Directions) -> Part {
    let mut walk = Walk {
        part: Part { name, ..Part::default() },
        attributes: Attributes::default(),
        directions,
        late: Bar::default(),
        at: Duration::ZERO,
        chord: Duration::ZERO,
    };
    for measure in measures {
        walk.measure(*measure);
    }
    walk.part
}

struct Walk<'d> {
    part: Part,
    attributes: Attributes,
    directions: &'d mut Directions,
    /// The meter and keys that a bar announces for the next one.
    late: Bar,
    /// The time in the bar.
    at: Duration,
    /// When the notes of the current chord start.
    chord: Duration,
}

impl Walk<'_> {
    fn measure(&mut self, Measure { named, content }: Measure<'_, '_>) {
        let mut bar = Bar {
            number: named.attribute("number").unwrap_or_default().trim().to_string(),
            is_implicit: named.attribute("implicit") == Some("yes"),
            ..std::mem::take(&mut self.late)
        };
        self.at = Duration::ZERO;
        for node in content.children().filter(Node::is_element) {
            self.element(node, &mut bar);
        }
        self.part.bars.push(bar);
    }

    fn element(&mut self, node: Node<'_, '_>, bar: &mut Bar) {
        let index = self.part.bars.len();
        match node.tag_name().name() {
            "note" => self.note(node, bar),
            "backup" => {
                let back = self.attributes.quarters(text_of(node, "duration")).unwrap_or(Duration::ZERO);
                self.at = self.at.checked_sub(back).unwrap_or(Duration::ZERO).max(Duration::ZERO);
            }
            "forward" => {
                self.at = self.later(text_of(node, "duration"));
                bar.length = bar.length.max(self.at);
            }
            "attributes" => {
                let here = if self.at == Duration::ZERO { bar } else { &mut self.late };
                self.attributes.read(node, here, &mut self.part.necks);
            }
            "direction" => {
                let at = self.offset(node);
                direction(node, (index, at), self.directions, &mut bar.left_out);
            }
            "sound" => {
                let at = self.offset(node);
                sound(node, (index, at), self.directions, &mut bar.left_out);
            }
            "harmony" => {
                let at = self.offset(node);
                let staff = text_of(node, "staff").parse().unwrap_or(1);
                match symbol(node, self.attributes.higher(staff)) {
                    Some(symbol) => bar.chords.push((at, symbol)),
                    None => count(&mut bar.left_out, "chord symbol"),
                }
            }
            "print" => {
                let is_new = |what: &str| node.attribute(what) == Some("yes");
                bar.starts_system |= is_new("new-system") || is_new("new-page");
            }
            "barline" => {
                for _ in node.children().filter(|sign| matches!(sign.tag_name().name(), "repeat" | "ending"))
                {
                    count(&mut bar.left_out, "repeat");
                }
            }
            "figured-bass" => count(&mut bar.left_out, "figured-bass sign"),
            _ => {}
        }
    }

    fn note(&mut self, node: Node<'_, '_>, bar: &mut Bar) {
        let name = text_of(node, "voice");
        let name = if name.is_empty() { "1" } else { name };
        let next = self.part.voices.len();
        let voice = match self.part.voices.get(name) {
            Some(voice) => *voice,
            None => *self.part.voices.entry(name.to_string()).or_insert(next),
        };
        let in_chord = child(node, "chord").is_some();
        if !in_chord {
            self.chord = self.at;
        }
        let note = note(node, self.chord, voice, &self.attributes);
        if !in_chord && child(node, "grace").is_none() {
            // A note that is left out takes its time as well.
            self.at = self.later(text_of(node, "duration"));
        }
        if is_whole_bar(node) {
            bar.silence = bar.silence.max(note.duration);
        } else {
            bar.length = bar.length.max(note.end());
            bar.notes.push(note);
        }
    }

    /// The time in the bar after so many divisions.
    fn later(&self, divisions: &str) -> Duration {
        let length = self.attributes.quarters(divisions).unwrap_or(Duration::ZERO).max(Duration::ZERO);
        self.at.checked_add(length).unwrap_or(self.at)
    }

    /// The time in the bar, with the `offset` of an element.
    fn offset(&self, node: Node<'_, '_>) -> Duration {
        let offset = child(node, "offset").and_then(|offset| self.attributes.quarters(text(offset)));
        let at = self.at.checked_add(offset.unwrap_or(Duration::ZERO)).unwrap_or(self.at);
        at.max(Duration::ZERO)
    }
}
