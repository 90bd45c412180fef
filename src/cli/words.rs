//! `thirdpull words`: the file that a translator fills in, and what one in the making still lacks.

use std::ffi::OsString;
use std::io::Write;
use std::path::Path;

use super::args::{Given, Usage};
use super::{DONE, FAILED, FINDINGS, usage};
use crate::workbench::{lacking, language_file};

const HELP: &str = "\
thirdpull words – the words of the window, to be said in another language

USAGE
  thirdpull words > XX.ftl
  thirdpull words --missing XX.ftl > more.ftl

OPTIONS
  --missing FILE   print only what that file lacks; what it has that nobody says goes to standard error
  -h, --help       this page

Prints the whole file in English, in the syntax of Project Fluent: one message a line, its name and
its text. Say each text in the other language, leave the names and what stands in { } as they are, and
put the file into the folder “words” of the settings folder, named by the language's tag: nl.ftl,
pt-BR.ftl. The settings then offer it. What a file lacks stays English.
Exit codes: 0 done; 1 the file lacks something, or has what nobody says; 2 it cannot be read.
";

/// Runs the command.
///
/// # Errors
/// Only when `out` or `err` cannot be written.
pub fn run(args: Vec<OsString>, out: &mut dyn Write, err: &mut dyn Write) -> std::io::Result<u8> {
    let given = match Given::read(args, &["missing"], &[]) {
        Ok(given) => given,
        Err(Usage(why)) => return usage(err, &why),
    };
    if given.help {
        out.write_all(HELP.as_bytes())?;
        return Ok(DONE);
    }
    if !given.free.is_empty() || given.place.notebook.is_some() {
        return usage(err, "words takes no notebook and no names: thirdpull words [--missing FILE]");
    }
    let Some(path) = given.value("missing").map(Path::new) else {
        out.write_all(language_file().as_bytes())?;
        return Ok(DONE);
    };
    let shown = path.display();
    let text = match std::fs::read_to_string(path) {
        Ok(text) => text,
        Err(fault) => {
            writeln!(err, "thirdpull words: “{shown}” cannot be read: {fault}")?;
            return Ok(FAILED);
        }
    };
    let tag = path.file_stem().and_then(|stem| stem.to_str()).unwrap_or_default();
    let found = match lacking(tag, &text) {
        Ok(found) => found,
        Err(damage) => {
            writeln!(err, "thirdpull words: “{shown}”, {damage}")?;
            return Ok(FAILED);
        }
    };
    out.write_all(found.missing.as_bytes())?;
    for name in &found.unsaid {
        writeln!(err, "{shown}: nobody says “{name}”; take it out")?;
    }
    for (name, what) in &found.ungiven {
        writeln!(err, "{shown}: “{name}” asks for {{ ${what} }}, which it is not given; it stays English")?;
    }
    if found.count > 0 {
        let messages = if found.count == 1 { "message is" } else { "messages are" };
        writeln!(err, "{shown}: {} {messages} missing", found.count)?;
    }
    let sound = found.count == 0 && found.unsaid.is_empty() && found.ungiven.is_empty();
    Ok(if sound { DONE } else { FINDINGS })
}
