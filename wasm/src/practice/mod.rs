//! Hear it and practice it.

mod along;
mod check;
mod controls;
mod ladder;
mod marks;
mod microphone;
mod playhead;
mod results;
mod save;
mod strip;

use halfbar_words::practice as says;

use halfbar_core::Piece;
use halfbar_core::attack::Attack;
use halfbar_core::line::{NoteId, Tempo};
use halfbar_core::neck::{StringNo, Stroke};
use halfbar_core::perform;
use halfbar_core::pitch::MidiKey;
use halfbar_core::sound::Note;
use halfbar_core::time::Onset;
use halfbar_dom::form::{Told, number, say, sentence};
use halfbar_dom::{Result, by_id, document, files};
use halfbar_player::{Audio, Part, Plan, Player, What, page_now};
use web_sys::{HtmlElement, HtmlInputElement};

use crate::app::Control;
use crate::page::Page;
use check::{By, Check};
pub(crate) use controls::looped;
use ladder::Steps;
pub(crate) use ladder::ladder;
use marks::Marks;
use microphone::Microphone;
use playhead::Playhead;

pub(crate) struct Practice {
    /// There once somebody has asked for sound: before that, browsers don't let any out.
    audio: Option<Audio>,
    player: Option<Player>,
    playhead: Playhead,
    steps: Steps,
    check: Check,
    marks: Marks,
    /// How much later each note of each version would be in the plain rhythm.
    plain: Vec<Vec<(NoteId, controls::Later)>>,
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
    /// Whether other music is drawn than is played and told: that waits until the reader has seen it.
    behind: bool,
    /// Whether the reader was told that the browser holds the sound back.
    held: bool,
    /// The button that started the sound, and its label: until the sound ends, it stops it.
    starter: Option<(HtmlElement, String)>,
    /// What is heard in place of the line that is drawn, in words.
    aside: Option<String>,
    /// Whether something was chosen since the music was last marked.
    chosen: bool,
    /// What is shown beside Play as sounding.
    now: String,
}

/// How long a note tapped on the neck sounds, in milliseconds.
const HEARD: u32 = 600;

/// What plays and stops.
pub(crate) const PLAY: &str = "[data-play]";

/// What a reader does to hear the line and to practice it.
pub(crate) const CONTROLS: &[Control] = &[
    ("play", "change", |app, _| app.practice.changed(&app.page)),
    ("practice", "change", |app, _| app.practice.changed(&app.page)),
    ("practice", "input", |app, _| app.practice.set_levels()),
    ("tap-tempo", "click", |app, event| app.practice.tap_tempo(event.time_stamp(), &app.page)),
    ("save-wav", "click", |app, _| app.practice.save_wav(&app.page)),
    ("play-pace", "click", |app, _| app.practice.play_pace(&app.page)),
    ("ladder", "toggle", |app, _| app.practice.show_ladder(&app.page)),
    ("ladder", "change", |app, _| app.practice.show_ladder(&app.page)),
    ("ladder", "click", |app, event| app.press_step(event)),
    ("timing", "toggle", |_, _| results::show()),
    ("tap", "pointerdown", |app, event| match app.practice.hears_taps() {
        true => app.practice.play_along(event.time_stamp()),
        false => app.practice.begin_check(&app.page),
    }),
    ("find-delay", "click", |app, _| app.practice.find_delay()),
    ("forget", "click", |_, _| results::forget()),
    ("microphone", "change", |app, _| app.turn_microphone()),
];

impl Practice {
    pub(crate) fn new(worklet: String) -> Result<Practice> {
        Ok(Practice {
            audio: None,
            player: None,
            playhead: Playhead::new()?,
            steps: Steps::new()?,
            check: Check::default(),
            marks: Marks::default(),
            plain: Vec::new(),
            microphone: None,
            worklet,
            from: None,
            window: None,
            taps: Vec::new(),
            tempo: None,
            behind: false,
            held: false,
            starter: None,
            aside: None,
            chosen: true,
            now: String::new(),
        })
    }

    /// Whether anything sounds, or is about to.
    pub(crate) fn is_playing(&self) -> bool {
        self.player.is_some()
    }

    /// Whether there is something to do in a moment: to put more on the audio clock, to hear the reader, or to follow the line.
    pub(crate) fn is_busy(&self) -> bool {
        self.player.is_some() || self.check.is_waiting() || self.microphone.is_some() || self.behind
    }

    pub(crate) fn play_or_stop(&mut self, page: &Page) -> Result<()> {
        match self.player.is_some() {
            true => self.stop(),
            false => self.start(page, Vec::new()),
        }
    }

    /// Starts what the fields say, at the tempos of a plan if there is one.
    fn start(&mut self, page: &Page, pace: Vec<perform::Pass>) -> Result<()> {
        let plan = match self.plan(page, pace)? {
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
            self.marks.clear();
            self.plain = plan.versions.iter().map(|piece| controls::plain(piece, &plan)).collect();
            self.player = Some(Player::start(audio, plan)?);
        }
        self.from = None;
        self.label(says::STOP)?;
        say("status", "")
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
        if let Some(audio) = self.audio.as_ref().filter(|_| self.player.is_some())
            && let Some(report) = self.check.stop(audio.heard_at(page_now()), all)
        {
            results::tell(&report)?;
        }
        self.player = None;
        self.aside = None;
        if let Some(audio) = &mut self.audio {
            audio.silence()?;
        }
        self.playhead.hide()?;
        self.label(says::PLAY)?;
        if let Some((starter, label)) = self.starter.take() {
            starter.set_text_content(Some(&label));
            starter.style().remove_property("min-width")?;
        }
        say("pace-says", "")?;
        self.show_now("")
    }

    /// Stops what a button has started. Says whether it had started anything.
    pub(crate) fn stop_by(&mut self, button: &HtmlElement) -> Result<bool> {
        let started = self.starter.as_ref().is_some_and(|(starter, _)| starter == button);
        if started {
            self.stop()?;
        }
        Ok(started)
    }

    /// Plays something else than the line that is drawn, by a name for what sounds.
    pub(crate) fn hear_aside(&mut self, button: HtmlElement, name: String, piece: Piece) -> Result<Told<()>> {
        let plan = match controls::plan_of(piece)? {
            Ok(plan) => plan,
            Err(why) => return Ok(Err(why)),
        };
        self.stop()?;
        self.play(plan)?;
        self.started_by(button);
        self.aside = Some(name);
        Ok(Ok(()))
    }

    /// Has what started the sound say that it stops it.
    fn started_by(&mut self, starter: HtmlElement) {
        if self.player.is_some() {
            let label = starter.text_content().unwrap_or_default();
            // As wide as before: it doesn't move away from the pointer that may stop it at once.
            let _ = starter.style().set_property("min-width", &format!("{}px", starter.offset_width()));
            starter.set_text_content(Some(says::STOP));
            self.starter = Some((starter, label));
        }
    }

    /// Says beside Play what sounds.
    fn show_now(&mut self, now: &str) -> Result<()> {
        if self.now == now {
            return Ok(());
        }
        self.now = now.into();
        say("now", now)
    }

    /// Puts more on the audio clock, and tells how close the reader is.
    pub(crate) fn go_on(&mut self, page: &Page) -> Result<()> {
        if std::mem::take(&mut self.behind) {
            self.show_line(page)?;
            self.replan(page)?;
        }
        let listens = self.hears_taps();
        let Some(audio) = &mut self.audio else { return Ok(()) };
        for at in self.microphone.iter().flat_map(Microphone::take_heard).filter(|_| listens) {
            if let Some((note, late)) = self.check.play(at, results::delay(By::Microphone)?) {
                self.marks.show(note, late)?;
            }
        }
        let heard = audio.heard_at(page_now());
        let Some(player) = &mut self.player else { return self.tell(heard) };
        if audio.is_held() {
            // The audio clock stands still, so nothing is lost.
            if !self.held {
                self.held = true;
                return self.say(says::SOUND_HELD);
            }
            return Ok(());
        }
        if std::mem::take(&mut self.held) {
            say("status", "")?;
        }
        let goes_on = player.go_on(audio)?;
        for due in player.take_fresh() {
            let quarter = 60.0 / f64::from(player.tempo_of(due.pass).quarters_per_minute());
            let version = due.pass % player.plan().versions.len();
            let later = self.plain.get(version).and_then(|notes| {
                notes
                    .iter()
                    .find(|(note, _)| *note == due.note)
                    .map(|(_, later)| later.map(|one| one * quarter))
            });
            self.check.expect(player.piece(due.pass), due, later.unwrap_or_default());
        }
        self.tell(heard)?;
        match goes_on {
            true => Ok(()),
            false => self.end(true),
        }
    }

    /// Tells how close the reader is, as far as that is known at a moment of the audio clock.
    fn tell(&mut self, heard: f64) -> Result<()> {
        if let Some((by, found)) = self.check.found(heard) {
            results::tell_delay(by, found)?;
        }
        self.check.go_on(heard).map_or(Ok(()), |report| results::tell(&report))
    }

    /// The bar that is heard at this moment, when it is another one than before.
    pub(crate) fn new_bar(&mut self) -> Option<usize> {
        let player = self.player.as_ref().filter(|_| self.aside.is_none())?;
        let now = player.at(self.audio.as_ref()?.heard_at(page_now())).0?;
        let piece = &player.plan().versions[0];
        let event = piece.timed().events.iter().find(|event| event.id == now.note)?;
        let (bar, _) = piece.timed().bars.split(event.onset).ok()?;
        self.playhead.is_new(bar).then_some(bar)
    }

    /// Shows what is heard at this moment.
    pub(crate) fn show(&mut self) -> Result<()> {
        let (Some(audio), Some(player)) = (&self.audio, &self.player) else { return Ok(()) };
        let at = audio.heard_at(page_now());
        let version = controls::version(player.version(at), player.plan().versions.len())?;
        let now = match (player.step(at), &self.aside) {
            (Some(step), _) => {
                say("pace-says", &controls::step(step))?;
                says::short_step(step.tempo, step.step, step.steps)
            }
            (None, Some(aside)) => aside.clone(),
            (None, None) => version.into(),
        };
        let due = player.at(at);
        self.show_now(&now)?;
        match due {
            (Some(now), next) if self.aside.is_none() => self.playhead.show(at, now, next),
            _ => Ok(()),
        }
    }

    /// The music was drawn anew.
    pub(crate) fn music_changed(&mut self) {
        self.playhead.forget();
        self.marks.clear();
        self.behind = true;
    }

    /// It is another line: what was chosen for the one before is over.
    pub(crate) fn line_changed(&mut self) -> Result<()> {
        // What was heard aside belongs to the line before.
        if self.aside.is_some() {
            self.stop()?;
        }
        (self.window, self.from, self.tempo) = (None, None, None);
        (self.behind, self.chosen) = (true, true);
        controls::forget_bars()
    }

    /// Fills in what the line says itself.
    pub(crate) fn show_line(&mut self, page: &Page) -> Result<()> {
        page.piece().map_or(Ok(()), |piece| self.fill_in(piece))
    }

    fn fill_in(&mut self, piece: &Piece) -> Result<()> {
        let own = piece.line().heading().tempo;
        if self.tempo.replace(own) != Some(own) {
            for id in ["tempo", "pace-to"] {
                by_id::<HtmlInputElement>(id)?.set_value(&own.to_string());
            }
        }
        controls::show(piece)
    }

    /// Whether something was chosen since this was last asked.
    pub(crate) fn take_chosen(&mut self) -> bool {
        std::mem::take(&mut self.chosen)
    }

    /// Something was chosen.
    fn changed(&mut self, page: &Page) -> Result<()> {
        self.chosen = true;
        if let Some(piece) = page.piece() {
            controls::show(piece)?;
        }
        if let Some(player) = &mut self.player
            && let Ok(tempo) = controls::tempo()?
            && player.tempo() != tempo
            && player.plan().pace.is_empty()
        {
            player.set_tempo(tempo);
        }
        self.replan(page)
    }

    /// Plays on with what the fields and the line say now.
    fn replan(&mut self, page: &Page) -> Result<()> {
        let Some(player) = self.player.as_ref().filter(|_| self.aside.is_none()) else { return Ok(()) };
        let (pace, stretch) = (player.plan().pace.clone(), player.plan().stretch);
        match self.plan(page, pace)? {
            Err(why) => {
                self.stop()?;
                self.say(&sentence(&why))
            }
            Ok(plan) if plan.stretch != stretch => self.play(plan),
            Ok(plan) => match &mut self.player {
                Some(player) => player.replan(plan),
                None => Ok(()),
            },
        }
    }

    /// What is asked for.
    fn plan(&mut self, page: &Page, pace: Vec<perform::Pass>) -> Result<Told<Plan>> {
        let Some(piece) = page.piece() else { return Ok(Err(says::NO_MUSIC_YET.into())) };
        self.fill_in(piece)?;
        controls::plan(piece, self.window, self.from, pace)
    }

    fn set_levels(&mut self) -> Result<()> {
        let Some(audio) = &mut self.audio else { return Ok(()) };
        for (part, name) in [(Part::Line, "line"), (Part::Click, "click"), (Part::Chords, "chords")] {
            audio.set_level(part, controls::level(name)?)?;
        }
        Ok(())
    }

    /// A pad was tapped: its window may be what is played.
    pub(crate) fn choose_window(&mut self, start: Onset) {
        self.window = Some(start);
        self.behind = true;
    }

    /// A note was tapped: there it starts next time, or at once where it plays.
    pub(crate) fn start_from(&mut self, note: NoteId, page: &Page) -> Result<()> {
        self.from = Some(note);
        match self.player.is_some() && self.aside.is_none() {
            true => self.start(page, Vec::new()),
            false => Ok(()),
        }
    }

    fn tap_tempo(&mut self, page_ms: f64, page: &Page) -> Result<()> {
        self.taps.push(page_ms / 1000.0);
        let from = self.taps.len().saturating_sub(16);
        self.taps.drain(..from);
        let Some(tempo) = perform::tapped(&self.taps) else { return Ok(()) };
        by_id::<HtmlInputElement>("tempo")?.set_value(&tempo.to_string());
        self.changed(page)
    }

    /// Sounds a note of the neck, unless something else sounds.
    pub(crate) fn hear(&mut self, key: MidiKey, string: StringNo) -> Result<()> {
        if self.player.is_some() || self.audio()?.is_none() {
            return Ok(());
        }
        self.set_levels()?;
        let Some(audio) = &mut self.audio else { return Ok(()) };
        // A browser may hold the sound back until the reader has pressed something.
        audio.is_held();
        let now = audio.now();
        audio.open(now)?;
        let note = Note { key, string: Some(string), accent: false, attack: Attack::Struck(Stroke::Down) };
        audio.play(Part::Line, What::Note(note, HEARD), now + 0.02)
    }

    /// Sets the tempo that much faster or slower.
    pub(crate) fn change_tempo(&mut self, by: i16, page: &Page) -> Result<()> {
        let Ok(tempo) = controls::tempo()? else { return Ok(()) };
        let tempo = tempo.quarters_per_minute().saturating_add_signed(by);
        if let Some(tempo) = Tempo::new(tempo) {
            by_id::<HtmlInputElement>("tempo")?.set_value(&tempo.to_string());
        }
        self.changed(page)
    }

    /// Loops the bars that are selected, or the half-bar that was tapped last; or all of the line again.
    pub(crate) fn loop_chosen(&mut self, page: &Page) -> Result<()> {
        by_id::<HtmlInputElement>("again")?.set_checked(true);
        controls::choose_reach(page.selected().is_some())?;
        self.changed(page)
    }

    /// Plays the selected bars, once some are; all of the line, when none are.
    pub(crate) fn bars_selected(&mut self, page: &Page) -> Result<()> {
        controls::show_selected(page.piece().zip(page.selected()))?;
        self.changed(page)
    }

    /// Chooses the next version to play.
    pub(crate) fn next_version(&mut self, page: &Page) -> Result<()> {
        let says = controls::choose_next_version()?;
        self.changed(page)?;
        self.say(&says)
    }

    /// Plays from slow to fast.
    fn play_pace(&mut self, page: &Page) -> Result<()> {
        if self.starter.is_some() && self.player.as_ref().is_some_and(|player| !player.plan().pace.is_empty())
        {
            return self.stop();
        }
        match controls::pace()? {
            Ok(passes) => {
                self.stop()?;
                self.start(page, passes)?;
                self.started_by(by_id("play-pace")?);
                Ok(())
            }
            Err(why) => self.say(&sentence(&why)),
        }
    }

    /// Saves what would be played.
    fn save_wav(&mut self, page: &Page) -> Result<()> {
        let (plan, times) = (self.plan(page, Vec::new())?, number("wav-times", says::HOW_OFTEN)?);
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
        let button = document()?.query_selector(PLAY)?;
        button.into_iter().for_each(|button| button.set_text_content(Some(label)));
        Ok(())
    }

    fn say(&self, text: &str) -> Result<()> {
        say("status", text)
    }
}
