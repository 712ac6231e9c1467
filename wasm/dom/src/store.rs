//! What the browser keeps for this page, if it keeps anything: one text a name.

use web_sys::Storage;

use crate::window;

fn storage() -> Option<Storage> {
    window().ok()?.local_storage().ok()?
}

/// What is kept under a name.
pub fn get(name: &str) -> Option<String> {
    storage()?.get_item(name).ok()?
}

/// Keeps a text. Says whether that could be done: a store may be full, or locked.
pub fn set(name: &str, text: &str) -> bool {
    storage().is_some_and(|storage| storage.set_item(name, text).is_ok())
}

/// Forgets what is kept under a name.
pub fn remove(name: &str) {
    if let Some(storage) = storage() {
        // What can't be removed was not kept.
        let _ = storage.remove_item(name);
    }
}
