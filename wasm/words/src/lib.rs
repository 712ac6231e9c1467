//! Every sentence that Halfbar's browser crates show, one module per part of the page: constants, and functions for sentences with values in
//! them. The page's fixed text is in its markup, `www/index.html`; descriptions of music come from `halfbar_core`.
//!
//! For another language, translate these modules. A sentence starts with a lowercase letter if something precedes it, or if its caller capitalizes
//! it. Note values have their American names; `Reader` converts them for British readers.
#![allow(missing_docs, reason = "each sentence documents itself")]

pub mod element;
pub mod exchange;
pub mod harmony;
pub mod help;
pub mod keep;
pub mod keys;
pub mod make;
pub mod material;
pub mod page;
pub mod practice;
pub mod shared;
pub mod view;
pub mod worksheet;

#[cfg(test)]
mod elsewhere;
