//! What the tests share: where things are, and scripts of the outside checks.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that can't go on has to stop"
)]

pub mod collisions;
pub mod gallery;
pub mod ink;
pub mod laws;
pub mod lines;
pub mod pixels;
pub mod tunes;

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// The workspace's top folder.
pub fn top() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).parent().unwrap().to_path_buf()
}

/// Where cargo builds.
pub fn target() -> PathBuf {
    std::env::var_os("CARGO_TARGET_DIR").map_or_else(|| top().join("target"), PathBuf::from)
}

/// Runs a script of `tests/outside` with the Python that `tests/run` prepared, and gives the lines it prints.
pub fn outside(script: &str, arguments: &[&str], input: &str) -> Vec<String> {
    let python = target().join("outside/bin/python");
    assert!(python.exists(), "no {}: `tests/run` makes it", python.display());
    let script = top().join("tests/outside").join(script);
    let mut child = Command::new(python)
        .arg(&script)
        .args(arguments)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap_or_else(|error| panic!("{}: {error}", script.display()));
    // Written from another thread, so that neither side waits for the other with a full pipe.
    let mut stdin = child.stdin.take().unwrap();
    let input = input.to_string();
    let writer = std::thread::spawn(move || stdin.write_all(input.as_bytes()));
    let output = child.wait_with_output().unwrap();
    let _ = writer.join();
    assert!(output.status.success(), "{} failed", script.display());
    String::from_utf8(output.stdout).unwrap().lines().map(String::from).collect()
}
