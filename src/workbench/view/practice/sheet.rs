//! The worksheet of an exercise as a page that a browser prints, and the answers apart.

use crate::practice::class::{CAUTIONS, worksheet};
use crate::practice::{Exercise, Worksheet};

fn safe(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}

/// The worksheet of an exercise as a page for a browser to print; with `answers` the sheet for the teacher.
#[must_use]
pub fn worksheet_page(exercise: &Exercise, word: &str, answers: bool) -> String {
    let sheet: Worksheet = worksheet(exercise, word);
    let (title, lang) = (safe(&sheet.title), crate::words::current().tag());
    let part = if answers { word!("view-practice-sheet-answers") } else { "" };
    let blackboard = if sheet.word.is_empty() {
        String::new()
    } else {
        say!("view-practice-sheet-word-on-the-blackboard", safe = safe(&sheet.word))
    };
    let mut page = format!(
        "<!doctype html>\n<html lang=\"{lang}\"><head><meta charset=\"utf-8\"><title>{title}</title>\n<style>\
         body{{font:11pt/1.4 sans-serif;margin:18mm;color:#000}}h1{{font-size:18pt;margin:0}}\
         table{{border-collapse:collapse;width:100%;margin:6mm 0}}td,th{{border:1px solid #000;padding:2mm;\
         text-align:left;font-size:9pt}}td{{height:9mm}}.line{{border-bottom:1px solid #000;height:9mm}}\
         small{{font-size:9pt}}</style></head><body>\n<h1>{title}{part}</h1>\n<p>{}{blackboard}</p>\n<p>{}</p>\n",
        sheet.level,
        safe(&sheet.task)
    );
    if answers {
        let mut answers = sheet.answers.iter();
        page += "<ol>\n";
        for question in &sheet.questions {
            let answer = answers.next().map_or(String::new(), |answer| safe(answer));
            page += &format!("<li><p>{}</p><p><b>{answer}</b></p></li>\n", safe(question));
        }
        page += "</ol>\n";
        for rest in answers {
            page += &format!("<p>{}</p>\n", safe(rest));
        }
    } else {
        page += &format!(
            "<p>{} ______________________</p>\n<p>{}</p>\n<table><tr>",
            word!("view-practice-sheet-name"),
            say!("view-practice-sheet-begin-at", start = safe(&sheet.start))
        );
        for column in &sheet.columns {
            page += &format!("<th>{}</th>", safe(column));
        }
        page += "</tr>\n";
        for row in 1..=sheet.rows {
            page += &format!(
                "<tr><td>{row}</td>{}</tr>\n",
                "<td></td>".repeat(sheet.columns.len().saturating_sub(1))
            );
        }
        page += "</table>\n<ol>\n";
        for question in &sheet.questions {
            page +=
                &format!("<li>{}<div class=\"line\"></div><div class=\"line\"></div></li>\n", safe(question));
        }
        page += &format!(
            "</ol>\n<small><b>{}</b><ul>\n",
            word!("view-practice-sheet-before-anyone-goes-to-the-machine")
        );
        for caution in CAUTIONS {
            page += &format!("<li>{}</li>\n", safe(caution.word()));
        }
        page += "</ul></small>\n";
    }
    page += &format!(
        "<p><small>{}</small></p>\n</body></html>\n",
        word!("view-practice-sheet-simulated-local-rules-come-first")
    );
    page
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::practice::Pack;

    #[test]
    fn the_sheet_has_no_answers_and_the_other_one_has() {
        let pack = Pack::shipped();
        for (name, exercise) in &pack.exercises {
            let (sheet, answers) =
                (worksheet_page(exercise, "tern <7>", false), worksheet_page(exercise, "tern <7>", true));
            assert!(sheet.contains("tern &lt;7&gt;") && sheet.contains("scald"), "{name}");
            assert_eq!(sheet.matches("<tr>").count(), exercise.most_pulls + 1, "{name}");
            for question in &exercise.questions {
                let answer = safe(&question.answer);
                assert!(!sheet.contains(&answer) && answers.contains(&answer), "{name}");
            }
        }
    }
}
