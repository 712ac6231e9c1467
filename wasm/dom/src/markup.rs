//! Markup that the modules make themselves, as the content of elements.
//!
//! A page may demand that whatever becomes markup has gone through a policy (Trusted Types, section 2.3; `require-trusted-types-for 'script'`).
//! The policy here is called `half-bar`, for the page to allow. It changes nothing: all text in what is drawn has been escaped.

use js_sys::{Object, Reflect};
use wasm_bindgen::prelude::*;
use web_sys::Element;

#[wasm_bindgen]
extern "C" {
    type Factory;

    #[wasm_bindgen(thread_local_v2, js_name = trustedTypes)]
    static FACTORY: Option<Factory>;

    /// The function that makes a string of a string.
    #[wasm_bindgen(thread_local_v2, js_name = String)]
    static SAME: JsValue;

    #[wasm_bindgen(method, catch, js_name = createPolicy)]
    fn create_policy(this: &Factory, name: &str, rules: &Object) -> Result<Policy, JsValue>;

    #[derive(Clone)]
    type Policy;

    #[wasm_bindgen(method, js_name = createHTML)]
    fn create_html(this: &Policy, markup: &str) -> JsValue;

    type Inside;

    #[wasm_bindgen(method, structural, catch, setter, js_name = innerHTML)]
    fn set_markup(this: &Inside, markup: &JsValue) -> Result<(), JsValue>;
}

thread_local! {
    /// The policy; `None` where browsers have none, or the page doesn't allow it.
    static POLICY: Option<Policy> = policy();
}

fn policy() -> Option<Policy> {
    FACTORY.with(|factory| {
        let rules = Object::new();
        Reflect::set(&rules, &"createHTML".into(), &SAME.with(JsValue::clone)).ok()?;
        factory.as_ref()?.create_policy("half-bar", &rules).ok()
    })
}

/// Makes markup the content of an element.
///
/// # Errors
/// A `TypeError` if the page demands a policy and doesn't allow ours.
pub fn put(element: &Element, markup: &str) -> super::Result<()> {
    let trusted = POLICY.with(|policy| match policy {
        Some(policy) => policy.create_html(markup),
        None => markup.into(),
    });
    element.unchecked_ref::<Inside>().set_markup(&trusted)
}
