//! The page in a real browser: what a user sees, taps, types and prints.
//!
//! Chromium is driven through chromedriver; `engines` runs what matters most in Firefox and WebKit too. The page is the one that
//! `cargo site` serves; the first things that a user does are also tested on the one-file page from disk. A scenario also fails if the
//! console shows an error, or if anything but the page's own files is requested. For each failure, there is a screenshot of the page in
//! `browser-failures` in cargo's target folder.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that can't continue has to stop"
)]

/// Makes a test of each scenario, on the page of this kind: `module (Kind): scenario, scenario;`
macro_rules! scenarios {
    ($($module:ident ($kind:ident): $($scenario:ident),+;)+) => {
        $(mod $module {
            $(#[test]
            fn $scenario() {
                let name = concat!(module_path!(), "::", stringify!($scenario));
                crate::session::run(name, crate::page::Kind::$kind, super::$scenario);
            })+
        })+
    };
}

/// Makes a test of each scenario, in each engine: `engine (Engine), engine (Engine): { module (Kind): file::scenario; }`
macro_rules! in_engines {
    ($($name:ident ($engine:ident)),+: $scenarios:tt) => {
        $(mod $name {
            in_engines! { @ $engine $scenarios }
        })+
    };
    (@ $engine:ident { $($module:ident ($kind:ident): $($file:ident::$scenario:ident),+;)+ }) => {
        $(mod $module {
            use crate::{engine::Engine, page::Kind, session};

            $(#[test]
            fn $scenario() {
                let name = concat!(module_path!(), "::", stringify!($scenario));
                session::run_in(Engine::$engine, name, Kind::$kind, crate::$file::$scenario);
            })+
        })+
    };
}

mod children;
mod context;
mod engine;
mod expected;
mod folder;
mod host;
mod page;
mod session;

mod axe;
mod boxes;
mod by_keys;
mod by_touch;
mod colors;
mod element;
mod embedded;
mod engines;
mod exchange;
mod hands;
mod harmony;
mod hostile;
mod keep;
mod keyboard;
mod latency;
mod layout;
mod load;
mod make;
mod markup;
mod offline;
mod paper;
mod parts;
mod pixels;
mod place;
mod practice;
mod script;
mod selecting;
mod shortcuts;
mod shots;
mod steps;
mod stretch;
mod tap;
mod typing;
mod views;
mod words;
mod worksheet;
