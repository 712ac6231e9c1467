//! What the tests share: where things are, and how to run the scripts of the outside checks.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that can't continue has to stop"
)]

pub mod collisions;
pub mod gallery;
pub mod icon;
pub mod ink;
pub mod laws;
pub mod lines;
pub mod measures;
pub mod midi;
pub mod pixels;
pub mod tunes;
pub mod zip;

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use proptest::prelude::*;
use proptest::test_runner::{FileFailurePersistence, TestRunner};

/// The workspace's top folder.
pub fn top() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).parent().unwrap().to_path_buf()
}

/// Cargo's target folder.
pub fn target() -> PathBuf {
    std::env::var_os("CARGO_TARGET_DIR").map_or_else(|| top().join("target"), PathBuf::from)
}

/// As many random cases as `PROPTEST_CASES` says; failing ones are kept in this file beside the tests, and tried first next time.
pub fn random(kept: &'static str) -> ProptestConfig {
    at_most(u32::MAX, kept)
}

/// Tries a slow law on at most a thousand random cases; `proptest!` would always do as many as `PROPTEST_CASES` says.
pub fn a_thousand<S: Strategy>(
    kept: &'static str,
    cases: S,
    law: impl Fn(S::Value) -> Result<(), TestCaseError>,
) {
    let mut runner = TestRunner::new(at_most(1_000, kept));
    runner.run(&cases, law).unwrap_or_else(|error| panic!("{error}"));
}

/// Prints the number of cases; `tests/run` adds them up.
fn at_most(most: u32, kept: &'static str) -> ProptestConfig {
    let usual = ProptestConfig::default();
    let cases = usual.cases.min(most);
    println!("random cases: {cases}");
    ProptestConfig {
        cases,
        failure_persistence: Some(Box::new(FileFailurePersistence::Direct(kept))),
        ..usual
    }
}

/// Runs an installed program and returns its standard output.
pub fn program(name: &str, arguments: &[&str]) -> Vec<u8> {
    let output =
        Command::new(name).args(arguments).output().unwrap_or_else(|error| panic!("{name}: {error}"));
    assert!(output.status.success(), "{name} {arguments:?}: {}", String::from_utf8_lossy(&output.stderr));
    output.stdout
}

/// The folder with the lines of the Weimar Jazz Database, which is outside this repository. If it doesn't exist, a message says so.
pub fn jazz() -> Option<PathBuf> {
    let folder =
        std::env::var_os("HALFBAR_JAZZ").map_or_else(|| top().join("../shared/outside/jazz"), Into::into);
    if folder.join("lines.jsonl").exists() {
        return Some(folder);
    }
    println!("SKIPPED: there is no {}", folder.join("lines.jsonl").display());
    None
}

/// A file with data that is outside this repository. If it doesn't exist, a message says so.
pub fn shared(name: &str) -> Option<PathBuf> {
    let folder =
        std::env::var_os("HALFBAR_SHARED").map_or_else(|| top().join("../shared/outside"), Into::into);
    let file: PathBuf = folder.join(name);
    if file.exists() {
        return Some(file);
    }
    println!("SKIPPED: there is no {}", file.display());
    None
}

/// Runs a script of `tests/outside` with the Python that `tests/run` set up, and returns the lines that it prints.
pub fn outside(script: &str, arguments: &[&str], input: &str) -> Vec<String> {
    let python = target().join("outside/bin/python");
    assert!(python.exists(), "no {}: `tests/run` creates it", python.display());
    let script = top().join("tests/outside").join(script);
    let mut child = Command::new(python)
        .arg(&script)
        .args(arguments)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap_or_else(|error| panic!("{}: {error}", script.display()));
    // Written from another thread, so that full pipes don't make the two sides wait for each other.
    let mut stdin = child.stdin.take().unwrap();
    let input = input.to_string();
    let writer = std::thread::spawn(move || stdin.write_all(input.as_bytes()));
    let output = child.wait_with_output().unwrap();
    let _ = writer.join();
    assert!(output.status.success(), "{} failed", script.display());
    String::from_utf8(output.stdout).unwrap().lines().map(String::from).collect()
}
