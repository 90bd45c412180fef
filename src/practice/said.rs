//! The sentences of the packs that ship, as messages: English stands in the packs, and a language may say them its way.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use super::pack::Pack;
use super::study::Claim;
use crate::words;

/// Sentences by the names of their messages.
static SHIPPED: LazyLock<BTreeMap<String, String>> = LazyLock::new(|| {
    let mut found = BTreeMap::new();
    each(&mut Pack::shipped(), &mut |id, text| drop(found.insert(id, text.clone())));
    found
});

/// Every sentence of the packs that ship, in English, by the name of its message.
#[must_use]
pub fn sentences() -> &'static BTreeMap<String, String> {
    &SHIPPED
}

impl Pack {
    /// The pack in the language in use. Sentences that a teacher wrote, and what the language lacks, stand as they are.
    #[must_use]
    pub fn said(mut self) -> Self {
        each(&mut self, &mut |id, text| {
            if SHIPPED.get(&id) == Some(text)
                && let Some(said) = words::found(&id)
            {
                said.clone_into(text);
            }
        });
        self
    }
}

/// What a message is called and what it says.
type See<'a> = dyn FnMut(String, &mut String) + 'a;

/// Shows each sentence of a pack with the name of its message. Sources, and the names by which files refer to each
/// other, are no sentences.
fn each(pack: &mut Pack, see: &mut See<'_>) {
    for (name, coffee) in &mut pack.coffees {
        one(see, &["coffee", name, "name"], &mut coffee.name);
        one(see, &["coffee", name, "about"], &mut coffee.about);
    }
    for (name, palate) in &mut pack.drinkers {
        one(see, &["drinker", name, "name"], &mut palate.name);
    }
    for (name, station) in &mut pack.stations {
        one(see, &["station", name, "name"], &mut station.name);
        one(see, &["station", name, "grinder"], &mut station.grinder.name);
    }
    for (name, exercise) in &mut pack.exercises {
        one(see, &["exercise", name, "title"], &mut exercise.title);
        one(see, &["exercise", name, "task"], &mut exercise.task);
        many(see, &["exercise", name, "hint"], &mut exercise.hints);
        for (at, question) in (1..).zip(&mut exercise.questions) {
            one(see, &["exercise", name, "question", &format!("{at}")], &mut question.ask);
            one(see, &["exercise", name, "question", &format!("{at}"), "answer"], &mut question.answer);
        }
        one(see, &["exercise", name, "answer"], &mut exercise.answer);
    }
    for (name, study) in &mut pack.studies {
        one(see, &["study", name, "title"], &mut study.title);
        one(see, &["study", name, "question"], &mut study.question);
        for (at, arm) in (1..).zip(&mut study.arms) {
            let before = arm.name.clone();
            one(see, &["study", name, "arm", &format!("{at}")], &mut arm.name);
            // What claims call it.
            for claim in &mut study.claims {
                if let Claim::More(_, a, b, _) | Claim::Alike(_, a, b, _) = claim {
                    [a, b].into_iter().filter(|called| **called == before).for_each(|called| {
                        called.clone_from(&arm.name);
                    });
                }
            }
        }
        for (at, measured) in (1..).zip(&mut study.measured) {
            one(see, &["study", name, "measured", &format!("{at}")], &mut measured.what);
            one(see, &["study", name, "under", &format!("{at}")], &mut measured.under);
        }
        many(see, &["study", name, "unknown"], &mut study.unknown);
        many(see, &["study", name, "ask"], &mut study.ask);
    }
}

fn one(see: &mut See<'_>, parts: &[&str], text: &mut String) {
    if !text.trim().is_empty() {
        see(words::id_of(parts), text);
    }
}

fn many(see: &mut See<'_>, parts: &[&str], texts: &mut [String]) {
    for (at, text) in (1..).zip(texts) {
        see(words::id_of(&[parts, &[&format!("{at}")]].concat()), text);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::words::{Catalogue, put_for_thread};

    #[test]
    fn a_language_says_what_ships_and_leaves_what_a_teacher_wrote() {
        let text = "study-hot-or-cool-title = Heet of koel?\nstudy-hot-or-cool-arm-1 = vlak 92\n\
                    study-hot-or-cool-question = Wanneer heet?\n";
        let dutch = Box::leak(Box::new(Catalogue::read("nl", text).expect("sound")));
        let mut own = Pack::shipped();
        own.studies.get_mut("hot-or-cool").expect("ships").question = "Mine?".to_owned();
        put_for_thread(Some(dutch));
        let said = own.said();
        put_for_thread(None);
        let study = &said.studies["hot-or-cool"];
        assert_eq!(study.title, "Heet of koel?");
        assert_eq!(study.question, "Mine?");
        assert_eq!(study.arms[0].name, "vlak 92");
        assert_eq!(said.coffees, Pack::shipped().coffees);
    }

    #[test]
    fn claims_follow_the_names_of_what_they_are_about() {
        put_for_thread(Some(crate::words::made_up_of(
            &sentences().iter().map(|(id, text)| format!("{id} = {text}\n")).collect::<String>(),
        )));
        let said = Pack::shipped().said();
        put_for_thread(None);
        let mut claims = 0;
        for study in said.studies.values() {
            for claim in &study.claims {
                if let Claim::More(_, a, b, _) | Claim::Alike(_, a, b, _) = claim {
                    claims += 1;
                    for called in [a, b] {
                        assert!(
                            called.contains('⟦') && study.arms.iter().any(|arm| arm.name == *called),
                            "{called}"
                        );
                    }
                }
            }
        }
        assert!(claims > 5, "{claims}");
    }
}
