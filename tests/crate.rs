//! What is in `halfbar-core` when it is published. `cargo publish --dry-run`, which compiles it, is a separate step in `tests/run`.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::collections::BTreeSet;

use halfbar_tests::{program, top};

/// Everything that isn't in `src`.
const BESIDE_THE_SOURCE: [&str; 17] = [
    ".cargo_vcs_info.json",
    "CHANGELOG.md",
    "Cargo.lock",
    "Cargo.toml",
    "Cargo.toml.orig",
    "LICENSE-APACHE",
    "LICENSE-MIT",
    "README.md",
    "TEXT.md",
    "benches/pipeline.rs",
    "glyphs/OFL-noto-music.txt",
    "glyphs/OFL-source-serif.txt",
    "glyphs/black.outlines",
    "glyphs/bold-italic.outlines",
    "glyphs/music.outlines",
    "glyphs/regular.outlines",
    "glyphs/semibold.outlines",
];

#[test]
fn the_crate_is_its_source_what_it_includes_and_the_licenses() {
    let manifest = top().join("core/Cargo.toml");
    let arguments =
        ["package", "--list", "--allow-dirty", "--offline", "--manifest-path", manifest.to_str().unwrap()];
    let list = String::from_utf8(program(env!("CARGO"), &arguments)).unwrap();
    let (source, beside): (BTreeSet<_>, BTreeSet<_>) =
        list.lines().partition(|path| path.starts_with("src/"));
    // Cargo knows the commit only inside a repository.
    let beside: BTreeSet<_> = beside.into_iter().chain([BESIDE_THE_SOURCE[0]]).collect();
    assert_eq!(beside, BTreeSet::from(BESIDE_THE_SOURCE));
    assert!(source.contains("src/lib.rs"));
    assert_eq!(source.into_iter().find(|path| !path.ends_with(".rs")), None);
}
