//! The floors of the house: a module uses only floors below its own. The picture is in DEVELOPERS.md, "Floors".

use std::path::{Path, PathBuf};

/// Module, its floor, and the modules of its own floor that it may use.
const FLOORS: &[(&str, u8, &[&str])] = &[
    ("units", 0, &["words"]),
    ("words", 0, &[]),
    ("domain", 1, &[]),
    ("maths", 1, &[]),
    ("puck", 2, &[]),
    ("trace", 2, &[]),
    ("taste", 2, &[]),
    ("sensory", 2, &[]),
    ("control", 2, &[]),
    ("infer", 3, &[]),
    ("rules", 4, &[]),
    ("advisor", 4, &["rules"]),
    ("practice", 4, &[]),
    ("store", 5, &[]),
    ("exchange", 5, &[]),
    ("capture", 5, &[]),
    ("report", 5, &[]),
    ("workbench", 6, &[]),
    ("cli", 7, &[]),
    ("ui", 7, &[]),
];

fn rust_files(folder: &Path, into: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).expect("src is readable").flatten() {
        let path = entry.path();
        if path.is_dir() {
            rust_files(&path, into);
        } else if path.extension().is_some_and(|e| e == "rs") {
            into.push(path);
        }
    }
}

/// Modules that a line of code names through `crate::`.
fn named_modules(line: &str) -> Vec<String> {
    let code = line.split("//").next().unwrap_or("");
    code.match_indices("crate::")
        .map(|(at, found)| {
            code[at + found.len()..].chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect()
        })
        .collect()
}

#[test]
fn no_arrow_runs_up() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut files = Vec::new();
    rust_files(&root, &mut files);
    assert!(files.len() > 10, "the walk found the sources");
    let mut wrong = Vec::new();
    for file in files {
        let shown = file.strip_prefix(&root).expect("below src").display().to_string();
        let Some((module, _)) = shown.split_once('/') else { continue };
        let Some(&(_, floor, beside)) = FLOORS.iter().find(|(name, ..)| *name == module) else {
            wrong.push(format!(
                "{shown}: module `{module}` has no floor; add it to the table and to DEVELOPERS.md"
            ));
            continue;
        };
        let text = std::fs::read_to_string(&file).expect("sources are readable");
        for (number, line) in text.lines().enumerate() {
            for used in named_modules(line) {
                let allowed = used == module
                    || FLOORS.iter().all(|(name, ..)| *name != used)
                    || FLOORS.iter().any(|&(name, f, _)| name == used && f < floor)
                    || beside.contains(&used.as_str());
                if !allowed {
                    wrong.push(format!("{shown}:{}: `{module}` must not use `{used}`", number + 1));
                }
            }
            let names_window = line.split("//").next().is_some_and(|code| code.contains("egui"));
            if names_window && module != "ui" {
                wrong.push(format!("{shown}:{}: only `ui` may name egui", number + 1));
            }
        }
    }
    assert!(wrong.is_empty(), "see DEVELOPERS.md, Floors:\n{}", wrong.join("\n"));
}

#[test]
fn the_check_sees_an_arrow() {
    assert_eq!(named_modules("use crate::store::Folder; // crate::ui"), ["store"]);
    assert_eq!(named_modules("    crate::puck::simulate(&crate::maths::x)"), ["puck", "maths"]);
}
