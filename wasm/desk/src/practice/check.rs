//! How close a player is: taps, or what the microphone hears, against the notes that were due.

use halfbar_core::Piece;
use halfbar_core::line::NoteId;
use halfbar_core::listen::{Alignment, Heard, Timing, WINDOW, align, latency, timing, timing_by_group};
use halfbar_core::perform::Kind;
use halfbar_dom::{Result, by_id, create, window};
use js_sys::{Array, JSON, Object, Reflect};
use svg::Document;
use svg::node::element::{Circle, Line as Rule, Path};
use wasm_bindgen::prelude::*;
use web_sys::{Element, HtmlElement, Storage};

use super::audio::{Audio, Part, What};
use super::player::Due;
use crate::form::{say, sentence};

/// Where results by figure and the device's delays are kept.
const KEPT: &str = "halfbar-timing";
/// What is not recast.
const PLAIN: &str = "plain";
/// The clicks that a delay is found with: how many, how far apart and how long after the start, in seconds. The first ones are to listen.
const CLICKS: u8 = 12;
const GAP: f64 = 0.6;
const LEAD: f64 = 0.5;
/// How many passes are compared at once: a late note may belong to the pass before.
const PASSES: usize = 3;

/// With what somebody plays along.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum By {
    Taps,
    Microphone,
}

impl By {
    fn name(self) -> &'static str {
        match self {
            By::Taps => "delay of taps",
            By::Microphone => "delay of the microphone",
        }
    }
}

/// A note that was due, and the figure that it belongs to.
struct Expected {
    due: Due,
    figure: Option<usize>,
}

#[derive(Default)]
pub(super) struct Check {
    expected: Vec<Expected>,
    played: Vec<f64>,
    /// The names of figures in what is played.
    figures: Vec<String>,
    /// The pass that is told next.
    pass: usize,
    /// The clicks of a delay that is being found, with what was played to them.
    finding: Option<(By, Vec<f64>)>,
}

impl Check {
    /// Something is played from its start.
    pub(super) fn start(&mut self) {
        *self = Check::default();
    }

    /// A note of a piece was put on the audio clock.
    pub(super) fn expect(&mut self, piece: &Piece, due: Due) {
        let figure = figure_of(piece, due.note).map(|name| self.number(name));
        self.expected.push(Expected { due, figure });
    }

    /// Somebody played a note, in seconds of the audio clock.
    pub(super) fn play(&mut self, by: By, at: f64) -> Result<()> {
        let delay = if self.finding.is_some() { 0.0 } else { delay(by)?.unwrap_or(0.0) };
        let place = self.played.partition_point(|played| *played <= at - delay);
        self.played.insert(place, at - delay);
        Ok(())
    }

    /// Tells a pass that is over at a moment of the audio clock.
    pub(super) fn go_on(&mut self, now: f64) -> Result<()> {
        self.find(now)?;
        let next = self.expected.iter().find(|one| one.due.pass > self.pass);
        let last = self.expected.iter().rfind(|one| one.due.pass == self.pass);
        let (Some(next), Some(last)) = (next, last) else { return Ok(()) };
        let over = next.due.start + WINDOW;
        // Whoever plays along at all has played something by then.
        if now < over.max(last.due.end + WINDOW) {
            return Ok(());
        }
        let edge = next.due.start;
        self.tell(edge)?;
        self.pass += 1;
        let keep = self.pass.saturating_sub(PASSES);
        self.expected.retain(|one| one.due.pass >= keep);
        if let Some(first) = self.expected.first().map(|one| one.due.start) {
            self.played.retain(|played| *played > first - WINDOW);
        }
        Ok(())
    }

    /// The player has stopped. A pass that is broken off is told only when none was told before, or when all its notes are over.
    pub(super) fn stop(&mut self, now: f64, all: bool) -> Result<()> {
        self.expected.retain(|one| one.due.start <= now);
        let any = self.expected.iter().any(|one| one.due.pass == self.pass);
        match any && (all || self.pass == 0) {
            true => self.tell(now + WINDOW),
            false => Ok(()),
        }
    }

    /// Says how close a pass was that ended at a moment.
    fn tell(&mut self, end: f64) -> Result<()> {
        let times: Vec<f64> = self.expected.iter().map(|one| one.due.start).collect();
        let alignment = align(&times, &self.played, WINDOW);
        let mine: Vec<usize> =
            (0..times.len()).filter(|&index| self.expected[index].due.pass == self.pass).collect();
        let Some((&first, &last)) = mine.first().zip(mine.last()) else { return Ok(()) };
        let begin = if self.pass == 0 { f64::MIN } else { times[first] - WINDOW / 2.0 };
        let inside = |time: f64| time >= begin && time < end - WINDOW / 2.0;
        let own = Alignment {
            heard: alignment.heard[first..=last].to_vec(),
            extra: alignment.extra.into_iter().filter(|&time| inside(time)).collect(),
        };
        let all = timing(&times[first..=last], &own);
        // Somebody who only listens is not told about it.
        if all.matched == 0 {
            return Ok(());
        }
        say("timing-says", &told(self.pass, &all))?;
        by_id::<HtmlElement>("strip")?.set_inner_html(&strip(&times[first..=last], &own));
        let groups: Vec<Option<usize>> = self.expected[first..=last].iter().map(|one| one.figure).collect();
        for (figure, timing) in timing_by_group(&times[first..=last], &groups, &own) {
            let name = figure.and_then(|number| self.figures.get(number)).map_or(PLAIN, String::as_str);
            keep(name, &timing)?;
        }
        show_kept()
    }

    fn number(&mut self, name: &str) -> usize {
        let known = self.figures.iter().position(|figure| figure == name);
        known.unwrap_or_else(|| {
            self.figures.push(name.to_string());
            self.figures.len() - 1
        })
    }

    /// Starts to find out how late this device tells what is played.
    pub(super) fn start_finding(&mut self, by: By, audio: &mut Audio) -> Result<()> {
        self.start();
        let start = audio.now() + LEAD;
        audio.open(start - LEAD / 2.0)?;
        let clicks: Vec<f64> = (0..CLICKS).map(|click| start + GAP * f64::from(click)).collect();
        for &click in &clicks {
            audio.play(Part::Click, What::Click(Kind::Beat), click)?;
        }
        self.finding = Some((by, clicks));
        say("timing-says", "Play or tap with the clicks, evenly.")
    }

    fn find(&mut self, now: f64) -> Result<()> {
        let over = self
            .finding
            .as_ref()
            .and_then(|(_, clicks)| clicks.last())
            .is_some_and(|last| now > last + 2.0 * GAP);
        let Some((by, clicks)) = self.finding.take_if(|_| over) else { return Ok(()) };
        let says = match latency(&clicks, &self.played) {
            Ok(latency) => {
                set(by.name(), &latency.seconds.into())?;
                format!(
                    "The {} is {} ms: it is taken off from now on. It holds how early you tend to be, too.",
                    by.name(),
                    ms(latency.seconds)
                )
            }
            Err(why) => sentence(&why.to_string()),
        };
        self.played.clear();
        say("timing-says", &says)
    }
}

/// The figure that a note is recast by.
fn figure_of(piece: &Piece, note: NoteId) -> Option<&str> {
    let event = piece.timed.events.iter().find(|event| event.id == note)?;
    let window = piece.timed.windows.iter().find(|window| window.span.contains(event.onset))?;
    Some(window.figure.name())
}

/// Whole milliseconds.
#[allow(clippy::cast_possible_truncation)]
fn ms(seconds: f64) -> i32 {
    (seconds * 1000.0).round() as i32
}

fn told(pass: usize, timing: &Timing) -> String {
    let Timing { matched, missed, extra, mean, spread, drift } = *timing;
    let mut told = format!("Time {}: {matched} of {} notes", pass + 1, matched + missed);
    if extra > 0 {
        told += &format!(", and {extra} too many");
    }
    if let Some(mean) = mean.map(ms) {
        told += &match mean {
            0 => ". On the whole on time".to_string(),
            _ => format!(". On the whole {}", off(mean)),
        };
    }
    if let Some(spread) = spread {
        told += &format!(", give or take {} ms", ms(spread));
    }
    if let Some(drift) = drift.map(|drift| ms(drift / 60.0)).filter(|drift| *drift != 0) {
        let way = if drift < 0 { "hurrying" } else { "slowing" };
        told += &format!(", {way} by {} ms a second", drift.abs());
    }
    told + "."
}

fn off(ms: i32) -> String {
    format!("{} ms {}", ms.abs(), if ms < 0 { "early" } else { "late" })
}

/// The strip: time goes to the right; a dot for every note, above the line when it was early and below when it was late; a ring where one was
/// missed, and a cross for one too many. The lines beside the middle one are 50 ms away.
fn strip(times: &[f64], alignment: &Alignment) -> String {
    const WIDTH: f64 = 600.0;
    const HALF: f64 = 50.0;
    const EDGE: f64 = 12.0;
    let (first, last) = (times[0], times[times.len() - 1]);
    let x =
        |time: f64| EDGE + (WIDTH - 2.0 * EDGE) * ((time - first) / (last - first).max(0.1)).clamp(0.0, 1.0);
    let whole = |value: f64| ms(value / 1000.0);
    let mut picture = Document::new()
        .set("viewBox", format!("0 0 {} {}", whole(WIDTH), whole(2.0 * HALF)))
        .set("role", "img")
        .set("aria-label", "each note, early above the line and late below it");
    for (y, width) in [(HALF / 2.0, 0), (HALF, 1), (1.5 * HALF, 0)] {
        let rule = Rule::new().set("x1", 0).set("x2", whole(WIDTH)).set("y1", whole(y)).set("y2", whole(y));
        picture = picture.add(rule.set("class", if width == 1 { "on-time" } else { "off-time" }));
    }
    for (&time, heard) in times.iter().zip(&alignment.heard) {
        let dot = Circle::new().set("cx", whole(x(time)));
        picture = picture.add(match heard {
            Heard::At { late } => {
                let y = HALF + (late * 500.0).clamp(4.0 - HALF, HALF - 4.0);
                dot.set("cy", whole(y)).set("r", 4).set("class", "played")
            }
            Heard::Missed => dot.set("cy", whole(HALF)).set("r", 4).set("class", "missed"),
        });
    }
    for &time in &alignment.extra {
        let cross = format!("M{} {}l8 8m0 -8l-8 8", whole(x(time)) - 4, whole(HALF) - 4);
        picture = picture.add(Path::new().set("d", cross).set("class", "extra"));
    }
    picture.to_string()
}

/// What the browser keeps for this page, if it keeps anything.
fn storage() -> Option<Storage> {
    window().ok()?.local_storage().ok()?
}

/// All that is kept. What is damaged counts as nothing.
fn kept() -> Object {
    let text = storage().and_then(|storage| storage.get_item(KEPT).ok()?);
    let kept = text.and_then(|text| JSON::parse(&text).ok()?.dyn_into::<Object>().ok());
    kept.unwrap_or_default()
}

fn set(name: &str, value: &JsValue) -> Result<()> {
    let kept = kept();
    Reflect::set(&kept, &name.into(), value)?;
    if let Some(storage) = storage() {
        // A full or a locked store keeps nothing; the pass was told all the same.
        let _ = storage.set_item(KEPT, &String::from(JSON::stringify(&kept)?));
    }
    Ok(())
}

/// How late this device tells what is played, if that was found.
fn delay(by: By) -> Result<Option<f64>> {
    Ok(Reflect::get(&kept(), &by.name().into())?.as_f64())
}

/// What is kept of a figure: how many times it was told, its notes played, missed and too many, and mean and spread in seconds, the mean of all
/// played notes so far.
type Record = [f64; 6];

fn record(name: &str) -> Record {
    let row = Reflect::get(&kept(), &name.into()).ok().and_then(|row| row.dyn_into::<Array>().ok());
    let number =
        |index| row.as_ref().and_then(|row| row.get(index).as_f64()).filter(|number| number.is_finite());
    [0, 1, 2, 3, 4, 5].map(|index| number(index).unwrap_or(0.0))
}

fn keep(name: &str, timing: &Timing) -> Result<()> {
    let [times, matched, missed, extra, mean, spread] = record(name);
    let new = timing.matched as f64;
    let all = (matched + new).max(1.0);
    let joined = |old: f64, now: Option<f64>| (old * matched + now.unwrap_or(old) * new) / all;
    let record = [
        times + 1.0,
        matched + new,
        missed + timing.missed as f64,
        extra + timing.extra as f64,
        joined(mean, timing.mean),
        joined(spread, timing.spread),
    ];
    set(name, &record.iter().map(|number| JsValue::from_f64(*number)).collect::<Array>())
}

/// Shows what is kept by figure.
pub(super) fn show_kept() -> Result<()> {
    let rows: Element = by_id("kept-rows")?;
    rows.set_inner_html("");
    let mut any = false;
    for name in Object::keys(&kept()).iter().filter_map(|name| name.as_string()) {
        let [times, matched, missed, extra, mean, spread] = record(&name);
        if times == 0.0 {
            continue;
        }
        any = true;
        let whole = |number: f64| ms(number / 1000.0);
        let row: Element = create("tr")?;
        let cells = [
            ("th", name),
            ("td", format!("{}", whole(times))),
            ("td", format!("{} of {}", whole(matched), whole(matched + missed))),
            ("td", whole(extra).to_string()),
            ("td", off(ms(mean))),
            ("td", format!("{} ms", ms(spread))),
        ];
        for (kind, text) in cells {
            let cell: Element = create(kind)?;
            cell.set_text_content(Some(&text));
            row.append_child(&cell)?;
        }
        rows.append_child(&row)?;
    }
    by_id::<Element>("kept")?.toggle_attribute_with_force("hidden", !any)?;
    Ok(())
}

/// Forgets results and delays.
pub(super) fn forget() -> Result<()> {
    if let Some(storage) = storage() {
        let _ = storage.remove_item(KEPT);
    }
    show_kept()
}
