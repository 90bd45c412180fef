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
    let title = safe(&sheet.title);
    let mut page = say!(
        "view-practice-sheet-doctype-html-html-lang-en-head",
        title = title,
        part = if answers { word!("view-practice-sheet-answers") } else { "" },
        level = sheet.level,
        part_2 = if sheet.word.is_empty() {
            String::new()
        } else {
            say!("view-practice-sheet-word-on-the-blackboard", safe = safe(&sheet.word))
        },
        safe = safe(&sheet.task)
    );
    if answers {
        let mut answers = sheet.answers.iter();
        page += "<ol>\n";
        for question in &sheet.questions {
            let answer = answers.next().map_or(String::new(), |answer| safe(answer));
            page += &say!("view-practice-sheet-li-p-p-p-b-b", safe = safe(question), answer = answer);
        }
        page += "</ol>\n";
        for rest in answers {
            page += &say!("view-practice-sheet-p-p", safe = safe(rest));
        }
    } else {
        page += &say!("view-practice-sheet-p-name-p-p-begin-at", safe = safe(&sheet.start));
        for column in &sheet.columns {
            page += &say!("view-practice-sheet-th-th", safe = safe(column));
        }
        page += "</tr>\n";
        for row in 1..=sheet.rows {
            page += &say!(
                "view-practice-sheet-tr-td-td-tr",
                row = row,
                repeat = "<td></td>".repeat(sheet.columns.len().saturating_sub(1))
            );
        }
        page += "</table>\n<ol>\n";
        for question in &sheet.questions {
            page += &say!("view-practice-sheet-li-div-class-line-div-div", safe = safe(question));
        }
        page += word!("view-practice-sheet-ol-small-b-before-anyone-goes");
        for caution in CAUTIONS {
            page += &say!("view-practice-sheet-li-li", safe = safe(caution));
        }
        page += "</ul></small>\n";
    }
    page += word!("view-practice-sheet-p-small-simulated-local-rules-and");
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
