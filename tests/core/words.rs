//! The catalogue and the sources say the same: every message is used, with exactly its arguments.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use fluent_syntax::ast::{Entry, Expression, InlineExpression, Pattern, PatternElement};

fn sources(folder: &Path, into: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).expect("src is readable").flatten() {
        let path = entry.path();
        if path.is_dir() {
            sources(&path, into);
        } else if path.extension().is_some_and(|end| end == "rs") {
            into.push(path);
        }
    }
}

/// Names of the arguments that a message wants.
fn wanted(pattern: &Pattern<&str>, into: &mut BTreeSet<String>) {
    for element in &pattern.elements {
        let PatternElement::Placeable { expression } = element else { continue };
        let inline = match expression {
            Expression::Inline(inline) => inline,
            Expression::Select { selector, variants } => {
                variants.iter().for_each(|variant| wanted(&variant.value, into));
                selector
            }
        };
        if let InlineExpression::VariableReference { id } = inline {
            into.insert(id.name.to_owned());
        }
    }
}

/// The text between the bracket that opens at `from` and the one that closes it, without what strings hold.
fn inside(code: &str, from: usize) -> String {
    let (mut depth, mut quoted, mut escaped) = (0_i32, false, false);
    let mut out = String::new();
    for letter in code[from..].chars() {
        if quoted {
            quoted = escaped || letter != '"';
            escaped = !escaped && letter == '\\';
            continue;
        }
        match letter {
            '"' => quoted = true,
            '(' | '[' | '{' => depth += 1,
            ')' | ']' | '}' => depth -= 1,
            _ => {}
        }
        if depth == 0 {
            break;
        }
        out.push(if depth == 1 { letter } else { ' ' });
    }
    out
}

/// Every call of the two macros: the message's name and the names of its arguments.
fn calls(code: &str) -> Vec<(String, BTreeSet<String>)> {
    let mut found = Vec::new();
    for name in ["word!(", "name!(", "say!("] {
        for (at, _) in code.match_indices(name) {
            let before = code[..at].chars().next_back();
            let rest = code[at + name.len()..].trim_start();
            let Some(id) = rest.strip_prefix('"').and_then(|rest| rest.split('"').next()) else { continue };
            if before.is_some_and(|c| c.is_alphanumeric() || c == '_') {
                continue;
            }
            let args = inside(code, at + name.len() - 1);
            let names = args.split(',').filter_map(|arg| arg.split_once(" = ").map(|(name, _)| name.trim()));
            found.push((id.to_owned(), names.map(str::to_owned).collect()));
        }
    }
    found
}

#[test]
fn sources_and_catalogue_agree() {
    let text = thirdpull::words::ENGLISH;
    let resource = fluent_syntax::parser::parse(text).expect("the English catalogue is sound");
    let mut messages = BTreeMap::new();
    let mut last = String::new();
    for entry in &resource.body {
        match entry {
            Entry::Message(message) => {
                let id = message.id.name.to_owned();
                assert!(last < id, "`{id}` stands after `{last}`: sort each group by name");
                last.clone_from(&id);
                let mut args = BTreeSet::new();
                wanted(message.value.as_ref().expect("a message has a text"), &mut args);
                assert!(messages.insert(id.clone(), args).is_none(), "`{id}` stands there twice");
            }
            Entry::GroupComment(_) => last.clear(),
            _ => {}
        }
    }
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut files = Vec::new();
    sources(&root, &mut files);
    // The folder's reader names each language by it.
    let mut used: BTreeSet<String> = ["language-name".to_owned()].into();
    for file in files.iter().filter(|file| !file.starts_with(root.join("words"))) {
        for (id, args) in calls(&std::fs::read_to_string(file).expect("readable")) {
            let shown = file.display();
            let wants = messages.get(&id).unwrap_or_else(|| panic!("{shown}: `{id}` is not in en.ftl"));
            assert_eq!(wants, &args, "{shown}: the arguments of `{id}`");
            used.insert(id);
        }
    }
    assert!(used.len() > 500, "the walk found the calls");
    let unused: Vec<&String> = messages.keys().filter(|id| !used.contains(*id)).collect();
    assert!(unused.is_empty(), "nobody says {unused:?}");
}

#[test]
fn the_walk_sees_a_call_and_its_arguments() {
    let code = r#"let a = say!("some-id", n = of(x, "a, b = c"), text = y); word!("plain")"#;
    let names: BTreeSet<String> = ["n".to_owned(), "text".to_owned()].into();
    assert_eq!(calls(code), [("plain".to_owned(), BTreeSet::new()), ("some-id".to_owned(), names)]);
}

/// The strings that a file's code holds, each with its line; comments and the tests at its end are left out.
fn literals(code: &str) -> Vec<(usize, String)> {
    let code = code.split("#[cfg(test)]\nmod ").next().unwrap_or_default();
    let mut found = Vec::new();
    let mut letters = code.char_indices().peekable();
    let line_at = |at: usize| 1 + code[..at].bytes().filter(|byte| *byte == b'\n').count();
    while let Some((at, letter)) = letters.next() {
        match letter {
            '/' if code[at..].starts_with("//") => while letters.next_if(|(_, c)| *c != '\n').is_some() {},
            // A quotation mark as a character is no string.
            '\'' if code[at..].starts_with("'\"'") || code[at..].starts_with("'\\\"'") => {
                while letters.next_if(|(_, c)| *c != '"').is_some() {}
                letters.next();
            }
            '"' => {
                let raw = code[..at].ends_with('#');
                let mut text = String::new();
                while let Some((here, c)) = letters.next() {
                    match c {
                        '\\' if !raw => {
                            letters.next();
                        }
                        '"' if !raw || code[here..].starts_with("\"#") => break,
                        _ => text.push(c),
                    }
                }
                found.push((line_at(at), text));
            }
            _ => {}
        }
    }
    found
}

/// Whether a string reads like words for people: two words in a row, or one with a capital, beside what is filled in.
fn reads_like_words(text: &str) -> bool {
    let mut plain = String::new();
    let mut depth = 0_u32;
    for letter in text.chars() {
        match letter {
            '{' => depth += 1,
            '}' => depth = depth.saturating_sub(1),
            _ if depth == 0 => plain.push(letter),
            _ => {}
        }
    }
    let words: Vec<&str> = plain.split(' ').collect();
    let is_word = |word: &&str| word.chars().count() > 1 && word.chars().all(char::is_alphabetic);
    let in_a_row = words.windows(2).any(|two| two.iter().all(is_word));
    let capital = words.iter().any(|word| {
        is_word(word) && word.starts_with(char::is_uppercase) && word.chars().skip(1).all(char::is_lowercase)
    });
    in_a_row || capital
}

/// The folders whose strings a person reads in the window.
const SPOKEN: [&str; 15] = [
    "advisor",
    "capture",
    "control",
    "domain",
    "exchange",
    "infer",
    "practice",
    "puck",
    "rules",
    "sensory",
    "store",
    "trace",
    "ui",
    "units",
    "workbench",
];

/// Strings of these folders that are no words for people, and why.
const NO_WORDS: &[&str] = &[
    // Names of the program and of a typeface.
    "Thirdpull",
    "Hack",
    // Names of threads.
    "folder watcher",
    "file dialog",
    // What the developer's timer writes.
    "first frame laid out after {} ms",
    "{} frames: median {:.1} ms, 95 in 100 below {:.1} ms, largest {:.1} ms (layout, without painting)",
    // What the system writes, looked for in its errors.
    "display is set",
    // What a developer reads when an assumption fails.
    "nothing to go back to before it was taken",
    // A factor of the model, told apart by its name.
    "single pull",
    // Beginnings of the notes that the opening writes into the notebook.
    "room ",
    "old beans ",
    "Window ",
    // The proposed name of a file.
    "bar card.pdf",
    // The name of a channel in the file of remembered columns.
    "cup mass",
    // The name of a field in a refusal.
    "start_kg_m3 against saturation",
    // What worked cases of rules call an action.
    "more yield",
    "less yield",
    "more dose",
    "less dose",
    // What recorders call a column.
    "flow rate",
    // The symbol of a unit.
    "Pa",
    // What the store writes into the notebook, the journal and the file of who holds it.
    "Station",
    "Drinker",
    "Unknown drinker",
    "not yet settled",
    "saved elsewhere",
    "this machine",
    // RON's word for no value, and names for a developer's output.
    "None",
    "Folder",
    // What the reader of RON puts into its own English sentences.
    "the name of a field",
    "a record of named fields in parentheses",
    "an identifier as a string",
    "one of the words {}",
    // Why a field is never read.
    "the lock lives as long as the open file",
    // Names of types for the reader of practice files.
    "Roast",
    "Process",
    "Finer",
    // Names that go into a notebook, where they are the person's.
    "usual coffee",
    "practice grinder",
    "usual drinker",
    // The head of a picture file.
    "<svg xmlns=http://www.w3.org/2000/svg width={w}pt height={h}pt viewBox=0 0 {w} {h}          font-family='IBM Plex Sans', 'Noto Sans', Arial, sans-serif><title>{}</title>         <rect width={w} height={h} fill={}/>",
    // Bare numbers that some logs write against JSON.
    "Infinity",
    "NaN",
];

#[test]
fn no_words_stand_outside_the_catalogue() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut files = Vec::new();
    for folder in SPOKEN {
        sources(&root.join(folder), &mut files);
    }
    let mut left = Vec::new();
    let mut allowed = BTreeSet::new();
    for file in &files {
        let shown = file.strip_prefix(&root).expect("below src").display().to_string();
        // The gallery is for developers; samples and tests are seen by nobody else.
        let tests = ["tests.rs", "samples.rs", "fuzz.rs"];
        if shown.contains("gallery") || tests.iter().any(|end| shown.ends_with(end)) {
            continue;
        }
        for (line, text) in literals(&std::fs::read_to_string(file).expect("readable")) {
            if let Some(known) = NO_WORDS.iter().find(|known| **known == text) {
                allowed.insert(*known);
            } else if reads_like_words(&text) {
                left.push(format!("{shown}:{line}: “{text}”"));
            }
        }
    }
    assert!(left.is_empty(), "not in the catalogue:\n{}", left.join("\n"));
    let unused: Vec<_> = NO_WORDS.iter().filter(|known| !allowed.contains(*known)).collect();
    assert!(unused.is_empty(), "no longer there: {unused:?}");
}

#[test]
fn the_walk_tells_words_from_other_strings() {
    let code = "// \"Not this\"\nlet quote = '\"';\nlet a = word!(\"some-id\"); let b = \"Keep it\";\n\
                let c = format!(\"{} of {name} pulls in all\");\n\n#[cfg(test)]\nmod tests {\n\"Nor this\"";
    let found: Vec<(usize, String)> =
        literals(code).into_iter().filter(|(_, text)| reads_like_words(text)).collect();
    assert_eq!(found, [(3, "Keep it".to_owned()), (4, "{} of {name} pulls in all".to_owned())]);
}
