//! How close a player is: taps, or what the microphone hears, against the notes that were due.

use halfbar_core::Piece;
use halfbar_core::line::NoteId;
use halfbar_core::listen::{Alignment, Timing, WINDOW, align, latency, timing, timing_by_group};
use halfbar_core::perform::ClickKind;
use halfbar_dom::form::{say, sentence};
use halfbar_dom::{Result, by_id};
use halfbar_words::desk as says;
use web_sys::HtmlElement;

use super::audio::{Audio, Part, What};
use super::player::Due;
use super::results;
use super::strip::strip;

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
    fn says(self) -> &'static str {
        match self {
            By::Taps => says::DELAY_OF_TAPS,
            By::Microphone => says::DELAY_OF_THE_MICROPHONE,
        }
    }

    /// Under which its delay is kept.
    pub(super) fn name(self) -> &'static str {
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

    /// Whether a delay is being found.
    pub(super) fn is_finding(&self) -> bool {
        self.finding.is_some()
    }

    /// A note of a piece was put on the audio clock.
    pub(super) fn expect(&mut self, piece: &Piece, due: Due) {
        let figure = figure_of(piece, due.note).map(|name| self.number(name));
        self.expected.push(Expected { due, figure });
    }

    /// Somebody played a note, in seconds of the audio clock.
    pub(super) fn play(&mut self, by: By, at: f64) -> Result<()> {
        let delay = if self.finding.is_some() { 0.0 } else { results::delay(by)?.unwrap_or(0.0) };
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
            results::add(name, &timing)?;
        }
        results::show()
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
            audio.play(Part::Click, What::Click(ClickKind::Beat), click)?;
        }
        self.finding = Some((by, clicks));
        say("timing-says", says::TAP_EVENLY)
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
                results::set_delay(by, latency.seconds)?;
                says::delay_found(by.says(), ms(latency.seconds))
            }
            Err(why) => sentence(&why.to_string()),
        };
        self.played.clear();
        say("timing-says", &says)
    }
}

/// The figure that a note is recast by.
fn figure_of(piece: &Piece, note: NoteId) -> Option<&str> {
    let event = piece.timed().events.iter().find(|event| event.id == note)?;
    let window = piece
        .casting()
        .windows()
        .iter()
        .find(|window| window.span().is_some_and(|span| span.contains(event.onset)))?;
    Some(window.figure.name())
}

/// Whole milliseconds.
#[allow(clippy::cast_possible_truncation)]
pub(super) fn ms(seconds: f64) -> i32 {
    (seconds * 1000.0).round() as i32
}

fn told(pass: usize, timing: &Timing) -> String {
    let Timing { matched, missed, extra, mean, spread, drift } = *timing;
    let mut told = says::played(pass + 1, matched, matched + missed);
    if extra > 0 {
        told += &says::too_many(extra);
    }
    if let Some(mean) = mean.map(ms) {
        told += &match mean {
            0 => says::ON_TIME.to_string(),
            _ => says::on_the_whole(off(mean)),
        };
    }
    if let Some(spread) = spread {
        told += &says::give_or_take(ms(spread));
    }
    if let Some(drift) = drift.map(|drift| ms(drift / 60.0)).filter(|drift| *drift != 0) {
        let way = if drift < 0 { says::HURRYING } else { says::SLOWING };
        told += &says::drifting(way, drift.abs());
    }
    told + "."
}

/// How early or late, in words.
pub(super) fn off(ms: i32) -> String {
    says::off(ms.abs(), if ms < 0 { says::EARLY } else { says::LATE })
}
