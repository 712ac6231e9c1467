//! The last stage: each output reads the latest stage that has what it needs.

#[cfg(feature = "serde")]
pub mod dump;
mod escape;
pub mod html;
#[cfg(feature = "pdf")]
pub mod pdf;
pub mod svg;
pub mod text;
#[cfg(feature = "wav")]
pub mod wav;
