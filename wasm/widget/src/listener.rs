//! Listening that ends.

use halfbar_dom::Result;
use wasm_bindgen::prelude::*;
use web_sys::{Event, EventTarget};

/// Hears an event until it is dropped.
pub(crate) struct Listener {
    target: EventTarget,
    event: &'static str,
    closure: Closure<dyn FnMut(Event)>,
}

impl Listener {
    pub(crate) fn new(
        target: &EventTarget,
        event: &'static str,
        heard: impl FnMut(Event) + 'static,
    ) -> Result<Listener> {
        let closure = Closure::new(heard);
        target.add_event_listener_with_callback(event, Closure::as_ref(&closure).unchecked_ref())?;
        Ok(Listener { target: target.clone(), event, closure })
    }
}

impl Drop for Listener {
    fn drop(&mut self) {
        // Taking back what is not there is no error.
        let heard = Closure::as_ref(&self.closure).unchecked_ref();
        let _ = self.target.remove_event_listener_with_callback(self.event, heard);
    }
}
