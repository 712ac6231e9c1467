//! Plays a stretch of the line, once or again and again: what sounds when, put on the audio clock a little ahead.

use halfbar_core::Piece;
use halfbar_core::line::{Feel, NoteId, Tempo};
use halfbar_core::perform::{self, Clock, Metronome, Pass, Practice, Take};
use halfbar_core::pitch::MidiKey;
use halfbar_core::sound::{Note, Voicing};
use halfbar_core::time::{Onset, Span};
use halfbar_dom::{Result, document, thrown};

use crate::audio::{Audio, Part, What};

/// How far ahead sounds are put on the clock, in seconds: as far as a busy page may be late. A page that nobody sees is called once a
/// second or less.
const AHEAD: f64 = 0.25;
const AHEAD_HIDDEN: f64 = 2.5;
/// How long it takes from a tap to the first sound, in seconds: time to render it.
const START: f64 = 0.12;
/// How long a note that was played is remembered, in seconds.
const REMEMBERED: f64 = 4.0;

/// What to play.
#[derive(Clone, Debug)]
pub struct Plan {
    /// The line in one version or more, which take turns.
    pub versions: Vec<Piece>,
    /// The stretch of it.
    pub stretch: Span,
    /// Where in the stretch to start.
    pub from: Onset,
    /// Whether it comes again and again.
    pub again: bool,
    /// How fast, unless there is a plan of tempos.
    pub tempo: Tempo,
    /// How eighths swing; `None` as the line says.
    pub feel: Option<Feel>,
    /// What clicks with it.
    pub metronome: Metronome,
    /// How many bars are counted in.
    pub count_in: u8,
    /// A tempo for each time through; it ends with the last one.
    pub pace: Vec<Pass>,
}

/// A note that was put on the clock.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Due {
    /// Its id in the line.
    pub note: NoteId,
    /// When it starts, in seconds of the audio clock.
    pub start: f64,
    /// When it ends, the same.
    pub end: f64,
    /// Which time through.
    pub pass: usize,
}

/// Something to hear, in quarter notes from the start of its pass.
struct Item {
    at: f64,
    length: f64,
    heard: Heard,
}

enum Heard {
    Note(Note, Option<NoteId>),
    Click(perform::ClickKind),
    Pad(MidiKey),
}

/// What is being played.
pub struct Player {
    plan: Plan,
    clock: Clock,
    /// How long a pass is, in quarter notes.
    length: f64,
    /// The pass that is being put on the clock, and how much of it is.
    pass: usize,
    items: Vec<Item>,
    next: usize,
    /// Up to where everything is on the clock.
    until: f64,
    /// Where the last pass ends, when that is known.
    end: Option<f64>,
    /// Notes that are heard now, or soon, or were a moment ago.
    due: Vec<Due>,
    /// Notes that were put on the clock since somebody asked last.
    fresh: Vec<Due>,
}

impl Player {
    /// Starts now, as far as the sound allows.
    ///
    /// # Errors
    /// Times that can't be held.
    pub fn start(audio: &mut Audio, plan: Plan) -> Result<Player> {
        let start = audio.now() + START;
        let bars = plan.versions[0].line().bars();
        let (clicks, lead) = perform::count_in(bars, plan.from, plan.count_in).map_err(thrown)?;
        let from = position(plan.from, plan.stretch);
        let tempo = plan.pace.first().map_or(plan.tempo, |pass| pass.tempo);
        let clock = Clock::new(start, from - lead.to_f64(), tempo);
        audio.open(start)?;
        for click in &clicks {
            let at = clock.seconds(from - lead.to_f64() + click.at.since_start().to_f64());
            audio.play(Part::Click, What::Click(click.kind), at)?;
        }
        let length = plan.stretch.length().map_err(thrown)?.to_f64();
        let mut player = Player {
            plan,
            clock,
            length,
            pass: 0,
            items: Vec::new(),
            next: 0,
            until: from,
            end: None,
            due: Vec::new(),
            fresh: Vec::new(),
        };
        player.begin(0)?;
        player.go_on(audio)?;
        Ok(player)
    }

    /// Puts more on the clock. Says whether there is anything left to hear.
    ///
    /// # Errors
    /// Times that can't be held.
    pub fn go_on(&mut self, audio: &mut Audio) -> Result<bool> {
        let now = audio.now();
        let ahead = if document()?.hidden() { AHEAD_HIDDEN } else { AHEAD };
        while self.end.is_none() {
            let start = self.pass as f64 * self.length;
            let Some(item) = self.items.get(self.next) else {
                self.until = start + self.length;
                // The next pass is made when it is near.
                if self.clock.seconds(self.until) > now + ahead {
                    break;
                }
                match self.goes_on() {
                    true => self.begin(self.pass + 1)?,
                    false => self.end = Some(self.until),
                }
                continue;
            };
            let position = start + item.at;
            let at = self.clock.seconds(position);
            if at > now + ahead {
                self.until = position;
                break;
            }
            let quarter = 60.0 / f64::from(self.clock.tempo_at(position).quarters_per_minute());
            let (seconds, pass) = (item.length * quarter, self.pass);
            match item.heard {
                Heard::Note(note, name) => {
                    audio.play(Part::Line, What::Note(note, ms(seconds)), at)?;
                    if let Some(note) = name {
                        let due = Due { note, start: at, end: at + seconds, pass };
                        self.due.push(due);
                        self.fresh.push(due);
                    }
                }
                Heard::Click(kind) => audio.play(Part::Click, What::Click(kind), at)?,
                Heard::Pad(key) => audio.play(Part::Chords, What::Pad(key, ms(seconds)), at)?,
            }
            self.next += 1;
        }
        audio.tidy();
        self.due.retain(|due| due.end > now - REMEMBERED);
        Ok(self.end.is_none_or(|end| self.clock.seconds(end) > now))
    }

    fn goes_on(&self) -> bool {
        match self.plan.pace.is_empty() {
            true => self.plan.again,
            false => self.pass + 1 < self.plan.pace.len(),
        }
    }

    /// Another tempo, from what is not on the clock yet.
    pub fn set_tempo(&mut self, tempo: Tempo) {
        self.plan.tempo = tempo;
        self.plan.pace.clear();
        self.clock.change(self.until, tempo);
    }

    /// Another line, metronome or way to play it, from what is not on the clock yet. The stretch stays.
    ///
    /// # Errors
    /// Times that can't be held.
    pub fn replan(&mut self, plan: Plan) -> Result<()> {
        self.plan = Plan { pace: std::mem::take(&mut self.plan.pace), tempo: self.plan.tempo, ..plan };
        let done = self.until;
        self.fill()?;
        self.skip(done);
        Ok(())
    }

    /// What a pass plays.
    pub fn piece(&self, pass: usize) -> &Piece {
        &self.plan.versions[pass % self.plan.versions.len()]
    }

    /// What was asked for.
    pub fn plan(&self) -> &Plan {
        &self.plan
    }

    /// The tempo that is played, or will be in a moment.
    pub fn tempo(&self) -> Tempo {
        self.clock.tempo()
    }

    /// The step of the plan of tempos, if there is one, at a moment of the audio clock.
    pub fn step(&self, at: f64) -> Option<Pass> {
        self.plan.pace.get(self.pass_at(at)).copied()
    }

    /// The tempo of a pass.
    pub fn tempo_of(&self, pass: usize) -> Tempo {
        self.plan.pace.get(pass).map_or(self.tempo(), |pass| pass.tempo)
    }

    /// Which of the versions is heard at a moment, by index.
    pub fn version(&self, at: f64) -> usize {
        self.pass_at(at) % self.plan.versions.len()
    }

    /// Which time through is heard at a moment; the first one during the count-in.
    fn pass_at(&self, at: f64) -> usize {
        let pass = (self.clock.position(at) / self.length).max(0.0);
        // A take has no more passes than bars, and lasts no longer than a player does.
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let pass = pass as usize;
        pass
    }

    /// The note that is heard at a moment, and the next one.
    pub fn at(&self, at: f64) -> (Option<Due>, Option<Due>) {
        let next = self.due.iter().find(|due| due.start > at).copied();
        let now = self.due.iter().rev().find(|due| due.start <= at && at < due.end).copied();
        (now, next)
    }

    /// The notes that were put on the clock since this was asked last.
    pub fn take_fresh(&mut self) -> Vec<Due> {
        std::mem::take(&mut self.fresh)
    }

    /// Makes ready a pass.
    fn begin(&mut self, pass: usize) -> Result<()> {
        self.pass = pass;
        if let Some(step) = self.plan.pace.get(pass)
            && step.tempo != self.clock.tempo()
        {
            self.clock.change(pass as f64 * self.length, step.tempo);
        }
        self.fill()?;
        let done = if pass == 0 { self.until } else { f64::MIN };
        self.skip(done);
        Ok(())
    }

    /// Leaves out what lies before a position.
    fn skip(&mut self, position: f64) {
        let start = self.pass as f64 * self.length;
        self.next =
            self.items.iter().position(|item| start + item.at >= position).unwrap_or(self.items.len());
    }

    /// What is heard in the pass, in order.
    fn fill(&mut self) -> Result<()> {
        let Plan { stretch, feel, metronome, .. } = &self.plan;
        let piece = self.piece(self.pass);
        let heading = piece.line().heading();
        let piece = piece.paced(self.clock.tempo(), feel.unwrap_or(heading.feel)).map_err(thrown)?;
        let once = |metronome: Metronome| -> Result<Take> {
            let practice = Practice { stretch: *stretch, times: 1, count_in: 0, metronome };
            piece.take(&practice).map_err(thrown)
        };
        let mut take = once(*metronome)?;
        if metronome.rests && self.pass % 2 == 1 && bars(&piece, *stretch) % 2 == 1 {
            // The bars that rested last time.
            let all = once(Metronome { rests: false, ..*metronome })?.clicks;
            take.clicks = all.into_iter().filter(|click| !take.clicks.contains(click)).collect();
        }
        self.items = items(&take);
        Ok(())
    }
}

/// How many bars start in a stretch.
fn bars(piece: &Piece, stretch: Span) -> usize {
    let starts = (0..piece.line().bar_count()).filter_map(|index| piece.line().bars().downbeat(index).ok());
    starts.filter(|&start| stretch.contains(start)).count()
}

/// How far a place lies from the start of a stretch.
fn position(place: Onset, stretch: Span) -> f64 {
    place.since_start().to_f64() - stretch.start().since_start().to_f64()
}

fn items(take: &Take) -> Vec<Item> {
    let quarters = |onset: Onset| onset.since_start().to_f64();
    let item = |from: Onset, to: Onset, heard: Heard| Item {
        at: quarters(from),
        length: quarters(to) - quarters(from),
        heard,
    };
    let mut notes = Vec::with_capacity(take.sounds.len());
    for sound in &take.sounds {
        let name = (!sound.grace).then_some(sound.note);
        notes.push(item(sound.start, sound.end, Heard::Note(Note::from(sound), name)));
    }
    let mut clicks = Vec::with_capacity(take.clicks.len());
    for click in &take.clicks {
        clicks.push(item(click.at, click.at, Heard::Click(click.kind)));
    }
    let mut pads = Vec::new();
    for change in &take.changes {
        for key in Voicing::of(&change.symbol).into_iter().flat_map(Voicing::keys) {
            pads.push(item(change.span.start(), change.span.end(), Heard::Pad(key)));
        }
    }
    merged([notes, clicks, pads])
}

/// Lists that are each in order of time, as one. (Sorting would take several kilobytes of the module.)
fn merged<const N: usize>(lists: [Vec<Item>; N]) -> Vec<Item> {
    let mut lists = lists.map(Vec::into_iter);
    let next = || {
        let waiting = lists.iter_mut().filter_map(|list| Some((list.as_slice().first()?.at, list)));
        waiting.min_by(|(one, _), (other, _)| one.total_cmp(other))?.1.next()
    };
    std::iter::from_fn(next).collect()
}

/// Whole milliseconds, so that a sound is the same one when it comes again.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
fn ms(seconds: f64) -> u32 {
    (seconds * 1000.0).round() as u32
}
