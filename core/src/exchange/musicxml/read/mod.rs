//! MusicXML -> a score, and one voice of it -> a draft of a line.
//!
//! ```text
//! text --tree--> elements --measure--> Part --voices--> what there is to choose --take--> Draft
//! ```

mod attributes;
mod bars;
mod chosen;
mod direction;
mod harmony;
mod measure;
mod model;
mod note;
mod take;
mod limits;
mod tree;
mod voices;

use std::collections::BTreeMap;

use roxmltree::Node;

use super::error::MusicXmlError;
use crate::exchange::choice::{Choice, PartContents};
use crate::exchange::draft::Draft;
use crate::exchange::error::Result;
use crate::exchange::musicxml::own::TEXT_FIELD;

use measure::Measure;
pub(crate) use model::Score;
use model::{Directions, Part, Staff};
use tree::{child, children, inside, row, text_of};

/// The most bars that are read.
const MOST_BARS: usize = 1000;

/// Reads the text of a file.
pub(crate) fn read(text: &str) -> Result<Score> {
    let document = tree::tree(text)?;
    let root = document.root_element();
    let names: BTreeMap<&str, String> =
        inside(root, "score-part").map(|part| (id(part), row(text_of(part, "part-name")))).collect();
    // In the order of the file.
    let (mut order, mut measures) = (Vec::new(), BTreeMap::<&str, Vec<Measure<'_, '_>>>::new());
    let mut add = |part, measure| {
        let measures = measures.entry(id(part)).or_default();
        if measures.is_empty() {
            order.push(id(part));
        }
        measures.push(measure);
    };
    match root.tag_name().name() {
        "score-partwise" => {
            for part in children(root, "part") {
                children(part, "measure").for_each(|named| add(part, Measure { named, content: named }));
            }
        }
        "score-timewise" => {
            for named in children(root, "measure") {
                children(named, "part").for_each(|part| add(part, Measure { named, content: part }));
            }
        }
        other => return Err(MusicXmlError::Other { root: other.chars().take(40).collect() }.into()),
    }
    let bars = measures.values().map(Vec::len).max().unwrap_or(0);
    if bars > MOST_BARS {
        return Err(MusicXmlError::Bars { bars, allowed: MOST_BARS }.into());
    }
    let mut directions = Directions::default();
    let parts: Vec<Part> = order
        .into_iter()
        .filter_map(|id| {
            let name = names.get(id).cloned().unwrap_or_default();
            Some(measure::part(name, measures.get(id)?, &mut directions))
        })
        .collect();
    directions.sort();
    let staves: Vec<Vec<Staff>> = parts.iter().map(voices::staves).collect();
    if staves.iter().flatten().all(|staff| staff.voices.is_empty()) {
        return Err(MusicXmlError::Empty.into());
    }
    Ok(Score { title: title(root), text: own_text(root), parts, staves, directions })
}

fn id<'a>(part: Node<'a, '_>) -> &'a str {
    part.attribute("id").unwrap_or_default()
}

fn title(root: Node<'_, '_>) -> String {
    let work = child(root, "work").map(|work| text_of(work, "work-title"));
    let titles = work.into_iter().chain([text_of(root, "movement-title")]);
    let title = titles.map(row).find(|title| !title.is_empty());
    let credited = || {
        let is_title = |credit: &Node<'_, '_>| text_of(*credit, "credit-type") == "title";
        let credit = children(root, "credit").find(is_title);
        credit.map(|credit| row(text_of(credit, "credit-words")))
    };
    title.or_else(credited).unwrap_or_default()
}

fn own_text(root: Node<'_, '_>) -> Option<String> {
    let identification = child(root, "identification")?;
    let fields =
        children(identification, "miscellaneous").flat_map(|all| children(all, "miscellaneous-field"));
    let own = fields.into_iter().find(|field| field.attribute("name") == Some(TEXT_FIELD))?;
    Some(own.text().unwrap_or_default().to_string())
}

impl Score {
    pub(crate) fn title(&self) -> &str {
        &self.title
    }

    pub(crate) fn parts(&self) -> Vec<PartContents> {
        let staves = self.parts.iter().zip(&self.staves);
        staves
            .map(|(part, staves)| PartContents {
                name: part.name.clone(),
                staves: voices::listed(part, staves),
            })
            .collect()
    }

    pub(crate) fn take(&self, choice: &Choice) -> Result<Draft> {
        take::take(self, choice)
    }
}
