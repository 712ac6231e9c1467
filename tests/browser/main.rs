//! The page in a real browser: what a reader sees, taps, types and prints.
//!
//! Chromium is driven through chromedriver. Most scenarios run twice: on the page as `cargo site` serves it, and on the one-file
//! page opened from disk. A scenario also fails when the console shows an error, or when anything but the page's own
//! files is asked for. When one fails, what the page looked like is in `browser-failures` under cargo's target folder.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that can't go on has to stop"
)]

/// Makes a test of each scenario on the served page and on the file from disk.
macro_rules! on_both_pages {
    ($($scenario:ident),+ $(,)?) => {
        mod served {
            $(#[test]
            fn $scenario() {
                crate::session::run(module_path!(), stringify!($scenario), crate::page::Kind::Served, super::$scenario);
            })+
        }
        mod from_disk {
            $(#[test]
            fn $scenario() {
                crate::session::run(module_path!(), stringify!($scenario), crate::page::Kind::OneFile, super::$scenario);
            })+
        }
    };
}

mod children;
mod expected;
mod page;
mod session;

mod colours;
mod hostile;
mod keyboard;
mod latency;
mod layout;
mod load;
mod paper;
mod sheets;
mod tap;
mod typing;
