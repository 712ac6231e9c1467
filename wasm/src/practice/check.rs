//! How close a player is: taps, or what the microphone hears, against the notes that were due.

use halfbar_core::Piece;
use halfbar_core::bars::Place;
use halfbar_core::line::NoteId;
use halfbar_core::listen::{
    Alignment, HIT, Latency, Timing, WINDOW, align, is_other_rhythm, latency, timing, timing_by_group,
};
use halfbar_core::time::Onset;
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
    /// The notes that were farthest off, the worst first: where each is, and how late it was in seconds.
    pub(super) worst: Vec<(Place, f64)>,
    /// Where a figure is that was played as the plain rhythm.
    pub(super) plain: Vec<Place>,
}

/// A note that was due, and the figure that it belongs to.
struct Expected {
    due: Due,
    place: Option<Place>,
    figure: Option<usize>,
    /// Where the figure's window is.
    window: Option<Place>,
    /// When it would be due in the plain rhythm, with the feel that is played and with even eighths.
    plain: [f64; 2],
}

/// How many of the worst places are named.
const WORST: usize = 3;

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

    /// A note of a piece was put on the audio clock. In the plain rhythm it would be that much later, in seconds, with the feel that is played
    /// and with even eighths.
    pub(super) fn expect(&mut self, piece: &Piece, due: Due, plain_later: [f64; 2]) {
        let event = piece.timed().events.iter().find(|event| event.id == due.note);
        let window = event.and_then(|event| {
            let mut windows = piece.casting().windows().iter();
            windows.find(|one| one.span().is_some_and(|span| span.contains(event.onset)))
        });
        let place = |onset: Onset| piece.timed().bars.place(onset).ok();
        let figure = window.map(|window| self.number(window.figure.name()));
        self.expected.push(Expected {
            due,
            place: event.and_then(|event| place(event.onset)),
            figure,
            window: window.and_then(|window| place(window.start)),
            plain: plain_later.map(|later| due.start + later),
        });
    }

    /// Somebody played a note at a moment of the audio clock, which was told with a delay, in seconds. Gives the note that it seems to be, and
    /// how late it was; all notes together may say otherwise in the end.
    pub(super) fn play(&mut self, at: f64, delay: f64) -> Option<(NoteId, f64)> {
        // What finds a delay is not corrected by an older one.
        let at = if self.is_finding() { at } else { at - delay };
        let place = self.played.partition_point(|played| *played <= at);
        self.played.insert(place, at);
        let late = self.expected.iter().map(|one| (one.due.note, at - one.due.start));
        let near = late.filter(|(_, late)| late.abs() <= WINDOW);
        near.min_by(|a, b| a.1.abs().total_cmp(&b.1.abs()))
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
        let mine = &self.expected[first..=last];
        let times = times[first..=last].to_vec();
        let all = timing(&times, &alignment);
        if all.matched == 0 {
            return None;
        }
        let groups: Vec<Option<usize>> = mine.iter().map(|one| one.figure).collect();
        let figures = timing_by_group(&times, &groups, &alignment).into_iter().map(|(figure, timing)| {
            let name = figure.and_then(|number| self.figures.get(number)).map_or(PLAIN, String::as_str);
            (name.to_string(), timing)
        });
        let figures = figures.collect();
        let lates =
            || mine.iter().zip(&alignment.heard).filter_map(|(one, heard)| Some((one, heard.late()?)));
        let off = lates().filter(|(_, late)| late.abs() > HIT);
        let mut worst: Vec<(Place, f64)> = Vec::new();
        for (place, late) in off.filter_map(|(one, late)| Some((one.place?, late))) {
            let farther = worst.partition_point(|(_, other)| other.abs() >= late.abs());
            worst.insert(farther, (place, late));
            worst.truncate(WORST);
        }
        let mut windows: Vec<Place> = mine.iter().filter_map(|one| one.window).collect();
        windows.dedup();
        windows.retain(|window| {
            let notes = || mine.iter().filter(|one| one.window == Some(*window));
            let due: Vec<f64> = notes().map(|one| one.due.start).collect();
            let felt: Vec<f64> = notes().map(|one| one.plain[0]).collect();
            let even: Vec<f64> = notes().map(|one| one.plain[1]).collect();
            [felt, even].iter().any(|plain| is_other_rhythm(&due, plain, &self.played))
        });
        Some(Report { pass: self.pass, times, alignment, all, figures, worst, plain: windows })
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

/// Whole milliseconds.
#[allow(clippy::cast_possible_truncation)]
pub(super) fn ms(seconds: f64) -> i32 {
    (seconds * 1000.0).round() as i32
}

/// A report in one sentence.
pub(super) fn lead(report: &Report) -> String {
    let Timing { matched, on_time, missed, extra, mean, spread, drift } = report.all;
    let mut told = says::played(report.pass + 1, matched, matched + missed, on_time);
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

/// A report in words.
pub(super) fn told(report: &Report) -> String {
    let mut told = lead(report);
    if !report.plain.is_empty() {
        let places: Vec<String> = report.plain.iter().map(|place| place.spoken().to_string()).collect();
        told += &says::played_plain(places.join(", "));
    }
    if !report.worst.is_empty() {
        let places: Vec<String> =
            report.worst.iter().map(|(place, late)| says::at(place.spoken(), off(ms(*late)))).collect();
        told += &says::farthest_off(places.join(", "));
    }
    told
}

/// How early or late, in words.
pub(super) fn off(ms: i32) -> String {
    says::off(ms.abs(), if ms < 0 { says::AHEAD } else { says::BEHIND })
}

#[cfg(test)]
mod tests {
    use super::*;
    use halfbar_core::read;

    /// Two bars at 60 quarter notes a minute: eight notes to a pass of four seconds, the first two recast.
    const LINE: &str = "tempo: 60\nfeel: straight\nrecast: split-last at 1.1 bracket\nC4 D E F G A B C |\n";

    fn piece() -> Piece {
        let reading = read::text(LINE);
        Piece::new(reading.line.unwrap(), reading.casting).unwrap()
    }

    /// When the notes of a pass are due: every half second, whatever they are.
    fn due(pass: usize) -> impl Iterator<Item = Due> {
        (0..8u32).map(move |note| {
            let start = 10.0 + 4.0 * pass as f64 + 0.5 * f64::from(note);
            Due { note: NoteId(note), start, end: start + 0.5, pass }
        })
    }

    /// A check that expects some passes.
    fn check(passes: usize) -> Check {
        let (piece, mut check) = (piece(), Check::default());
        check.start();
        (0..passes).flat_map(due).for_each(|due| check.expect(&piece, due, [0.0; 2]));
        check
    }

    #[test]
    fn a_pass_is_told_when_it_is_over() {
        let mut check = check(2);
        for due in due(0) {
            check.play(due.start + 0.02, 0.0);
        }
        assert_eq!(check.go_on(13.9), None, "its last note may come yet");
        let report = check.go_on(14.0 + WINDOW).unwrap();
        assert_eq!((report.pass, report.all.matched, report.all.missed, report.all.extra), (0, 8, 0, 0));
        assert_eq!(
            told(&report),
            "Take 1: 8 of 8 notes, 8 within 50 ms. On average 20 ms behind the beat (± 0 ms)."
        );
        let names: Vec<(&str, usize)> =
            report.figures.iter().map(|(name, timing)| (name.as_str(), timing.matched)).collect();
        assert_eq!(names, [("split-last", 4), ("plain", 4)]);
        assert_eq!(check.go_on(14.0 + WINDOW), None, "it is told once");
    }

    #[test]
    fn even_notes_are_not_the_figure() {
        let (piece, mut check) = (piece(), Check::default());
        check.start();
        // The figure's four notes are due at 0, 2/3, 4/3 and 5/3 of its half-bar; plain ones would be even.
        let later = [0.0, -1.0 / 6.0, -1.0 / 3.0, -1.0 / 6.0, 0.0, 0.0, 0.0, 0.0];
        let even: Vec<Due> = due(0).collect();
        for (due, later) in even.iter().zip(later) {
            check.expect(&piece, Due { start: due.start - later, ..*due }, [later; 2]);
        }
        even.iter().for_each(|due| {
            check.play(due.start, 0.0);
        });
        let report = check.stop(14.5, true).unwrap();
        assert!(report.all.on_time < 8, "{:?}", report.all);
        let said = told(&report);
        assert!(said.contains("Played as plain eighths, not as the figure: bar 1 beat 1."), "{said}");
    }

    #[test]
    fn the_worst_places_are_named() {
        let mut check = check(1);
        for (due, late) in due(0).zip([0.0, 0.06, 0.0, -0.12, 0.0, 0.09, 0.07, 0.0]) {
            check.play(due.start + late, 0.0);
        }
        let report = check.stop(14.5, true).unwrap();
        assert_eq!((report.all.matched, report.all.on_time), (8, 4));
        let worst: Vec<i32> = report.worst.iter().map(|(_, late)| ms(*late)).collect();
        assert_eq!(worst, [-120, 90, 70]);
        let said = told(&report);
        assert!(said.contains("Farthest off: bar 1") && said.contains("120 ms ahead"), "{said}");
    }

    #[test]
    fn a_note_is_shown_as_soon_as_it_is_played() {
        let mut check = check(1);
        let first = due(0).next().unwrap();
        assert_eq!(check.play(first.start + 5.0, 0.0), None, "too far from any");
        let (note, late) = check.play(first.start - 0.03, 0.0).unwrap();
        assert!(note == first.note && (late + 0.03).abs() < 1e-9);
    }

    #[test]
    fn each_pass_has_its_own_figures() {
        let mut check = check(3);
        for (pass, late) in [(0, -0.03), (1, 0.0)] {
            for due in due(pass).filter(|due| due.note != NoteId(3)) {
                check.play(due.start + late, 0.0);
            }
        }
        // One too many, in the middle of the second.
        check.play(16.25, 0.0);
        let first = check.go_on(18.0).unwrap();
        assert_eq!(
            told(&first),
            "Take 1: 7 of 8 notes, 7 within 50 ms. On average 30 ms ahead of the beat (± 0 ms)."
        );
        let second = check.go_on(18.0 + WINDOW).unwrap();
        assert_eq!(
            told(&second),
            "Take 2: 7 of 8 notes, 7 within 50 ms, 1 extra. On average right on the beat (± 0 ms)."
        );
    }

    #[test]
    fn a_note_before_the_bar_line_belongs_to_the_next_pass() {
        let mut check = check(2);
        due(0).for_each(|due| {
            check.play(due.start, 0.0);
        });
        due(1).for_each(|due| {
            check.play(due.start - 0.04, 0.0);
        });
        let first = check.go_on(14.0 + WINDOW).unwrap();
        assert_eq!((first.all.matched, first.all.extra), (8, 0));
        let second = check.stop(18.0, true).unwrap();
        assert_eq!((second.all.matched, second.all.extra), (8, 0));
        assert!(second.all.mean.is_some_and(|mean| (mean + 0.04).abs() < 1e-9));
    }

    #[test]
    fn who_hurries_is_told_so() {
        let mut check = check(1);
        due(0).for_each(|due| {
            check.play(due.start - 0.01 * (due.start - 10.0), 0.0);
        });
        let report = check.stop(14.5, true).unwrap();
        assert!(told(&report).ends_with(", rushing by 10 ms per second."), "{}", told(&report));
    }

    #[test]
    fn even_eighths_are_told_where_plain_ones_would_swing() {
        let (piece, mut check) = (piece(), Check::default());
        check.start();
        // The figure's notes; the plain ones would swing 1.8 : 1 at a quarter note per second, and even ones are half a second apart.
        let felt = [0.0, 1.8 / 2.8, 1.0, 1.0 + 1.8 / 2.8];
        let figure = [0.0, 2.0 / 3.0, 4.0 / 3.0, 5.0 / 3.0];
        for (index, due) in due(0).take(4).enumerate() {
            let (even, start) = (0.5 * index as f64, 10.0 + figure[index]);
            check.expect(&piece, Due { start, ..due }, [felt[index] - figure[index], even - figure[index]]);
            check.play(10.0 + even, 0.0);
        }
        let said = told(&check.stop(14.5, true).unwrap());
        assert!(said.contains("Played as plain eighths, not as the figure: bar 1 beat 1."), "{said}");
    }

    #[test]
    fn who_only_listens_is_not_told() {
        let mut listening = check(2);
        assert_eq!(listening.go_on(14.0 + WINDOW), None);
        assert_eq!(listening.stop(18.0, true), None);
    }

    #[test]
    fn a_pass_that_is_broken_off_is_told_if_it_is_the_first() {
        let mut first = check(2);
        due(0).take(4).for_each(|due| {
            first.play(due.start, 0.0);
        });
        let report = first.stop(11.6, false).unwrap();
        assert_eq!((report.all.matched, report.all.missed), (4, 0), "what was not due is not missed");

        let mut second = check(2);
        due(0).chain(due(1).take(4)).for_each(|due| {
            second.play(due.start, 0.0);
        });
        assert!(second.go_on(14.0 + WINDOW).is_some());
        assert_eq!(second.stop(15.6, false), None);
    }

    #[test]
    fn a_known_delay_is_taken_off() {
        let mut check = check(1);
        due(0).for_each(|due| {
            check.play(due.start + 0.2, 0.2);
        });
        assert_eq!(
            told(&check.stop(14.5, true).unwrap()),
            "Take 1: 8 of 8 notes, 8 within 50 ms. On average right on the beat (± 0 ms)."
        );
    }

    #[test]
    fn a_delay_is_found_from_the_clicks() {
        let clicks: Vec<f64> = (0..12).map(|click| 5.0 + GAP * f64::from(click)).collect();
        let end = clicks[11] + 2.0 * GAP;
        let mut check = Check::default();
        check.find(By::Taps, clicks.clone());
        assert!(check.is_finding() && check.is_waiting());
        // An older delay says nothing of this one.
        clicks.iter().skip(2).for_each(|click| {
            check.play(click + 0.08, 0.5);
        });
        assert_eq!(check.found(end), None);
        let (by, found) = check.found(end + 0.01).unwrap();
        assert_eq!((by, found.map(|latency| ms(latency.seconds))), (By::Taps, Ok(80)));
        assert!(!check.is_waiting());

        check.find(By::Microphone, clicks);
        let (by, found) = check.found(end + 0.01).unwrap();
        assert!(by == By::Microphone && found.is_err(), "nobody played");
    }
}
