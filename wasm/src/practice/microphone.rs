//! The guitar through a microphone: when notes start. Nothing is recorded, and nothing leaves the page.

use std::cell::RefCell;
use std::rc::Rc;

use halfbar_core::listen::Onsets;
use halfbar_dom::{Result, window};
use js_sys::{Array, Float32Array, Object, Reflect};
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::JsFuture;
use web_sys::{
    AudioContext, AudioWorkletNode, MediaStream, MediaStreamConstraints, MediaStreamTrack, MessageEvent,
};

/// A microphone that is listened to, until it is dropped.
pub(super) struct Microphone {
    stream: MediaStream,
    node: AudioWorkletNode,
    /// Called with every block.
    _block: Closure<dyn FnMut(MessageEvent)>,
    heard: Rc<RefCell<Vec<f64>>>,
}

impl Microphone {
    /// Asks the reader for the microphone. `worklet` is the address of the script that hands the blocks over.
    pub(super) async fn open(context: AudioContext, worklet: String) -> Result<Microphone> {
        let devices = window()?.navigator().media_devices()?;
        let wanted = MediaStreamConstraints::new();
        let plain = Object::new();
        // What is meant for speech would change when notes start.
        for improvement in ["echoCancellation", "noiseSuppression", "autoGainControl"] {
            Reflect::set(&plain, &improvement.into(), &JsValue::FALSE)?;
        }
        wanted.set_audio(&plain);
        let stream: MediaStream =
            JsFuture::from(devices.get_user_media_with_constraints(&wanted)?).await?.unchecked_into();
        JsFuture::from(context.audio_worklet()?.add_module(&worklet)?).await?;
        let source = context.create_media_stream_source(&stream)?;
        let node = AudioWorkletNode::new(&context, "hear")?;
        source.connect_with_audio_node(&node)?;

        let heard = Rc::new(RefCell::new(Vec::new()));
        let found = Rc::clone(&heard);
        let mut onsets = Onsets::new(f64::from(context.sample_rate()));
        let mut start = None;
        let block = Closure::<dyn FnMut(MessageEvent)>::new(move |event: MessageEvent| {
            let data: Array = event.data().unchecked_into();
            let Some(time) = data.get(0).as_f64() else { return };
            let start = *start.get_or_insert(time);
            let samples: Float32Array = data.get(1).unchecked_into();
            let starts = onsets.hear(&samples.to_vec());
            found.borrow_mut().extend(starts.into_iter().map(|since| start + since));
        });
        node.port()?.set_onmessage(Some(block.as_ref().unchecked_ref()));
        Ok(Microphone { stream, node, _block: block, heard })
    }

    /// When notes started since this was asked last, in seconds of the audio clock.
    pub(super) fn take_heard(&self) -> Vec<f64> {
        std::mem::take(&mut self.heard.borrow_mut())
    }
}

impl Drop for Microphone {
    fn drop(&mut self) {
        // What fails here has ended already. No block may come once its closure is gone.
        if let Ok(port) = self.node.port() {
            port.set_onmessage(None);
            port.close();
        }
        let _ = self.node.disconnect();
        for track in self.stream.get_tracks() {
            track.unchecked_into::<MediaStreamTrack>().stop();
        }
    }
}
