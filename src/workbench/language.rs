//! The one file that a translator fills in, and what a file in the making still lacks.

use std::collections::BTreeMap;

use crate::words::{self, Catalogue, Damage, ENGLISH};
use crate::{practice, rules};

/// The sentences of the packs that come with the program, one group a kind of pack.
fn packs() -> [(&'static str, BTreeMap<String, String>); 2] {
    [("rules", rules::sentences()), ("practice", practice::sentences().clone())]
}

/// The whole file in English: the strings of the program, then the sentences of the packs that come with it.
#[must_use]
pub fn language_file() -> String {
    let mut text = ENGLISH.to_owned();
    for (group, sentences) in packs() {
        text.push_str(&format!("\n## assets/{group}\n\n"));
        for (id, sentence) in sentences {
            text.push_str(&words::written(&id, &sentence));
        }
    }
    text
}

/// How far a language's file has come.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Lacking {
    /// The part of the whole file that it lacks, in English; empty when it lacks nothing.
    pub missing: String,
    /// How many messages those are.
    pub count: usize,
    /// Names that it has and that nobody says.
    pub unsaid: Vec<String>,
    /// Messages that ask for something that is not given to them, with what they ask for; they would stay English.
    pub ungiven: Vec<(String, String)>,
}

/// Compares a language's file with the whole one.
///
/// # Errors
/// The first line that cannot be read.
pub fn lacking(tag: &str, text: &str) -> Result<Lacking, Damage> {
    let (theirs, whole) = (Catalogue::read(tag, text)?, language_file());
    let mut found = Lacking::default();
    let (mut heading, mut takes) = (None, false);
    let english = Catalogue::read("en", &whole)?;
    for line in whole.lines() {
        if line.starts_with("## ") {
            heading = Some(line);
        }
        if line.starts_with(|first: char| first.is_ascii_alphabetic())
            && let Some((id, _)) = line.split_once(" =")
        {
            takes = theirs.wants(id).is_none();
            found.count += usize::from(takes);
        } else if !line.starts_with(' ') {
            takes = false;
        }
        if takes {
            if let Some(group) = heading.take() {
                found.missing.push_str(&format!("{}{group}\n\n", if found.count > 1 { "\n" } else { "" }));
            }
            found.missing.push_str(line);
            found.missing.push('\n');
        }
    }
    for id in theirs.names() {
        match (english.wants(id), theirs.wants(id)) {
            (Some(given), Some(wanted)) => {
                found.ungiven.extend(wanted.difference(given).map(|what| (id.to_owned(), what.clone())));
            }
            _ => found.unsaid.push(id.to_owned()),
        }
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_whole_file_reads_back_and_lacks_nothing() {
        let whole = language_file();
        let read = Catalogue::read("en", &whole).expect("sound");
        for (_, sentences) in packs() {
            assert!(sentences.len() > 10);
            for (id, sentence) in sentences {
                assert_eq!(read.plain(&id), Some(sentence.as_str()), "{id}");
            }
        }
        assert_eq!(lacking("nl", &whole), Ok(Lacking::default()));
    }

    #[test]
    fn what_a_file_lacks_can_be_added_to_it_as_it_is() {
        let begun = "language-name = Nederlands\nunits-quantity-dose = dosis\nno-such-thing = niets\n";
        let found = lacking("nl", begun).expect("sound");
        assert_eq!(found.unsaid, ["no-such-thing"]);
        assert!(
            !found.missing.contains("\nunits-quantity-dose =")
                && found.missing.contains("\nunits-quantity-yield =")
        );
        let (now, all) = (format!("{begun}\n{}", found.missing), Catalogue::read("en", &language_file()));
        let rest = lacking("nl", &now).expect("sound");
        assert_eq!((rest.count, rest.missing.as_str()), (0, ""));
        assert_eq!(found.count + 2, all.expect("sound").names().count());
    }

    #[test]
    fn what_is_asked_for_and_not_given_is_named() {
        let text =
            "units-show-list-last = { $before } en { $lest }\ncontrol-verdict-in-10 = { NUMBER($m) }\n";
        let found = lacking("nl", text).expect("sound").ungiven;
        let named: Vec<_> = found.iter().map(|(id, what)| (id.as_str(), what.as_str())).collect();
        assert_eq!(named, [("control-verdict-in-10", "m"), ("units-show-list-last", "lest")]);
    }

    #[test]
    fn a_damaged_file_is_named_by_its_line() {
        assert_eq!(lacking("nl", "a = een\nb = { $\n").expect_err("damaged").line, 2);
    }
}
