//! The house rules that no compiler checks: who may import whom, headers, file lengths, leftovers.
//!
//! The arrows are those of DEVELOPERS.md, which is read here, so that page and code cannot part.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

/// A file with more lines has two subjects.
const MOST_LINES: usize = 480;

fn sources(folder: &str) -> Vec<(PathBuf, String)> {
    let mut found = Vec::new();
    let mut folders = vec![PathBuf::from(folder)];
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|extension| extension == "rs") {
                let text = std::fs::read_to_string(&path).unwrap();
                found.push((path, text));
            }
        }
    }
    found.sort();
    found
}

/// The layer a file belongs to: its folder under `src`.
fn layer(path: &Path) -> Option<String> {
    let mut parts = path.iter().skip(1);
    let first = parts.next()?.to_str()?;
    parts.next().map(|_| first.to_owned())
}

/// `layer → a, b, c` lines of DEVELOPERS.md.
fn arrows() -> BTreeMap<String, BTreeSet<String>> {
    let page = std::fs::read_to_string("DEVELOPERS.md").unwrap();
    let lines = page.lines().filter_map(|line| line.trim().split_once(" → "));
    let arrows: BTreeMap<String, BTreeSet<String>> = lines
        .filter(|(from, _)| from.bytes().all(|b| b.is_ascii_lowercase()))
        .map(|(from, to)| (from.to_owned(), to.split(", ").map(str::to_owned).collect()))
        .collect();
    assert!(arrows.len() >= 10, "DEVELOPERS.md has lost its arrows");
    arrows
}

#[test]
fn layers_import_only_what_they_may() {
    let arrows = arrows();
    let layers: BTreeSet<&String> = arrows.keys().collect();
    let mut faults = Vec::new();
    for (path, text) in sources("src") {
        let Some(layer) = layer(&path) else { continue };
        let Some(allowed) = arrows.get(&layer) else {
            faults.push(format!("{}: layer {layer} has no arrow in DEVELOPERS.md", path.display()));
            continue;
        };
        for (number, line) in text.lines().enumerate().filter(|(_, line)| !line.trim_start().starts_with("//")) {
            for piece in line.split("crate::").skip(1) {
                let target: String = piece.chars().take_while(char::is_ascii_lowercase).collect();
                let known = layers.contains(&target) && target != layer;
                if known && !allowed.contains(&target) && !allowed.contains("everything") {
                    faults.push(format!("{}:{}: {layer} may not import {target}", path.display(), number + 1));
                }
            }
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn the_core_knows_no_clock_disk_or_network() {
    let core = ["model", "rules", "due", "gastest", "plan", "digest", "show"];
    let worldly =
        ["Utc::now", "Local::now", "SystemTime", "Instant::now", "std::fs", "std::net", "std::env::var", "rusqlite"];
    let mut faults = Vec::new();
    for (path, text) in sources("src") {
        if !layer(&path).is_some_and(|layer| core.contains(&layer.as_str())) {
            continue;
        }
        for word in worldly.iter().filter(|word| text.contains(**word)) {
            faults.push(format!("{} names {word}", path.display()));
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn every_file_says_what_it_owns_and_refuses() {
    let mut faults = Vec::new();
    for (path, text) in sources("src") {
        let head: Vec<&str> = text.lines().take_while(|line| line.starts_with("//!")).collect();
        let head = head.join(" ");
        if path.ends_with("lib.rs") {
            continue;
        }
        if !head.contains("Owns: ") || !head.contains("Refuses: ") {
            faults.push(format!("{}: its head does not say what it owns and refuses", path.display()));
        }
        let lines = text.lines().count();
        if lines > MOST_LINES {
            faults.push(format!("{}: {lines} lines; perhaps it has two subjects", path.display()));
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn no_leftovers() {
    // Written in two pieces, so that this file does not find itself.
    let leftovers =
        [["FIX", "ME"], ["XX", "X"], ["TO", "DO"], ["dbg", "!("], ["unimplemented", "!("], ["../sh", "ared"]];
    let mut faults = Vec::new();
    for (path, text) in sources("src").into_iter().chain(sources("tests")) {
        for word in leftovers.iter().map(|pieces| pieces.concat()).filter(|word| text.contains(word.as_str())) {
            faults.push(format!("{} has {word}", path.display()));
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}
