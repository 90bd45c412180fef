//! The trade's knowledge as data: packs of rules over named facts, worked cases that test them, and an evaluation that
//! says what fired, what did not and why, and where rules contradict each other. Rules see facts, never records.

mod pack;

use std::collections::BTreeMap;
use std::sync::{Arc, LazyLock};

use crate::words;

pub use pack::{Action, Cases, Condition, FACTS, Finding, Pack, Rule, WorkedCase, opposite};

/// Named numbers that rules look at; a fact that is not known is absent.
pub type Facts = BTreeMap<&'static str, f64>;

/// The pack that comes with the program: file name and text.
pub const OWN_PACK: (&str, &str) = ("barista.ron", include_str!("../../assets/rules/barista.ron"));
/// Its worked cases.
pub const OWN_CASES: (&str, &str) =
    ("cases/barista.ron", include_str!("../../assets/rules/cases/barista.ron"));

/// Facts that are about no pull of its own.
const OF_NO_PULL: [&str; 5] = ["pulls", "pulls_today", "cups_today", "days_since_roast", "darkness"];

/// What a rule proposes.
#[derive(Debug, Clone, PartialEq)]
pub struct Proposal {
    /// The rule's id.
    pub id: String,
    /// What to do.
    pub action: Action,
    /// How much it is believed.
    pub strength: f64,
    /// Why.
    pub because: String,
    /// Where it comes from.
    pub source: String,
    /// Whether it rests on something about the last pull, and not on the bag or the number of pulls alone.
    pub of_a_pull: bool,
    /// Ids of stronger rules that say the opposite.
    pub overruled_by: Vec<String>,
}

/// Why a rule did not fire: the condition that failed or forbade it.
#[derive(Debug, Clone, PartialEq)]
pub struct Silence {
    /// The rule's id.
    pub id: String,
    /// A plain sentence.
    pub why: String,
}

/// Reads a pack.
///
/// # Errors
/// The first fault, with file, line, column and what to do.
pub fn read_pack(file: &str, text: &str) -> Result<Pack, Finding> {
    pack::read(file, text)
}

/// Checks a pack and its worked cases; empty means sound. `cases` may be absent for a person's own pack.
#[must_use]
pub fn check(file: &str, text: &str, cases: Option<(&str, &str)>) -> Vec<Finding> {
    let pack: Pack = match pack::read(file, text) {
        Ok(pack) => pack,
        Err(finding) => return vec![finding],
    };
    let mut out = pack.faults(file, text);
    let Some((case_file, case_text)) = cases else { return out };
    let cases: Cases = match pack::read(case_file, case_text) {
        Ok(cases) => cases,
        Err(finding) => {
            out.push(finding);
            return out;
        }
    };
    if cases.format != 1 {
        let (line, column) = pack::place(case_text, "format");
        out.push(Finding {
            file: case_file.to_owned(),
            line,
            column,
            what: say!("rules-pack-format", format = cases.format),
            todo: word!("rules-pack-todo-format").to_owned(),
        });
    }
    for case in &cases.cases {
        let mut fail = |what: String| {
            let (line, column) = pack::place(case_text, &case.name);
            out.push(Finding {
                file: case_file.to_owned(),
                line,
                column,
                what,
                todo: word!("rules-todo-case").to_owned(),
            });
        };
        let mut facts = Facts::new();
        for (name, value) in &case.facts {
            match FACTS.iter().find(|known| *known == name) {
                Some(known) => {
                    facts.insert(known, *value);
                }
                None => fail(say!("rules-case-fact", case = case.name, fact = name)),
            }
        }
        let (proposals, _) = evaluate(std::slice::from_ref(&pack), &facts);
        for id in &case.fires {
            if !proposals.iter().any(|p| p.id == *id) {
                fail(say!("rules-case-silent", case = case.name, rule = id));
            }
        }
        let first = proposals.first().map_or("nothing", |p| p.action.word());
        if first != case.first {
            fail(say!("rules-case-first", case = case.name, is = first, wanted = case.first));
        }
    }
    out
}

fn holds(condition: &Condition, facts: &Facts) -> bool {
    match condition {
        Condition::Above(fact, limit) => facts.get(fact.as_str()).is_some_and(|v| v > limit),
        Condition::Below(fact, limit) => facts.get(fact.as_str()).is_some_and(|v| v < limit),
        Condition::Is(fact) => facts.get(fact.as_str()).is_some_and(|v| *v != 0.0),
    }
}

/// Every sentence of the program's own rules, in English, by the name of its message.
#[must_use]
pub fn sentences() -> BTreeMap<String, String> {
    OWN.iter().flat_map(|pack| &pack.rules).map(|rule| (message(rule), rule.because.clone())).collect()
}

fn message(rule: &Rule) -> String {
    words::id_of(&["rule", &rule.id, "because"])
}

/// Why a rule says what it says: one of the program's own in the language in use, a person's as it is written.
fn because(rule: &Rule) -> &str {
    let ours = |own: &Rule| own.id == rule.id && own.because == rule.because;
    let said = OWN.iter().flat_map(|pack| &pack.rules).any(ours).then(|| words::found(&message(rule)));
    said.flatten().unwrap_or(&rule.because)
}

/// What the packs propose under these facts, strongest first (then in pack order), and why the others are silent.
#[must_use]
pub fn evaluate(packs: &[Pack], facts: &Facts) -> (Vec<Proposal>, Vec<Silence>) {
    let mut fired: Vec<Proposal> = Vec::new();
    let mut silent = Vec::new();
    for rule in packs.iter().flat_map(|p| &p.rules) {
        let missing = rule.when.iter().find(|c| !holds(c, facts));
        let forbidding = rule.unless.iter().find(|c| holds(c, facts));
        match (missing, forbidding) {
            (None, None) => fired.push(Proposal {
                id: rule.id.clone(),
                action: rule.then,
                strength: rule.strength,
                because: because(rule).to_owned(),
                source: rule.source.clone(),
                of_a_pull: rule.when.iter().any(|condition| !OF_NO_PULL.contains(&condition.fact())),
                overruled_by: Vec::new(),
            }),
            (Some(c), _) => silent.push(Silence {
                id: rule.id.clone(),
                why: match facts.get(c.fact()) {
                    Some(v) => say!("rules-fact-is", fact = c.fact(), value = v),
                    None => say!("rules-fact-unknown", fact = c.fact()),
                },
            }),
            (None, Some(c)) => {
                silent
                    .push(Silence { id: rule.id.clone(), why: say!("rules-fact-against", fact = c.fact()) });
            }
        }
    }
    fired.sort_by(|a, b| b.strength.total_cmp(&a.strength));
    // What is overruled itself silences nobody.
    let mut standing: Vec<Proposal> = Vec::new();
    for one in &mut fired {
        let against = standing.iter().filter(|other| other.strength > one.strength);
        let against = against.filter(|other| opposite(&other.action, &one.action));
        one.overruled_by = against.map(|other| other.id.clone()).collect();
        if one.overruled_by.is_empty() {
            standing.push(one.clone());
        }
    }
    (fired, silent)
}

/// Rule packs as they are asked, shared by all who ask.
pub type Packs = Arc<[Pack]>;

static OWN: LazyLock<Packs> = LazyLock::new(|| read_pack(OWN_PACK.0, OWN_PACK.1).into_iter().collect());

/// The pack that comes with the program. Its text is tested; should it not read, there are no rules.
#[must_use]
pub fn own_packs() -> Packs {
    Arc::clone(&OWN)
}

/// The program's own pack followed by a person's.
#[must_use]
pub fn with_own(mut persons: Vec<Pack>) -> Packs {
    let mut all: Vec<Pack> = OWN.to_vec();
    all.append(&mut persons);
    all.into()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::words::{Catalogue, put_for_thread};

    #[test]
    fn a_language_says_our_rules_and_leaves_a_persons_own() {
        assert!(sentences().len() == OWN.iter().map(|pack| pack.rules.len()).sum::<usize>());
        let text = sentences().keys().map(|id| format!("{id} = anders\n")).collect::<String>();
        let dutch = Box::leak(Box::new(Catalogue::read("nl", &text).expect("sound")));
        let mut own = OWN.to_vec();
        own.iter_mut().flat_map(|pack| &mut pack.rules).for_each(|rule| rule.because.push_str(", says Mo"));
        let facts = Facts::from([("choked", 1.0)]);
        put_for_thread(Some(dutch));
        let (ours, _) = evaluate(&own_packs(), &facts);
        let (theirs, _) = evaluate(&own, &facts);
        put_for_thread(None);
        assert!(!ours.is_empty() && ours.iter().all(|one| one.because == "anders"));
        assert!(!theirs.is_empty() && theirs.iter().all(|one| one.because.ends_with(", says Mo")));
    }
}
