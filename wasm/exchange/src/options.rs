//! What a script asks for, in an object; and what is wrong, as JavaScript errors.

use halfbar_core::exchange::ExchangeError;
use halfbar_core::exchange::midi::MidiError;
use halfbar_dom::Result;
use halfbar_view::{coded, thrown};
use halfbar_words::shared::seen;
use halfbar_words::view as says;
use js_sys::Object;
use wasm_bindgen::prelude::*;

/// Calls `take` with the name and value of every option. `None` from it is a value of the wrong kind.
pub(crate) fn each(
    options: JsValue,
    mut take: impl FnMut(&str, &JsValue) -> Result<Option<()>>,
) -> Result<()> {
    if options.is_undefined() {
        return Ok(());
    }
    let options: Object = options.dyn_into().map_err(|_| coded(says::NOT_AN_OBJECT, "option"))?;
    for (name, value) in Object::keys(&options).iter().zip(Object::values(&options)) {
        let name = name.as_string().unwrap_or_default();
        if !value.is_undefined() {
            take(&name, &value)?.ok_or_else(|| coded(&says::wrong_option(&name), "option"))?;
        }
    }
    Ok(())
}

/// An option that there isn't.
pub(crate) fn unknown<T>(name: &str) -> Result<T> {
    Err(coded(&says::no_option(name), "option"))
}

/// A whole number of a kind, if a value is one.
#[allow(clippy::cast_possible_truncation)]
pub(crate) fn whole<T: TryFrom<i64>>(value: &JsValue) -> Option<T> {
    let number = value.as_f64().filter(|number| number.fract() == 0.0 && number.abs() < 1e9)?;
    T::try_from(number as i64).ok()
}

/// What is wrong with a file, without what is only for the command line.
pub(crate) fn words(error: &ExchangeError) -> String {
    seen(&error.to_string())
}

/// The same as a JavaScript `Error` with `code`.
pub(crate) fn failed(error: ExchangeError) -> JsValue {
    let code = match error {
        ExchangeError::Music(error) => return thrown(error),
        ExchangeError::Together { .. } => "together",
        ExchangeError::OffNeck { .. } => "octaves",
        ExchangeError::Midi(MidiError::Key { .. }) => "key",
        _ => "file",
    };
    coded(&words(&error), code)
}
