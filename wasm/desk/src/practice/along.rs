//! Playing along, for whoever wants to know how close they are: by taps, or through the microphone.

use halfbar_words::desk as says;
use std::rc::Rc;

use halfbar_dom::form::{say, ticked};
use halfbar_dom::{Result, by_id, document, on};
use wasm_bindgen::JsCast;
use wasm_bindgen_futures::spawn_local;
use web_sys::{Element, HtmlInputElement, KeyboardEvent};

use super::audio::Part;
use super::check::By;
use super::microphone::Microphone;
use super::{Practice, Shared, results};

pub(super) fn listen(practice: &Shared) -> Result<()> {
    let tap: Element = by_id("tap")?;
    on(practice, &tap, "pointerdown", |practice, event| practice.play_along(event.time_stamp()))?;
    on(practice, &document()?.into(), "keydown", |practice, event| {
        let key: &KeyboardEvent = event.unchecked_ref();
        match is_tap(key)? {
            true => {
                key.prevent_default();
                practice.play_along(event.time_stamp())
            }
            false => Ok(()),
        }
    })?;
    let find: Element = by_id("find-delay")?;
    on(practice, &find, "click", |practice, _| practice.find_delay())?;
    let forget: Element = by_id("forget")?;
    on(practice, &forget, "click", |_, _| results::forget())?;
    let root: Element = by_id("timing")?;
    on(practice, &root, "toggle", |_, _| results::show())?;
    let microphone: Element = by_id("microphone")?;
    let shared = Rc::clone(practice);
    on(practice, &microphone, "change", move |practice, _| match ticked("microphone")? {
        true => open_microphone(practice, &shared),
        false => {
            practice.microphone = None;
            Ok(())
        }
    })
}

/// Whether a key is a tap: a letter, or space or Enter on the button for it, pressed and not held.
fn is_tap(key: &KeyboardEvent) -> Result<bool> {
    if !by_id::<Element>("timing")?.has_attribute("open") || key.repeat() {
        return Ok(false);
    }
    if key.ctrl_key() || key.alt_key() || key.meta_key() {
        return Ok(false);
    }
    let target = key.target().and_then(|target| target.dyn_into::<Element>().ok());
    let within = |selector: &str| target.as_ref().is_some_and(|target| target.matches(selector) == Ok(true));
    let name = key.key();
    let is_letter = name.chars().count() == 1 && name.chars().all(char::is_alphabetic);
    Ok(match within("#tap") {
        true => is_letter || name == " " || name == "Enter",
        false => is_letter && !within("input, textarea, select"),
    })
}

/// Asks for the microphone, and listens once the reader has agreed.
fn open_microphone(practice: &mut Practice, shared: &Shared) -> Result<()> {
    let Some(audio) = practice.audio()? else { return Ok(()) };
    let (context, worklet, shared) = (audio.context().clone(), practice.worklet.clone(), Rc::clone(shared));
    spawn_local(async move {
        let opened = Microphone::open(context, worklet).await;
        let says = match opened {
            Ok(microphone) => {
                // Nothing else runs while this does.
                if let Ok(mut practice) = shared.try_borrow_mut() {
                    practice.microphone = Some(microphone);
                }
                says::LISTENING
            }
            Err(_) => {
                if let Ok(field) = by_id::<HtmlInputElement>("microphone") {
                    field.set_checked(false);
                }
                says::NO_MICROPHONE
            }
        };
        let _ = say("timing-says", says);
    });
    Ok(())
}

impl Practice {
    /// Somebody played along at a moment of the page's clock, in milliseconds.
    fn play_along(&mut self, page_ms: f64) -> Result<()> {
        match self.audio.as_ref().filter(|_| self.player.is_some() || self.check.is_finding()) {
            Some(audio) => self.check.play(By::Taps, audio.heard_at(page_ms)),
            None => say("timing-says", says::PRESS_PLAY_FIRST),
        }
    }

    /// Finds out how late this device tells what is played.
    fn find_delay(&mut self) -> Result<()> {
        self.stop()?;
        let by = if self.microphone.is_some() { By::Microphone } else { By::Taps };
        if self.audio()?.is_none() {
            return Ok(());
        }
        self.set_levels()?;
        let Some(audio) = &mut self.audio else { return Ok(()) };
        audio.is_held();
        audio.set_level(Part::Click, 0.7)?;
        self.check.start_finding(by, audio)
    }
}
