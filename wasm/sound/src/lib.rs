//! The sound of the `half-bar` element: a line from start to end. It is a module of its own, so that an example that nobody plays is small.
//! The line comes as text, as everywhere between modules.

use halfbar_words::element as says;
use std::cell::RefCell;

use halfbar_core::line::Tempo;
use halfbar_core::perform::{Beats, Metronome};
use halfbar_core::time::{Onset, Span};
use halfbar_core::{Piece, read};
use halfbar_dom::Result;
use js_sys::Error;
use wasm_bindgen::prelude::*;
use web_sys::AudioContext;

use halfbar_player::{Audio, Part, Plan, Player, page_now};
use halfbar_view::thrown;

thread_local! {
    /// The sound of all examples of a page: only one is heard at a time, and browsers allow few.
    static AUDIO: RefCell<Option<Audio>> = const { RefCell::new(None) };
}

/// How loud the line is, from 0 to 1.
const VOLUME: f32 = 0.7;

/// A line that can be heard. It falls silent when it is freed.
#[wasm_bindgen]
pub struct Sounding {
    context: AudioContext,
    piece: Piece,
    player: Option<Player>,
}

#[wasm_bindgen]
impl Sounding {
    /// Reads a text, to be played on an audio clock. Browsers only let a page start one during a tap, before this module may have come.
    ///
    /// # Errors
    /// An `Error` that says the first thing that is wrong with the text.
    #[wasm_bindgen(constructor)]
    pub fn new(context: AudioContext, text: &str) -> Result<Sounding> {
        Ok(Sounding { context, piece: piece(text)?, player: None })
    }

    /// Plays another casting of the line from here on: from what is not on the audio clock yet.
    ///
    /// # Errors
    /// An `Error` that says the first thing that is wrong with the text.
    pub fn change(&mut self, text: &str) -> Result<()> {
        self.piece = piece(text)?;
        match &mut self.player {
            Some(player) => {
                player.replan(Plan { versions: vec![self.piece.clone()], ..player.plan().clone() })
            }
            None => Ok(()),
        }
    }

    /// Plays from the start, once or again and again, at a tempo in quarter notes a minute or the line's own. Call `go_on` many times a
    /// second after this.
    ///
    /// # Errors
    /// An `Error` where the browser gives no sound, or for a tempo that nobody plays.
    pub fn play(&mut self, tempo: Option<f64>, again: bool) -> Result<()> {
        // What is no whole number of a tempo's size comes out as none.
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let tempo = match tempo {
            Some(tempo) => Tempo::new(tempo.round() as u16).ok_or_else(|| Error::new(says::TEMPO_BEYOND))?,
            None => self.piece.line().heading().tempo,
        };
        let stretch = Span::new(Onset::ZERO, self.piece.line().end());
        let plan = Plan {
            versions: vec![self.piece.clone()],
            stretch: stretch.ok_or_else(|| Error::new(says::NO_MUSIC))?,
            from: Onset::ZERO,
            again,
            tempo,
            feel: None,
            metronome: Metronome { beats: Beats::Off, ..Metronome::default() },
            count_in: 0,
            pace: Vec::new(),
        };
        AUDIO.with_borrow_mut(|audio| {
            let audio = match audio {
                Some(audio) if *audio.context() == self.context => audio,
                _ => audio.insert(Audio::on(self.context.clone())?),
            };
            audio.silence()?;
            audio.is_held();
            audio.set_level(Part::Line, VOLUME)?;
            audio.set_level(Part::Chords, 0.0)?;
            self.player = Some(Player::start(audio, plan)?);
            Ok(())
        })
    }

    /// Forgets what was rendered, for when the audio clock has been closed.
    pub fn forget() {
        AUDIO.take();
    }

    /// Puts more on the clock. Says whether there is anything left to hear.
    ///
    /// # Errors
    /// None in practice.
    pub fn go_on(&mut self) -> Result<bool> {
        AUDIO.with_borrow_mut(|audio| match (audio, &mut self.player) {
            (Some(audio), Some(player)) => player.go_on(audio),
            _ => Ok(false),
        })
    }

    /// Whether the browser holds the sound back; asks it to go on.
    pub fn is_held(&self) -> bool {
        AUDIO.with_borrow_mut(|audio| audio.as_mut().is_some_and(Audio::is_held))
    }

    /// The id of the note that is heard now.
    pub fn note(&self) -> Option<u32> {
        let at = AUDIO.with_borrow(|audio| audio.as_ref().map(|audio| audio.heard_at(page_now())))?;
        self.player.as_ref()?.at(at).0.map(|due| due.note.0)
    }
}

/// The music of a text.
fn piece(text: &str) -> Result<Piece> {
    let reading = read::text(text);
    if let Some(problem) = reading.diagnostics.first() {
        return Err(Error::new(&problem.problem.to_string()).into());
    }
    let line = reading.line.ok_or_else(|| Error::new(says::NO_MUSIC))?;
    Piece::new(line, reading.casting).map_err(thrown)
}

impl Drop for Sounding {
    fn drop(&mut self) {
        AUDIO.with_borrow_mut(|audio| {
            if let Some(audio) = audio.as_mut().filter(|_| self.player.is_some()) {
                // A sound that can't be stopped has ended.
                let _ = audio.silence();
            }
        });
    }
}
