//! Lower never imports higher.
//!
//! Cargo cannot hold this inside one crate, so this reads `src/` and fails on a name that a module may not use.
//! The table is the one in DEVELOPERS.md.

use std::fs;
use std::path::{Path, PathBuf};

/// Module, the modules of ours it may name.
const MAY_USE: &[(&str, &[&str])] = &[
    ("time", &[]),
    ("text", &[]),
    ("menu", &["time"]),
    ("load", &["menu", "text", "time"]),
    ("quantity", &["menu", "time"]),
    ("safety", &["menu", "quantity", "time"]),
    ("schedule", &[]),
    ("exchange", &["schedule"]),
    ("forecast", &[]),
    ("plan", &["menu", "schedule", "time"]),
    ("book", &["time"]),
    (
        "prep",
        &[
            "book", "forecast", "load", "menu", "plan", "quantity", "safety", "time",
        ],
    ),
    (
        "sheets",
        &[
            "forecast", "menu", "plan", "prep", "quantity", "safety", "text", "time",
        ],
    ),
    (
        "tui",
        &[
            "book", "forecast", "menu", "plan", "prep", "quantity", "safety", "text", "time",
        ],
    ),
    (
        "cli",
        &[
            "book", "exchange", "forecast", "load", "menu", "plan", "prep", "quantity", "safety",
            "schedule", "sheets", "text", "time", "tui",
        ],
    ),
];

/// A library and the only places that may name it.
const LIBRARIES: &[(&str, &[&str])] = &[
    ("chrono", &["time/"]),
    ("chrono_tz", &["time/"]),
    ("iana_time_zone", &["time/"]),
    ("rusqlite", &["book/"]),
    ("ratatui", &["tui/", "cli/"]),
    ("crossterm", &["tui/"]),
    ("clap", &["cli/"]),
    ("color_eyre", &["main.rs", "cli/"]),
    ("ron", &["load/"]),
    ("csv", &["sheets/"]),
    ("signal_hook", &["tui/"]),
    ("libm", &["safety/", "schedule/"]),
    ("unicode_width", &["text/"]),
    ("unicode_segmentation", &["text/", "tui/"]),
    ("serde_json", &["book/", "exchange/", "sheets/", "cli/"]),
];

/// A name inside a module of ours, and the only places of a higher module that may use it.
const NARROW: &[(&str, &str, &[&str])] = &[
    // The book's entries are data; the book itself is reached through the command line alone.
    ("tui", "book::Book", &[]),
    ("tui", "book::store", &[]),
    ("prep", "book::Book", &[]),
    ("prep", "book::store", &[]),
];

fn sources() -> Vec<(PathBuf, String)> {
    fn walk(folder: &Path, found: &mut Vec<PathBuf>) {
        for entry in fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                walk(&path, found);
            } else if path.extension().is_some_and(|extension| extension == "rs") {
                found.push(path);
            }
        }
    }
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut found = Vec::new();
    walk(&root, &mut found);
    found.sort();
    found
        .into_iter()
        .map(|path| {
            let text = fs::read_to_string(&path).unwrap();
            (path.strip_prefix(&root).unwrap().to_path_buf(), text)
        })
        .collect()
}

/// Returns the text without comments, and without the unit tests at its foot.
fn code(text: &str) -> String {
    let body = text.split("#[cfg(test)]").next().unwrap_or(text);
    body.lines()
        .filter(|line| !line.trim_start().starts_with("//"))
        .collect::<Vec<_>>()
        .join("\n")
}

fn names_module(code: &str, module: &str) -> bool {
    // Every import of ours is written `crate::module`; `use crate::{…}` would hide from this test.
    code.match_indices("crate::").any(|(at, prefix)| {
        let rest = &code[at + prefix.len()..];
        rest.strip_prefix(module)
            .is_some_and(|after| !after.starts_with(|c: char| c.is_alphanumeric() || c == '_'))
    })
}

#[test]
fn lower_never_imports_higher() {
    let mut wrong = Vec::new();
    for (path, text) in sources() {
        let name = path.to_string_lossy().replace('\\', "/");
        let Some((module, _)) = name.split_once('/') else {
            continue;
        };
        let code = code(&text);
        let Some((_, may)) = MAY_USE.iter().find(|(it, _)| *it == module) else {
            wrong.push(format!("{name}: the module {module} is not in the table"));
            continue;
        };
        for (other, _) in MAY_USE {
            if *other != module && !may.contains(other) && names_module(&code, other) {
                wrong.push(format!("{name}: names crate::{other}"));
            }
        }
        if code.contains("crate::{") {
            wrong.push(format!("{name}: write each import of ours on its own"));
        }
        for (of, target, allowed) in NARROW {
            let used = code.contains(&format!("crate::{target}"));
            if *of == module && used && !allowed.iter().any(|allowed| name.starts_with(allowed)) {
                wrong.push(format!("{name}: names crate::{target}"));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn libraries_stay_where_they_belong() {
    let mut wrong = Vec::new();
    for (path, text) in sources() {
        let name = path.to_string_lossy().replace('\\', "/");
        let code = code(&text);
        for (library, allowed) in LIBRARIES {
            let used = code.match_indices(&format!("{library}::")).any(|(at, _)| {
                !code[..at].ends_with(|c: char| c.is_alphanumeric() || c == '_' || c == ':')
            });
            if used && !allowed.iter().any(|allowed| name.starts_with(allowed)) {
                wrong.push(format!("{name}: names {library}"));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn the_engine_knows_no_files_no_clock_and_no_order_of_chance() {
    for (path, text) in sources() {
        if !path.starts_with("schedule") {
            continue;
        }
        let code = code(&text);
        for word in [
            "std::fs",
            "std::time",
            "HashMap",
            "HashSet",
            "println!",
            "serde",
        ] {
            assert!(!code.contains(word), "{}: {word}", path.display());
        }
    }
}

#[test]
fn the_table_names_every_module() {
    let library =
        fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("src/lib.rs")).unwrap();
    for line in library.lines() {
        if let Some(module) = line
            .strip_prefix("pub mod ")
            .and_then(|rest| rest.strip_suffix(';'))
        {
            assert!(
                MAY_USE.iter().any(|(it, _)| *it == module),
                "{module} is not in the table"
            );
        }
    }
}
