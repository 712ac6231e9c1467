//! Everything that Halfbar's modules for the browser say to a reader, a module for each part of the page: constants, and functions for sentences
//! with something in them. The page's fixed text is its markup, `www/index.html`. What is musical is said by `halfbar_core`.
//!
//! For another language, these modules are the ones to write again, each beside its own. Sentences start with a small letter where something is
//! put before them, or where whoever shows them makes it a large one. Lengths are named as in the United States; `Reader` puts them into the
//! reader's words.
#![allow(missing_docs, reason = "a sentence says itself")]

pub mod element;
pub mod keep;
pub mod make;
pub mod page;
pub mod practice;
pub mod shared;
pub mod view;
pub mod worksheet;

#[cfg(test)]
mod elsewhere;
