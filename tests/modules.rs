//! The core's modules have no cycles. At the crate's root, each uses only those above it in `core/src/lib.rs`; within a stage, the files make a
//! graph without cycles too, the stage's own `mod.rs` included. The graph is derived from the paths in the sources, following what a module
//! re-exports to the file that defines it. Tests may use what they like.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

type Graph = BTreeMap<String, BTreeSet<String>>;

/// The sources of a folder and its subfolders.
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

/// A path as written in a source, split at `::`, and the name that it is imported by.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
struct Used {
    path: Vec<String>,
    name: String,
}

/// All paths that start with `root::`. Those in braces are spelled out: `a::{b, c::d}` is `a::b` and `a::c::d`.
fn used(code: &str, root: &str) -> Vec<Used> {
    let start = format!("{root}::");
    let is_first = |at: usize| {
        !code[..at].ends_with(|before: char| before.is_alphanumeric() || before == '_' || before == ':')
    };
    let mut used = Vec::new();
    for (at, _) in code.match_indices(&start).filter(|(at, _)| is_first(*at)) {
        spell_out(&code[at..], &[], &mut used);
    }
    used
}

/// Reads a path, or a tree of them, and returns what follows it.
fn spell_out<'a>(text: &'a str, before: &[String], used: &mut Vec<Used>) -> &'a str {
    if let Some(mut rest) = text.strip_prefix('{') {
        loop {
            rest = rest.trim_start_matches([' ', '\n', ',']);
            match rest.strip_prefix('}') {
                Some(after) => return after,
                None => rest = spell_out(rest, before, used),
            }
        }
    }
    let is_name = |letter: char| letter.is_alphanumeric() || letter == '_' || letter == '*';
    let (name, mut rest) = text.split_at(text.find(|letter| !is_name(letter)).unwrap_or(text.len()));
    assert!(!name.is_empty(), "a path followed by {:?}", text.lines().next());
    let path = [before, &[name.to_string()]].concat();
    // What follows a name with a generic argument, as in `Vec::<u8>`, isn't a name in a module.
    if let Some(deeper) = rest.strip_prefix("::").filter(|deeper| !deeper.starts_with('<')) {
        return spell_out(deeper, &path, used);
    }
    let mut name = name;
    if let Some(alias) = rest.strip_prefix(" as ") {
        (name, rest) = alias.split_at(alias.find(|letter| !is_name(letter)).unwrap_or(alias.len()));
    }
    used.push(Used { path, name: name.to_string() });
    rest
}

/// A cycle, if there is one.
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

/// The code of each module by its path from the crate's root, such as `engrave::tab`; the root itself is empty.
fn modules() -> BTreeMap<String, String> {
    let files = sources(&core()).into_iter().filter(|path| !is_test(path));
    let module = |path: PathBuf| {
        let inside = path.strip_prefix(core()).unwrap().with_extension("");
        let names: Vec<&str> = inside.iter().map(|name| name.to_str().unwrap()).collect();
        let names = names.strip_suffix(&["mod"]).unwrap_or(&names);
        (if names == ["lib"] { String::new() } else { names.join("::") }, code(&path))
    };
    files.map(module).collect()
}

/// Just the imports of a source.
fn imports(code: &str) -> String {
    let starts = code.match_indices("use ").filter(|(at, _)| {
        let row = code[..*at].rsplit('\n').next().unwrap().trim_start();
        row.is_empty() || row.starts_with("pub")
    });
    starts.filter_map(|(at, _)| code[at..].split_inclusive(';').next()).collect::<Vec<_>>().join("\n")
}

/// Everything that the code of a module uses from the crate, by paths from the crate's root.
fn uses(module: &str, code: &str, modules: &BTreeMap<String, String>) -> Vec<Used> {
    let own: Vec<String> = module.split("::").filter(|name| !name.is_empty()).map(String::from).collect();
    let parent = own.split_last().map_or(Vec::new(), |(_, parent)| parent.to_vec());
    let from = |root: &str, base: &[String], skip: usize| {
        let absolute = |Used { path, name }| Used { path: [base, &path[skip..]].concat(), name };
        used(code, root).into_iter().map(absolute).collect::<Vec<_>>()
    };
    let mut all = from("crate", &[], 1);
    all.extend(from("super", &parent, 1));
    let child = |other: &String| {
        let (above, name) = other.rsplit_once("::").unwrap_or(("", other));
        (above == module && other != module).then(|| name.to_string())
    };
    all.extend(modules.keys().filter_map(child).flat_map(|name| from(&name, &own, 0)));
    all
}

/// What each module uses of the others, by the modules in which it is defined.
fn files() -> Graph {
    let modules = modules();
    // What a module imports can be reached through it, too.
    let imported: BTreeMap<&str, Vec<Used>> = (modules.iter())
        .map(|(module, code)| (module.as_str(), uses(module, &imports(code), &modules)))
        .collect();
    let defined_in = |path: &[String]| {
        let mut path = path.to_vec();
        loop {
            let module =
                (0..=path.len()).rev().find(|&length| modules.contains_key(&path[..length].join("::")));
            let (module, rest) = path.split_at(module.unwrap());
            let module = module.join("::");
            let import = rest
                .first()
                .and_then(|name| imported[module.as_str()].iter().find(|import| import.name == *name));
            match import {
                Some(import) if import.path != path => path = [&import.path, &rest[1..]].concat(),
                _ => return module,
            }
        }
    };
    let used = |module: &String, code: &String| -> BTreeSet<String> {
        let homes = uses(module, code, &modules).into_iter().map(|import| defined_in(&import.path));
        homes.filter(|home| home != module).collect()
    };
    modules.iter().map(|(module, code)| (module.clone(), used(module, code))).collect()
}

/// The modules of the crate's root in order, and what they use of each other.
fn roots() -> (Vec<String>, Graph) {
    let modules = modules();
    let declared =
        modules[""].lines().filter_map(|row| row.strip_prefix("pub mod ").or(row.strip_prefix("mod ")));
    let order: Vec<String> = declared.map(|name| name.trim_end_matches(';').to_string()).collect();
    let stage = |module: &str| module.split("::").next().unwrap().to_string();
    let mut graph = Graph::new();
    for (module, uses) in files().into_iter().filter(|(module, _)| !module.is_empty()) {
        let others = uses.iter().map(|used| stage(used)).filter(|other| *other != stage(&module));
        graph.entry(stage(&module)).or_default().extend(others);
    }
    (order, graph)
}

fn edges(graph: &Graph) -> usize {
    graph.values().map(BTreeSet::len).sum()
}

#[test]
fn modules_use_only_those_above_them() {
    let (order, graph) = roots();
    assert!(graph.len() > 25 && edges(&graph) > 100, "{graph:?}");
    assert_eq!(cycle(&graph), None);
    let place =
        |name: &String| order.iter().position(|module| module == name).unwrap_or_else(|| panic!("`{name}`"));
    for (module, uses) in &graph {
        for used in uses {
            assert!(place(used) < place(module), "`{module}` uses `{used}`, which is below it in lib.rs");
        }
    }
}

#[test]
fn files_of_a_stage_have_no_cycles() {
    let graph = files();
    let uses = |module: &str, other: &str| graph[module].contains(other);
    // A sibling, what the parent re-exports, and what the parent itself calls.
    assert!(uses("engrave::tab", "engrave::sign") && uses("chord::reader", "chord::quality"), "{graph:?}");
    assert!(uses("chord::error", "chord::degree") && uses("notate", "notate::spell"), "{graph:?}");
    assert!(graph.len() > 100 && edges(&graph) > 500, "{} files, {} uses", graph.len(), edges(&graph));
    assert_eq!(cycle(&graph), None);
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
}

#[test]
fn paths_are_spelled_out() {
    let code = "use crate::time::{self, Onset as When};\nuse crate::{Error, read::text};\nlet x = crate::line::Line::<u8>::new(super::y);";
    let found: Vec<String> = used(code, "crate")
        .into_iter()
        .map(|Used { path, name }| format!("{} {name}", path.join("::")))
        .collect();
    assert_eq!(
        found,
        [
            "crate::time::self self",
            "crate::time::Onset When",
            "crate::Error Error",
            "crate::read::text text",
            "crate::line::Line Line",
        ]
    );
}
