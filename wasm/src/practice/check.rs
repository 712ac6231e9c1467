//! How close a player is: taps, or what the microphone hears, against the notes that were due.

use halfbar_core::Piece;
use halfbar_core::line::NoteId;
use halfbar_core::listen::{Alignment, Latency, Timing, WINDOW, align, latency, timing, timing_by_group};
use halfbar_player::Due;
use halfbar_words::practice as says;

/// What is not recast.
const PLAIN: &str = "plain";
/// How far apart the clicks are that a delay is found with, in seconds; it is known two of them after the last one.
pub(super) const GAP: f64 = 0.6;
/// How many passes are compared at once: a late note may belong to the pass before.
const PASSES: usize = 3;

/// With what somebody plays along.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum By {
    Taps,
    Microphone,
}

impl By {
    pub(super) fn says(self) -> &'static str {
        match self {
            By::Taps => says::TAP_LATENCY,
            By::Microphone => says::MICROPHONE_LATENCY,
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

/// How close a pass was.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct Report {
    /// Which time through, from 0.
    pub(super) pass: usize,
    /// When its notes were due, in seconds of the audio clock, and how each was played.
    pub(super) times: Vec<f64>,
    pub(super) alignment: Alignment,
    pub(super) all: Timing,
    /// By the name of the figure.
    pub(super) figures: Vec<(String, Timing)>,
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

    /// Whether something will be known later.
    pub(super) fn is_waiting(&self) -> bool {
        self.finding.is_some() || self.expected.iter().any(|one| one.due.pass > self.pass)
    }

    /// A note of a piece was put on the audio clock.
    pub(super) fn expect(&mut self, piece: &Piece, due: Due) {
        let figure = figure_of(piece, due.note).map(|name| self.number(name));
        self.expected.push(Expected { due, figure });
    }

    /// Somebody played a note at a moment of the audio clock, which was told with a delay, in seconds.
    pub(super) fn play(&mut self, at: f64, delay: f64) {
        // What finds a delay is not corrected by an older one.
        let at = if self.is_finding() { at } else { at - delay };
        let place = self.played.partition_point(|played| *played <= at);
        self.played.insert(place, at);
    }

    /// How close a pass was that is over at a moment of the audio clock.
    pub(super) fn go_on(&mut self, now: f64) -> Option<Report> {
        let next = self.expected.iter().find(|one| one.due.pass > self.pass)?;
        let last = self.expected.iter().rfind(|one| one.due.pass == self.pass)?;
        let over = next.due.start + WINDOW;
        // Whoever plays along at all has played something by then.
        if now < over.max(last.due.end + WINDOW) {
            return None;
        }
        let report = self.report(next.due.start);
        self.pass += 1;
        let keep = self.pass.saturating_sub(PASSES);
        self.expected.retain(|one| one.due.pass >= keep);
        if let Some(first) = self.expected.first().map(|one| one.due.start) {
            self.played.retain(|played| *played > first - WINDOW);
        }
        report
    }

    /// The player has stopped. A pass that is broken off is told only when none was told before, or when all its notes are over.
    pub(super) fn stop(&mut self, now: f64, all: bool) -> Option<Report> {
        self.expected.retain(|one| one.due.start <= now);
        let any = self.expected.iter().any(|one| one.due.pass == self.pass);
        (any && (all || self.pass == 0)).then(|| self.report(now + WINDOW)).flatten()
    }

    /// How close a pass was that ended at a moment; nothing for somebody who only listens.
    fn report(&self, end: f64) -> Option<Report> {
        let times: Vec<f64> = self.expected.iter().map(|one| one.due.start).collect();
        let alignment = align(&times, &self.played, WINDOW);
        let mine = |one: &Expected| one.due.pass == self.pass;
        let (first, last) = (self.expected.iter().position(mine)?, self.expected.iter().rposition(mine)?);
        let begin = if self.pass == 0 { f64::MIN } else { times[first] - WINDOW / 2.0 };
        let inside = |time: f64| time >= begin && time < end - WINDOW / 2.0;
        let alignment = Alignment {
            heard: alignment.heard[first..=last].to_vec(),
            extra: alignment.extra.into_iter().filter(|&time| inside(time)).collect(),
        };
        let times = times[first..=last].to_vec();
        let all = timing(&times, &alignment);
        if all.matched == 0 {
            return None;
        }
        let groups: Vec<Option<usize>> = self.expected[first..=last].iter().map(|one| one.figure).collect();
        let figures = timing_by_group(&times, &groups, &alignment).into_iter().map(|(figure, timing)| {
            let name = figure.and_then(|number| self.figures.get(number)).map_or(PLAIN, String::as_str);
            (name.to_string(), timing)
        });
        let figures = figures.collect();
        Some(Report { pass: self.pass, times, alignment, all, figures })
    }

    fn number(&mut self, name: &str) -> usize {
        let known = self.figures.iter().position(|figure| figure == name);
        known.unwrap_or_else(|| {
            self.figures.push(name.to_string());
            self.figures.len() - 1
        })
    }

    /// Starts to find out how late this device tells what is played, by clicks at these moments of the audio clock.
    pub(super) fn find(&mut self, by: By, clicks: Vec<f64>) {
        self.start();
        self.finding = Some((by, clicks));
    }

    /// The delay that was found, once the clicks are over; or what stands against it.
    pub(super) fn found(&mut self, now: f64) -> Option<(By, Result<Latency, String>)> {
        let over = |clicks: &Vec<f64>| clicks.last().is_some_and(|last| now > last + 2.0 * GAP);
        let (by, clicks) = self.finding.take_if(|(_, clicks)| over(clicks))?;
        let played = std::mem::take(&mut self.played);
        Some((by, latency(&clicks, &played).map_err(|why| why.to_string())))
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

/// A report in words.
pub(super) fn told(report: &Report) -> String {
    let Timing { matched, missed, extra, mean, spread, drift } = report.all;
    let mut told = says::played(report.pass + 1, matched, matched + missed);
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
        let way = if drift < 0 { says::RUSHING } else { says::DRAGGING };
        told += &says::drifting(way, drift.abs());
    }
    told + "."
}

/// How early or late, in words.
pub(super) fn off(ms: i32) -> String {
    says::off(ms.abs(), if ms < 0 { says::AHEAD } else { says::BEHIND })
}
