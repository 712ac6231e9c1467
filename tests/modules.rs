//! The core's modules have no cycles: each uses only those above it in `core/src/lib.rs`. The graph is derived from the paths in the sources;
//! tests may use what they like.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

type Graph = BTreeMap<String, BTreeSet<String>>;

/// The sources of a folder and of those below it.
fn sources(folder: &Path) -> Vec<PathBuf> {
    let mut files = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        match path.is_dir() {
            true => files.extend(sources(&path)),
            false if path.extension().is_some_and(|ending| ending == "rs") => files.push(path),
            false => {}
        }
    }
    files.sort();
    files
}

/// A source without comments and without its tests.
fn code(path: &Path) -> String {
    let text = fs::read_to_string(path).unwrap();
    let text = text.split("#[cfg(test)]\nmod tests").next().unwrap();
    text.lines().filter(|row| !row.trim_start().starts_with("//")).collect::<Vec<_>>().join("\n")
}

/// Whether a file is compiled for tests only.
fn is_test(path: &Path) -> bool {
    let name = path.file_stem().unwrap().to_str().unwrap();
    let parent = path.with_file_name("mod.rs");
    let declared = format!("#[cfg(test)]\nmod {name};");
    parent.exists() && fs::read_to_string(parent).unwrap().contains(&declared)
}

/// The first names of all paths that start with `root::`, those in braces among them.
fn used(code: &str, root: &str) -> BTreeSet<String> {
    let mut used = BTreeSet::new();
    for (at, _) in code.match_indices(root) {
        if code[..at].ends_with(|before: char| before.is_alphanumeric() || before == '_' || before == ':') {
            continue;
        }
        let rest = &code[at + root.len()..];
        let (mut depth, mut name) = (0, String::new());
        for letter in rest.chars() {
            match letter {
                '{' => depth += 1,
                '}' => depth -= 1,
                _ if depth == 0 || (depth == 1 && letter != ',') => {}
                _ => {}
            }
            let ends = depth == 0 && !letter.is_alphanumeric() && letter != '_' && letter != '}';
            if depth <= 1 && (letter.is_alphanumeric() || letter == '_') {
                name.push(letter);
            } else {
                if depth == 1 && letter == ':' && !name.is_empty() {
                    used.insert(std::mem::take(&mut name));
                    name.push(':');
                } else if depth <= 1 && (letter == ',' || letter == '}' || letter == '{') || ends {
                    used.insert(std::mem::take(&mut name));
                }
                if ends || (letter == '}' && depth == 0) {
                    break;
                }
            }
        }
    }
    used.retain(|name| !name.is_empty() && !name.starts_with(':'));
    used
}

/// A way round, if there is one.
fn cycle(graph: &Graph) -> Option<Vec<String>> {
    fn walk(at: &str, graph: &Graph, path: &mut Vec<String>, done: &mut BTreeSet<String>) -> bool {
        if let Some(start) = path.iter().position(|before| before == at) {
            path.drain(..start);
            path.push(at.into());
            return true;
        }
        if !done.insert(at.into()) {
            return false;
        }
        path.push(at.into());
        if graph.get(at).into_iter().flatten().any(|next| walk(next, graph, path, done)) {
            return true;
        }
        path.pop();
        false
    }
    let mut done = BTreeSet::new();
    graph.keys().find_map(|start| {
        let mut path = Vec::new();
        walk(start, graph, &mut path, &mut done).then_some(path)
    })
}

fn core() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../core/src")
}

/// What the modules of the crate's root use of each other.
fn roots() -> (Vec<String>, Graph) {
    let lib = code(&core().join("lib.rs"));
    let declared = lib.lines().filter_map(|row| row.strip_prefix("pub mod ").or(row.strip_prefix("mod ")));
    let order: Vec<String> = declared.map(|name| name.trim_end_matches(';').to_string()).collect();
    // What is exported at the root stands for its module.
    let homes = [("Error", "error"), ("Result", "error"), ("Piece", "piece")];
    let mut graph = Graph::new();
    for path in sources(&core()).into_iter().filter(|path| !is_test(path) && !path.ends_with("src/lib.rs")) {
        let inside = path.strip_prefix(core()).unwrap().iter().next().unwrap();
        let module = inside.to_str().unwrap().trim_end_matches(".rs").to_string();
        for name in used(&code(&path), "crate::") {
            let name =
                homes.iter().find(|(export, _)| *export == name).map_or(name, |(_, home)| (*home).into());
            assert!(order.contains(&name), "`crate::{name}` in {}", path.display());
            if name != module {
                graph.entry(module.clone()).or_default().insert(name);
            }
        }
    }
    (order, graph)
}

#[test]
fn modules_use_only_those_above_them() {
    let (order, graph) = roots();
    assert!(graph.len() > 25 && graph.values().map(BTreeSet::len).sum::<usize>() > 100, "{graph:?}");
    assert_eq!(cycle(&graph), None);
    let place = |name: &String| order.iter().position(|module| module == name).unwrap();
    for (module, uses) in &graph {
        for used in uses {
            assert!(place(used) < place(module), "`{module}` uses `{used}`, which stands below it in lib.rs");
        }
    }
}

#[test]
fn a_cycle_is_found() {
    let graph = |edges: &[(&str, &str)]| {
        let mut graph = Graph::new();
        for (from, to) in edges {
            graph.entry((*from).into()).or_default().insert((*to).into());
        }
        graph
    };
    assert_eq!(cycle(&graph(&[("a", "b"), ("b", "c"), ("a", "c")])), None);
    assert_eq!(cycle(&graph(&[("a", "b"), ("b", "c"), ("c", "b")])).unwrap(), ["b", "c", "b"]);
    let code = "use crate::time::{Duration, Onset};\nuse crate::{Error, Piece, read::text};\nlet x = crate::line::Line;";
    assert_eq!(
        used(code, "crate::"),
        ["Error", "Piece", "line", "read", "time"].map(String::from).into_iter().collect()
    );
}
