//! Sound.
