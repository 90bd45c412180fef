//! The rule book: the pack that comes with the program is sound, and unsound packs are told so with their place.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use thirdpull::rules::{self, Facts};

#[test]
fn the_own_pack_and_its_worked_cases_hold() {
    let findings = rules::check(rules::OWN_PACK.0, rules::OWN_PACK.1, Some(rules::OWN_CASES));
    let shown: Vec<String> = findings.iter().map(ToString::to_string).collect();
    assert!(shown.is_empty(), "{}", shown.join("\n"));
    assert!(!rules::own_packs().is_empty());
}

#[test]
fn faults_are_named_with_line_column_and_what_to_do() {
    let torn = "(\n  format: 1,\n  name: \"x\",\n  rules: [ oops ],\n)";
    let found = rules::check("mine.ron", torn, None);
    assert_eq!((found[0].line, found[0].file.as_str()), (4, "mine.ron"));
    assert!(found[0].column > 1 && !found[0].todo.is_empty());

    let odd = r#"(format: 1, name: "x", rules: [
  (id: "a", when: [Above("sournes", 0.5)], then: Finer(time_pct: 10), strength: 0.5, because: "b", source: "s"),
  (id: "c", when: [Is("choked")], then: Finer(time_pct: 10), strength: 7, because: "b", source: ""),
  (id: "d", when: [Is("choked")], then: Coarser(time_pct: 10), strength: 0.5, because: "b", source: "s"),
])"#;
    let text: Vec<String> = rules::check("mine.ron", odd, None).iter().map(ToString::to_string).collect();
    let text = text.join("\n");
    assert!(text.contains("mine.ron:2:") && text.contains("unknown fact sournes"), "{text}");
    assert!(text.contains("strength 7") && text.contains("lacks a because or a source"), "{text}");
    assert!(text.contains("say the opposite"), "{text}");
}

#[test]
fn a_failing_case_is_found() {
    let cases =
        r#"(format: 1, cases: [(name: "wrong", facts: {"choked": 1}, fires: ["gusher"], first: "finer")])"#;
    let found = rules::check(rules::OWN_PACK.0, rules::OWN_PACK.1, Some(("c.ron", cases)));
    assert_eq!(found.len(), 2, "{found:?}");
}

#[test]
fn contradicting_rules_are_shown_and_the_silent_say_why() {
    let facts = Facts::from([("time_s", 38.0), ("bitterness", 1.0), ("strength", 1.0)]);
    let (fired, silent) = rules::evaluate(&rules::own_packs(), &facts);
    assert_eq!(fired[0].id, "slow_and_bitter");
    assert!(silent.iter().any(|s| s.id == "gusher" && s.why.contains("38")));
    let facts = Facts::from([("time_s", 27.0), ("in_time", 1.0), ("bitterness", 1.0), ("strength", 1.0)]);
    let (fired, _) = rules::evaluate(&rules::own_packs(), &facts);
    let weaker = fired.iter().find(|p| p.id == "bitter_in_time").unwrap();
    assert_eq!(weaker.overruled_by, ["strong"]);
}

/// What is overruled itself silences nobody, and what is as strong overrules nobody.
#[test]
fn an_overruled_rule_silences_nobody() {
    let rule = |id: &str, then: &str, strength: f64| {
        format!(
            "(id: \"{id}\", when: [Is(\"choked\")], then: {then}(time_pct: 10), strength: {strength}, because: \"b\", source: \"s\"),"
        )
    };
    let rules = [("a", "Finer", 0.9), ("b", "Coarser", 0.8), ("c", "Finer", 0.7), ("d", "Coarser", 0.9)];
    let rules: String = rules.iter().map(|(id, then, strength)| rule(id, then, *strength)).collect();
    let pack =
        rules::read_pack("mine.ron", &format!("(format: 1, name: \"mine\", rules: [{rules}])")).unwrap();
    let (fired, _) = rules::evaluate(&[pack], &Facts::from([("choked", 1.0)]));
    let by = |id: &str| fired.iter().find(|p| p.id == id).unwrap().overruled_by.join(" ");
    assert_eq!([by("a"), by("d"), by("b"), by("c")], ["", "", "a", "d"]);
}
