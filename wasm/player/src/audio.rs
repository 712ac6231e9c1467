//! Sounds at moments of the audio clock. Each is rendered once, and kept while it may come again.

use std::cell::Cell;

use halfbar_core::perform::ClickKind;
use halfbar_core::pitch::MidiKey;
use halfbar_core::sound::{self, Note};
use halfbar_dom::{Result, window};
use js_sys::{Function, Reflect};
use wasm_bindgen::prelude::*;
use web_sys::{
    AudioBuffer, AudioBufferSourceNode, AudioContext, AudioContextState, AudioScheduledSourceNode, GainNode,
};

/// What can be heard. Lengths are milliseconds.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum What {
    /// A note of the line, and how long it is held.
    Note(Note, u32),
    /// A beat of the metronome.
    Click(ClickKind),
    /// A note of a chord, and how long it is held.
    Pad(MidiKey, u32),
}

/// What has a volume of its own.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
#[allow(missing_docs)]
pub enum Part {
    Line,
    Click,
    Chords,
}

/// How loud all of it is at most: what adds up stays below full scale.
const WHOLE: f32 = 0.8;
/// How many sounds are kept.
const KEPT: usize = 256;
/// How long a device may take to start, in milliseconds: some take most of a second.
const START_UP: f64 = 1000.0;
/// How far the page's clock is rounded at most, in milliseconds.
const ROUNDING: f64 = 5.0;
/// How long an answer about the output holds, in milliseconds. Asking at every frame can block Firefox, which asks its sound server.
const FRESH: f64 = 500.0;
/// How fast a volume follows and the sound stops, in seconds: fast, but without a click.
const FADE: f64 = 0.015;

/// The audio clock, and what was put on it.
pub struct Audio {
    context: AudioContext,
    whole: GainNode,
    parts: [GainNode; 3],
    /// Which of them are silent: what nobody hears is not rendered.
    mute: [bool; 3],
    /// What was rendered, the latest use last.
    rendered: Vec<(What, AudioBuffer)>,
    /// What may still sound, and when it will have ended.
    sounding: Vec<(AudioBufferSourceNode, f64)>,
    /// Since when the sound has been waiting to start, by the page's clock.
    waiting: Option<f64>,
    /// Whether what the browser tells of its output has turned out to be wrong.
    misled: Cell<bool>,
    /// The moment of the audio clock that is heard when the page's clock is at zero, and when the browser was asked.
    start: Cell<(f64, f64)>,
}

impl Audio {
    /// The sound of a page, silent.
    ///
    /// # Errors
    /// Where the browser gives no sound.
    pub fn new() -> Result<Audio> {
        Audio::on(AudioContext::new()?)
    }

    /// The same on an audio clock that the page has started.
    ///
    /// # Errors
    /// Where the browser gives no sound.
    pub fn on(context: AudioContext) -> Result<Audio> {
        let whole = context.create_gain()?;
        whole.gain().set_value(WHOLE);
        // Loud chords, line and clicks together are held below full scale instead of being cut off there.
        let limiter = context.create_dynamics_compressor()?;
        limiter.threshold().set_value(-6.0);
        limiter.ratio().set_value(12.0);
        limiter.attack().set_value(0.002);
        whole.connect_with_audio_node(&limiter)?;
        limiter.connect_with_audio_node(&context.destination())?;
        let part = || -> Result<GainNode> {
            let gain = context.create_gain()?;
            gain.connect_with_audio_node(&whole)?;
            Ok(gain)
        };
        let parts = [part()?, part()?, part()?];
        Ok(Audio {
            context,
            whole,
            parts,
            mute: [false; 3],
            rendered: Vec::new(),
            sounding: Vec::new(),
            waiting: None,
            misled: Cell::new(false),
            start: Cell::new((0.0, f64::MIN)),
        })
    }

    /// The browser's side of it.
    pub fn context(&self) -> &AudioContext {
        &self.context
    }

    /// The moment up to which sound is on its way: nothing can be put before it.
    pub fn now(&self) -> f64 {
        self.context.current_time()
    }

    /// The moment of the audio clock that is heard at a moment of the page's clock, in milliseconds.
    pub fn heard_at(&self, page_ms: f64) -> f64 {
        let (start, asked) = self.start.get();
        if !self.is_running() {
            self.start.set((start, f64::MIN));
        } else if page_now() - asked < FRESH {
            return start + page_ms / 1000.0;
        }
        self.ask_heard_at(page_ms)
    }

    fn is_running(&self) -> bool {
        self.context.state() == AudioContextState::Running
    }

    fn ask_heard_at(&self, page_ms: f64) -> f64 {
        let number = |object: &JsValue, name: &str| {
            Reflect::get(object, &name.into()).ok().and_then(|value| value.as_f64())
        };
        let stamp = Reflect::get(&self.context, &"getOutputTimestamp".into()).ok();
        let stamp = stamp.and_then(|ask| ask.dyn_into::<Function>().ok()?.call0(&self.context).ok());
        let pair = stamp.and_then(|stamp| {
            number(&stamp, "contextTime").zip(number(&stamp, "performanceTime")).filter(|pair| pair.1 > 0.0)
        });
        // What is heard can't be from the future, but WebKitGTK 2.50 adds the time that the sound has lasted.
        if pair.is_some_and(|(_, page)| page > page_now() + ROUNDING) {
            self.misled.set(true);
        }
        let pair = pair.filter(|_| !self.misled.get());
        match pair {
            Some((context, page)) => {
                let start = context - page / 1000.0;
                if self.is_running() {
                    self.start.set((start, page_now()));
                }
                start + page_ms / 1000.0
            }
            // What can be had instead.
            None => {
                let latency = number(&self.context, "outputLatency").unwrap_or(0.0);
                self.now() - latency + (page_ms - page_now()) / 1000.0
            }
        }
    }

    /// Whether the browser holds the sound back, as it isn't just starting it; asks it to go on.
    pub fn is_held(&mut self) -> bool {
        if self.is_running() {
            self.waiting = None;
            return false;
        }
        if let Ok(promise) = self.context.resume() {
            // A browser that refuses says so by its state.
            let nothing = Closure::<dyn FnMut(JsValue)>::new(|_| {});
            let _ = promise.catch(&nothing);
            nothing.forget();
        }
        let now = page_now();
        now - *self.waiting.get_or_insert(now) > START_UP
    }

    /// Makes a part as loud as a volume from 0 to 1 says.
    ///
    /// # Errors
    /// None in practice.
    pub fn set_level(&mut self, part: Part, volume: f32) -> Result<()> {
        self.mute[part as usize] = volume == 0.0;
        // Loudness goes with the square, near enough.
        self.parts[part as usize].gain().set_target_at_time(volume * volume, self.now(), FADE)?;
        Ok(())
    }

    /// Has a sound start at a moment; one that is past starts at once.
    ///
    /// # Errors
    /// None in practice.
    pub fn play(&mut self, part: Part, what: What, at: f64) -> Result<()> {
        if self.mute[part as usize] {
            return Ok(());
        }
        let buffer = self.rendered(what)?;
        let source = self.context.create_buffer_source()?;
        source.set_buffer(Some(&buffer));
        source.connect_with_audio_node(&self.parts[part as usize])?;
        source.start_with_when(at.max(0.0))?;
        self.sounding.push((source, at + buffer.duration()));
        Ok(())
    }

    /// Forgets what has ended.
    pub fn tidy(&mut self) {
        let now = self.now();
        self.sounding.retain(|(_, end)| *end > now);
    }

    /// Lets sound out from a moment on.
    ///
    /// # Errors
    /// None in practice.
    pub fn open(&self, at: f64) -> Result<()> {
        self.whole.gain().cancel_scheduled_values(self.now())?;
        self.whole.gain().set_value_at_time(WHOLE, at)?;
        Ok(())
    }

    /// Stops all that sounds, and takes back what has not begun.
    ///
    /// # Errors
    /// None in practice.
    pub fn silence(&mut self) -> Result<()> {
        let now = self.now();
        self.whole.gain().cancel_scheduled_values(now)?;
        self.whole.gain().set_target_at_time(0.0, now, FADE / 3.0)?;
        for (source, _) in self.sounding.drain(..) {
            AudioScheduledSourceNode::stop_with_when(&source, now + 2.0 * FADE)?;
        }
        Ok(())
    }

    /// Ends all sound, and gives the browser back what it took.
    pub fn close(self) {
        // One that is closed already needs nothing.
        let _ = self.context.close();
    }

    fn rendered(&mut self, what: What) -> Result<AudioBuffer> {
        if let Some(index) = self.rendered.iter().position(|(known, _)| *known == what) {
            let known = self.rendered.remove(index);
            let buffer = known.1.clone();
            self.rendered.push(known);
            return Ok(buffer);
        }
        let rate = self.context.sample_rate();
        // Some ten thousands a second.
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let whole = rate as u32;
        let seconds = |ms: u32| f64::from(ms) / 1000.0;
        let mut samples = match what {
            What::Note(note, ms) => sound::pluck(&note, whole, seconds(ms)),
            What::Click(kind) => sound::click(kind, whole),
            What::Pad(key, ms) => sound::pad(key, whole, seconds(ms)),
        };
        if samples.is_empty() {
            samples.push(0.0);
        }
        let length = u32::try_from(samples.len()).unwrap_or(u32::MAX);
        let buffer = self.context.create_buffer(1, length, rate)?;
        buffer.copy_to_channel(&samples, 0)?;
        if self.rendered.len() == KEPT {
            self.rendered.remove(0);
        }
        self.rendered.push((what, buffer.clone()));
        Ok(buffer)
    }
}

/// The moment of the page's clock, in milliseconds.
pub fn page_now() -> f64 {
    window().ok().and_then(|window| window.performance()).map_or(0.0, |clock| clock.now())
}
