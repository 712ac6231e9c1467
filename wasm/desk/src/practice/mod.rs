//! Hear it and practise it.

mod along;
mod audio;
mod check;
mod controls;
mod ladder;
mod microphone;
mod player;
mod playhead;
mod results;
mod save;
mod sounding;
mod strip;

use halfbar_words::desk as says;
use std::cell::RefCell;
use std::rc::Rc;

use halfbar_core::line::{NoteId, Tempo};
use halfbar_core::perform;
use halfbar_core::time::Onset;
use halfbar_dom::form::{Told, number, say, sentence};
use halfbar_dom::{Result, by_id, document, every, files, on, window};
use js_sys::Function;
use wasm_bindgen::JsCast;
use wasm_bindgen::prelude::*;
use web_sys::{Element, Event, HtmlElement, HtmlInputElement};

use crate::lesson::Lesson;
use audio::{Audio, Part, page_now};
use check::{By, Check};
use ladder::Steps;
pub(crate) use ladder::steps_of;
use microphone::Microphone;
use player::{Plan, Player};
use playhead::Playhead;

/// How often the player looks whether more has to be put on the clock, in milliseconds.
const OFTEN: i32 = 50;

struct Practice {
    lesson: Rc<RefCell<Lesson>>,
    /// There once somebody has asked for sound: before that, browsers don't let any out.
    audio: Option<Audio>,
    player: Option<Player>,
    playhead: Playhead,
    steps: Steps,
    check: Check,
    microphone: Option<Microphone>,
    /// The address of the script that the microphone needs.
    worklet: String,
    /// The note to start from next time.
    from: Option<NoteId>,
    /// Where the window starts that was tapped last.
    window: Option<Onset>,
    /// When the tempo was tapped, in seconds.
    taps: Vec<f64>,
    /// The line's own tempo, when it was last looked at.
    tempo: Option<Tempo>,
    /// Whether the music was drawn since the text was read: that waits until the reader has seen it.
    drawn: bool,
    /// Whether the reader was told that the browser holds the sound back.
    held: bool,
    /// Shows where the music is; whether the browser calls it at its next frame.
    frame: Rc<Frame>,
    watched: bool,
}

type Shared = Rc<RefCell<Practice>>;

pub(crate) fn open(lesson: &Rc<RefCell<Lesson>>, draw: Function, worklet: String) -> Result<()> {
    let practice: Shared = Rc::new(RefCell::new(Practice {
        lesson: Rc::clone(lesson),
        audio: None,
        player: None,
        playhead: Playhead::new()?,
        steps: Steps::new(draw)?,
        check: Check::default(),
        microphone: None,
        worklet,
        from: None,
        window: None,
        taps: Vec::new(),
        tempo: None,
        drawn: false,
        held: false,
        frame: Rc::default(),
        watched: false,
    }));
    {
        // What was opened before this module was there.
        let mut practice = practice.borrow_mut();
        practice.show_line()?;
        practice.show_ladder()?;
        results::show()?;
    }

    let buttons = document()?.query_selector_all("[data-play]")?;
    for index in 0..buttons.length() {
        if let Some(button) = buttons.get(index) {
            on(&practice, &button, "click", |practice, _| practice.play_or_stop())?;
        }
    }
    let sheet: Element = by_id("sheet")?;
    on(&practice, &sheet, "drawn", |practice, _| {
        practice.playhead.forget();
        practice.drawn = true;
        Ok(())
    })?;
    on(&practice, &sheet, "click", |practice, event| practice.tapped(event))?;
    let root: Element = by_id("practice")?;
    on(&practice, &root, "change", |practice, _| practice.changed())?;
    on(&practice, &root, "input", |practice, _| practice.set_levels())?;
    let tap: Element = by_id("tap-tempo")?;
    on(&practice, &tap, "click", |practice, event| practice.tap_tempo(event.time_stamp()))?;
    let wav: Element = by_id("save-wav")?;
    on(&practice, &wav, "click", |practice, _| practice.save_wav())?;
    let slow: Element = by_id("play-pace")?;
    on(&practice, &slow, "click", |practice, _| practice.play_pace())?;
    ladder::listen(&practice)?;
    along::listen(&practice)?;
    on(&practice, &document()?.into(), "visibilitychange", |practice, _| practice.go_on())?;
    every(&practice, OFTEN, Practice::go_on)?;
    watch(practice);
    Ok(())
}

/// A function that the browser calls, which asks to be called again itself.
type Frame = RefCell<Option<Closure<dyn FnMut()>>>;

/// Has a frame show where the music is. A page in which nothing sounds asks for none.
fn watch(practice: Shared) {
    let frame = Rc::clone(&practice.borrow().frame);
    let own = Rc::clone(&frame);
    *frame.borrow_mut() = Some(Closure::new(move || {
        let shown = match practice.try_borrow_mut() {
            Ok(mut practice) => practice.frame(),
            Err(_) => ask(&own),
        };
        if let Err(error) = shown {
            wasm_bindgen::throw_val(error);
        }
    }));
}

fn ask(frame: &Frame) -> Result<()> {
    if let Some(frame) = frame.borrow().as_ref() {
        window()?.request_animation_frame(frame.as_ref().unchecked_ref())?;
    }
    Ok(())
}

impl Practice {
    fn play_or_stop(&mut self) -> Result<()> {
        match self.player.is_some() {
            true => self.stop(),
            false => self.start(Vec::new()),
        }
    }

    /// Starts what the fields say, at the tempos of a plan if there is one.
    fn start(&mut self, pace: Vec<perform::Pass>) -> Result<()> {
        let plan = match self.plan(pace)? {
            Ok(plan) => plan,
            Err(why) => return self.say(&sentence(&why)),
        };
        self.play(plan)
    }

    fn play(&mut self, plan: Plan) -> Result<()> {
        let Some(audio) = self.audio()? else { return Ok(()) };
        audio.silence()?;
        audio.is_held();
        self.set_levels()?;
        if let Some(audio) = &mut self.audio {
            self.check.start();
            self.player = Some(Player::start(audio, plan)?);
        }
        if !std::mem::replace(&mut self.watched, true) {
            ask(&self.frame)?;
        }
        self.from = None;
        self.label("Stop")?;
        say("practice-says", "")
    }

    /// The sound, from the first time on that somebody asks for it; none in a browser that gives none, which is said.
    fn audio(&mut self) -> Result<Option<&mut Audio>> {
        if self.audio.is_none() {
            match Audio::new() {
                Ok(audio) => self.audio = Some(audio),
                Err(_) => self.say(says::NO_SOUND)?,
            }
        }
        Ok(self.audio.as_mut())
    }

    fn stop(&mut self) -> Result<()> {
        self.end(false)
    }

    /// Stops; `all` says that nothing was left to play.
    fn end(&mut self, all: bool) -> Result<()> {
        if let Some(audio) = self.audio.as_ref().filter(|_| self.player.is_some()) {
            self.check.stop(audio.heard_at(page_now()), all)?;
        }
        self.player = None;
        self.steps.forget_heard();
        if let Some(audio) = &mut self.audio {
            audio.silence()?;
        }
        self.playhead.hide()?;
        self.label("Play")?;
        say("pace-says", "")
    }

    fn go_on(&mut self) -> Result<()> {
        if std::mem::take(&mut self.drawn) {
            self.line_changed()?;
        }
        let Some(audio) = &mut self.audio else { return Ok(()) };
        let listens = self.player.is_some() || self.check.is_finding();
        for at in self.microphone.iter().flat_map(Microphone::take_heard).filter(|_| listens) {
            self.check.play(By::Microphone, at)?;
        }
        let heard = audio.heard_at(page_now());
        let Some(player) = &mut self.player else { return self.check.go_on(heard) };
        if audio.is_held() {
            // The audio clock stands still, so nothing is lost.
            if !self.held {
                self.held = true;
                return self.say(says::SOUND_HELD);
            }
            return Ok(());
        }
        if std::mem::take(&mut self.held) {
            tell("")?;
        }
        let goes_on = player.go_on(audio)?;
        for due in player.take_fresh() {
            self.check.expect(player.piece(due.pass), due);
        }
        self.check.go_on(heard)?;
        match goes_on {
            true => Ok(()),
            false => self.end(true),
        }
    }

    /// A frame of the browser's.
    fn frame(&mut self) -> Result<()> {
        self.watched = self.player.is_some();
        if !self.watched {
            return Ok(());
        }
        ask(&self.frame)?;
        self.show()
    }

    /// Shows what is heard at this moment.
    fn show(&mut self) -> Result<()> {
        let (Some(audio), Some(player)) = (&self.audio, &self.player) else { return Ok(()) };
        let at = audio.heard_at(page_now());
        if let Some(step) = player.step(at) {
            say("pace-says", &controls::step(step))?;
        }
        let (now, next) = player.at(at);
        let Some(now) = now else { return Ok(()) };
        if self.steps.is_heard() {
            return Ok(());
        }
        let piece = &player.plan().versions[0];
        let event = piece.timed().events.iter().find(|event| event.id == now.note);
        if let Some((bar, _)) = event.and_then(|event| piece.timed().bars.split(event.onset).ok()) {
            self.playhead.show_bar(bar)?;
        }
        self.playhead.show(at, now, next)
    }

    /// The text was drawn anew.
    fn line_changed(&mut self) -> Result<()> {
        let changed = self.lesson.try_borrow_mut().is_ok_and(|mut lesson| lesson.read());
        if !changed {
            return Ok(());
        }
        self.show_line()?;
        self.replan()
    }

    /// Fills in what the line says itself.
    fn show_line(&mut self) -> Result<()> {
        let lesson = self.lesson.borrow();
        let Some(piece) = lesson.piece() else { return Ok(()) };
        let own = piece.line().heading().tempo;
        if self.tempo.replace(own) != Some(own) {
            by_id::<HtmlInputElement>("tempo")?.set_value(&own.to_string());
        }
        controls::show(piece)
    }

    /// Something was chosen.
    fn changed(&mut self) -> Result<()> {
        {
            let lesson = self.lesson.borrow();
            if let Some(piece) = lesson.piece() {
                controls::show(piece)?;
            }
        }
        if let Some(player) = &mut self.player
            && let Ok(tempo) = controls::tempo()?
            && player.tempo() != tempo
            && player.plan().pace.is_empty()
        {
            player.set_tempo(tempo);
        }
        self.replan()
    }

    /// Plays on with what the fields and the line say now.
    fn replan(&mut self) -> Result<()> {
        let Some(player) = self.player.as_ref().filter(|_| !self.steps.is_heard()) else { return Ok(()) };
        let pace = player.plan().pace.clone();
        match self.plan(pace)? {
            Err(why) => {
                self.stop()?;
                self.say(&sentence(&why))
            }
            Ok(plan) if plan.stretch != player.plan().stretch => self.play(plan),
            Ok(plan) => match &mut self.player {
                Some(player) => player.replan(plan),
                None => Ok(()),
            },
        }
    }

    /// What is asked for.
    fn plan(&self, pace: Vec<perform::Pass>) -> Result<Told<Plan>> {
        let mut lesson = self.lesson.borrow_mut();
        lesson.read();
        let Some(piece) = lesson.piece() else { return Ok(Err(says::NO_MUSIC_YET.into())) };
        controls::plan(piece, self.window, self.from, pace)
    }

    fn set_levels(&mut self) -> Result<()> {
        let Some(audio) = &mut self.audio else { return Ok(()) };
        for (part, name) in [(Part::Line, "line"), (Part::Click, "click"), (Part::Chords, "chords")] {
            audio.set_level(part, controls::level(name)?)?;
        }
        Ok(())
    }

    /// A note or a pad of the music was tapped.
    fn tapped(&mut self, event: &Event) -> Result<()> {
        let Some(target) = event.target().and_then(|target| target.dyn_into::<Element>().ok()) else {
            return Ok(());
        };
        if let Some(pad) = target.closest("button[data-start]")? {
            let start = pad.get_attribute("data-start").and_then(|start| start.parse().ok());
            self.window = start.map(Onset::after);
            return self.replan();
        }
        let Some(sign) = target.closest("[data-note]")? else { return Ok(()) };
        self.from = sign.get_attribute("data-note").and_then(|id| id.parse().ok()).map(NoteId);
        match self.player.is_some() && !self.steps.is_heard() {
            true => self.start(Vec::new()),
            false => Ok(()),
        }
    }

    fn tap_tempo(&mut self, page_ms: f64) -> Result<()> {
        self.taps.push(page_ms / 1000.0);
        let from = self.taps.len().saturating_sub(16);
        self.taps.drain(..from);
        let Some(tempo) = perform::tapped(&self.taps) else { return Ok(()) };
        by_id::<HtmlInputElement>("tempo")?.set_value(&tempo.to_string());
        self.changed()
    }

    /// Plays from slow to fast.
    fn play_pace(&mut self) -> Result<()> {
        match controls::pace()? {
            Ok(passes) => self.start(passes),
            Err(why) => self.say(&sentence(&why)),
        }
    }

    /// Saves what would be played.
    fn save_wav(&mut self) -> Result<()> {
        let (plan, times) = (self.plan(Vec::new())?, number("wav-times", says::HOW_OFTEN)?);
        let file = match plan.and_then(|plan| Ok((plan, times?))) {
            Ok((plan, times)) => save::wav(&plan, times)?,
            Err(why) => Err(why),
        };
        match file {
            Ok(file) => {
                files::save(&file, "audio/wav", "line.wav")?;
                self.say(says::WAV_SAVED)
            }
            Err(why) => self.say(&sentence(&why)),
        }
    }

    fn label(&self, label: &str) -> Result<()> {
        let buttons = document()?.query_selector_all("[data-play]")?;
        for index in 0..buttons.length() {
            if let Some(button) = buttons.get(index).and_then(|button| button.dyn_into::<HtmlElement>().ok())
            {
                button.set_text_content(Some(label));
            }
        }
        Ok(())
    }

    fn say(&self, text: &str) -> Result<()> {
        tell(text)
    }
}

/// Says something where the reader sees it: Play stands beside the music, too, and this part may be folded.
fn tell(text: &str) -> Result<()> {
    let folded = !by_id::<Element>("practice")?.has_attribute("open");
    say(if folded { "status" } else { "practice-says" }, text)
}
