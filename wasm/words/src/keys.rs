//! The keys of the page: what each is called, and what it does.

pub const SPACE: (&str, &str) = ("Space", "plays and stops");
pub const LEFT_RIGHT: (&str, &str) = ("← →", "go to a half-bar, with Shift select bars; Enter recasts it");
pub const UP_DOWN: (&str, &str) = ("↑ ↓", "change the tempo, or go to the next system");
pub const DIGITS: (&str, &str) = ("1 to 9", "choose a figure");
pub const NOTATION: (&str, &str) = ("B, T", "one bracket, tied");
pub const LOOP: (&str, &str) = ("L", "loops the selection or the half-bar");
pub const VERSION: (&str, &str) = ("A", "plays the next version");
pub const NECK: (&str, &str) = ("F", "opens fingering; pressed again, goes to the neck");
pub const STRINGS: (&str, &str) = ("[ ]", "play the selected note on the next lower or higher string");
pub const TEXT: (&str, &str) = ("E", "edits the text");
pub const PARTS: (&str, &str) =
    ("P, X, Y, S, W", "open practice, exercises, your lines, share and export, and the worksheet");
pub const NEW: (&str, &str) = ("N", "begins a new line");
pub const ESCAPE: (&str, &str) = ("Esc", "clears the selection and lets go of the half-bar");
pub const HELP: (&str, &str) = ("?", "shows this help");
