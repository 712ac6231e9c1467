//! Playing along, for whoever wants to know how close they are: by taps, or through the microphone.

use halfbar_words::practice as says;

use halfbar_core::perform::ClickKind;
use halfbar_dom::form::{say, ticked};
use halfbar_dom::{Result, by_id};
use halfbar_player::{Part, What};
use wasm_bindgen::JsCast;
use web_sys::{Element, HtmlInputElement, KeyboardEvent};

use crate::page::Page;

use super::check::{By, GAP};
use super::microphone::Microphone;
use super::{Practice, results};
use crate::app::App;
use crate::parts;

/// The clicks that a delay is found with: how many, and how long after the start, in seconds. The first ones are to listen.
const CLICKS: u8 = 12;
const LEAD: f64 = 0.5;

/// Whether a key is a tap: a letter while something `sounds`, or space or Enter on the button for it, pressed and not held.
fn is_tap(key: &KeyboardEvent, sounds: bool) -> Result<bool> {
    if !parts::Part::Practice.is_open()? || !by_id::<Element>("timing")?.has_attribute("open") || key.repeat()
    {
        return Ok(false);
    }
    if key.ctrl_key() || key.alt_key() || key.meta_key() {
        return Ok(false);
    }
    let target = key.target().and_then(|target| target.dyn_into::<Element>().ok());
    let within = |selector: &str| target.as_ref().is_some_and(|target| target.matches(selector) == Ok(true));
    let name = key.key();
    let is_letter = sounds && name.chars().count() == 1 && name.chars().all(char::is_alphabetic);
    Ok(match within("#tap") {
        true => is_letter || name == " " || name == "Enter",
        false => is_letter && !within("input, textarea, select"),
    })
}

impl App {
    /// Asks for the microphone, and listens once the reader has agreed; or gives it back.
    pub(super) fn turn_microphone(&mut self) -> Result<()> {
        if !ticked("microphone")? {
            self.practice.microphone = None;
            return Ok(());
        }
        let Some(audio) = self.practice.audio()? else { return Ok(()) };
        let context = audio.context().clone();
        self.spawn(Microphone::open(context, self.practice.worklet.clone()), |app, opened| match opened {
            Ok(microphone) => {
                app.practice.microphone = Some(microphone);
                say("timing-says", says::LISTENING)
            }
            Err(_) => {
                by_id::<HtmlInputElement>("microphone")?.set_checked(false);
                say("timing-says", says::NO_MICROPHONE)
            }
        });
        Ok(())
    }
}

impl Practice {
    /// A key is pressed anywhere in the page. Says whether that was a tap.
    pub(crate) fn is_tapped_by(&mut self, key: &KeyboardEvent) -> Result<bool> {
        if !is_tap(key, self.hears_taps())? {
            return Ok(false);
        }
        key.prevent_default();
        self.play_along(key.time_stamp())?;
        Ok(true)
    }

    /// Whether something sounds that can be played along with.
    pub(super) fn hears_taps(&self) -> bool {
        self.player.is_some() || self.check.is_finding()
    }

    /// Somebody played along at a moment of the page's clock, in milliseconds.
    pub(super) fn play_along(&mut self, page_ms: f64) -> Result<()> {
        match self.audio.as_ref().filter(|_| self.hears_taps()) {
            Some(audio) => match self.check.play(audio.heard_at(page_ms), results::delay(By::Taps)?) {
                Some((note, late)) if self.player.is_some() => self.marks.show(note, late),
                _ => Ok(()),
            },
            None => Ok(()),
        }
    }

    /// Plays what there is to tap along with.
    pub(super) fn begin_check(&mut self, page: &Page) -> Result<()> {
        self.play_or_stop(page)?;
        if self.player.is_some() { say("status", says::TAP_ALONG) } else { Ok(()) }
    }

    /// Finds out how late this device tells what is played.
    pub(super) fn find_delay(&mut self) -> Result<()> {
        self.stop()?;
        let by = if self.microphone.is_some() { By::Microphone } else { By::Taps };
        if self.audio()?.is_none() {
            return Ok(());
        }
        self.set_levels()?;
        let Some(audio) = &mut self.audio else { return Ok(()) };
        audio.is_held();
        audio.set_level(Part::Click, 0.7)?;
        let start = audio.now() + LEAD;
        audio.open(start - LEAD / 2.0)?;
        let clicks: Vec<f64> = (0..CLICKS).map(|click| start + GAP * f64::from(click)).collect();
        for &click in &clicks {
            audio.play(Part::Click, What::Click(ClickKind::Beat), click)?;
        }
        self.check.find(by, clicks);
        say("timing-says", says::TAP_EVENLY)
    }
}
