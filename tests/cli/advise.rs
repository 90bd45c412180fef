//! `thirdpull advise` as a script would use it.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::io::{Cursor, Write};
use std::process::{Command, Stdio};

use serde_json::{Value, json};
use thirdpull::advisor::Settings;
use thirdpull::cli::advise::{run, run_as};

fn open() -> Value {
    json!({"open": {
        "bag": {"name": "Quarry Road", "roast": "medium", "process": "washed", "days_since_roast": 11},
        "gear": {"grind": {"min": 0, "max": 30, "step": 0.5, "finer": "lower", "um_per_unit": null},
                 "dose_g": {"min": 16, "max": 20, "step": 0.5}, "yield_g": {"min": 26, "max": 54, "step": 1},
                 "temperature_c": null, "pressure_bar": 9, "refractometer": false},
        "aim": {"recipe": {"grind": 15, "dose_g": 18, "yield_g": 36, "temperature_c": null}, "time_s": [22, 34]},
        "earlier": []}})
}

fn shot() -> Value {
    json!({"shot": {"grind": 15, "dose_g": 18, "yield_g": 36.2, "temperature_c": null, "time_s": 19.3,
                    "taste": {"sourness": 1, "liking": 4}}})
}

fn talk(lines: &[String]) -> Vec<Value> {
    let mut out = Vec::new();
    assert_eq!(run(Cursor::new(lines.join("\n").into_bytes()), &mut out), 0);
    String::from_utf8(out).unwrap().lines().map(|l| serde_json::from_str(l).unwrap()).collect()
}

#[test]
fn every_good_line_gets_whole_advice() {
    let answers = talk(&[open().to_string(), shot().to_string(), json!({"ask": {}}).to_string()]);
    assert_eq!(answers.len(), 3);
    for a in &answers {
        let a = &a["advice"];
        assert!(["adjust", "repeat", "settled"].contains(&a["status"].as_str().unwrap()));
        for part in ["time_s", "tds_pct", "extraction_pct", "liking"] {
            assert!(a["expect"][part]["p10"].as_f64().unwrap() <= a["expect"][part]["p90"].as_f64().unwrap());
        }
        assert!(a["best"]["recipe"]["grind"].is_number() && a["best"]["liking"]["p50"].is_number());
        assert!(a["recipe"]["temperature_c"].is_null());
        assert!(a["reasons"].as_array().is_some_and(|r| !r.is_empty()));
    }
    assert_eq!(answers[1], answers[2]);
    // Nothing of the protocol is missing, nothing unknown is added.
    let keys: Vec<&String> = answers[1]["advice"].as_object().unwrap().keys().collect();
    assert_eq!(keys, ["best", "chance_near_best", "changes", "expect", "reasons", "recipe", "status"]);
}

/// A bag may say what it held when full; then the pulls are counted.
#[test]
fn the_coffee_left_is_counted() {
    let mut told = open();
    told["open"]["bag"]["mass_g"] = json!(60);
    let lines = [told.to_string(), shot().to_string(), shot().to_string(), shot().to_string()];
    let said: Vec<Option<String>> = talk(&lines)
        .iter()
        .map(|answer| {
            let reasons = answer["advice"]["reasons"].as_array().unwrap();
            let found = reasons.iter().find(|reason| reason["id"] == "guard.last_coffee");
            found.map(|reason| reason["text"].as_str().unwrap().to_owned())
        })
        .collect();
    for (said, part) in said.iter().zip(["3 more pulls", "2 more pulls", "one more pull", "less coffee"]) {
        assert!(said.as_ref().is_some_and(|said| said.contains(part)), "{part}: {said:?}");
    }
    told["open"]["bag"]["mass_g"] = json!(-1);
    let answers = talk(&[told.to_string()]);
    assert_eq!(answers[0]["error"]["field"], "open.bag.mass_g", "{}", answers[0]);
}

/// A shot is taken to have been planned as advised: a gram that ran over is not carried on as if it had been wanted.
#[test]
fn a_gram_too_much_is_not_carried_on() {
    let mut over = shot();
    over["shot"]["yield_g"] = json!(37.4);
    over["shot"]["dose_g"] = json!(18.3);
    let answers = talk(&[open().to_string(), over.to_string()]);
    let (told, next) = (&answers[0]["advice"]["recipe"], &answers[1]["advice"]);
    assert_eq!(told["yield_g"], 36.0);
    let changes = next["changes"].as_array().unwrap();
    for what in ["grind", "dose_g", "yield_g"] {
        match changes.iter().find(|change| change["what"] == what) {
            Some(change) => assert_eq!(change["from"], told[what], "{next}"),
            None => assert_eq!(next["recipe"][what], told[what], "{next}"),
        }
    }
}

#[test]
fn bad_lines_are_named_and_change_nothing() {
    let with = |name: &str, value: Value| {
        let mut s = shot();
        s["shot"][name] = value;
        s.to_string()
    };
    let without = |name: &str| {
        let mut s = shot();
        s["shot"].as_object_mut().unwrap().remove(name);
        s.to_string()
    };
    let bad = [
        ("not json".to_owned(), ""),
        (r#"{"shot": {"grind": NaN}}"#.to_owned(), ""),
        ("[1, 2]".to_owned(), ""),
        (String::new(), ""),
        (r#"{"brew": {}}"#.to_owned(), "brew"),
        (with("yield_g", json!(360)), "shot.yield_g"),
        (with("dose_g", json!("18")), "shot.dose_g"),
        (with("dose_g", json!(-2)), "shot.dose_g"),
        (with("time_s", json!(27000)), "shot.time_s"),
        (with("time_s", json!(0)), "shot.time_s"),
        (with("tds_pct", json!(90)), "shot.tds_pct"),
        (with("grind", json!(1e7)), "shot.grind"),
        (with("colour", json!("brown")), "shot.colour"),
        (with("taste", json!({"sourness": 3})), "shot.taste.sourness"),
        (with("taste", json!({"liking": 4.5})), "shot.taste.liking"),
        (with("taste", json!({"fruit": 1})), "shot.taste.fruit"),
        (with("trace", json!({"t_s": [0, 1, 1], "flow_g_s": [0, 1, 2]})), "shot.trace.t_s"),
        (with("choked", json!("yes")), "shot.choked"),
        (without("dose_g"), "shot.dose_g"),
        (without("time_s"), "shot.time_s"),
        (with("first_drip_s", json!(19.4)), "shot.first_drip_s"),
        (r#"{"ask": {"why": 1}}"#.to_owned(), "ask.why"),
        (r#"{"shot": {"grind": 1e999}}"#.to_owned(), ""),
        ("[".repeat(100_000), ""),
    ];
    let mut lines = vec![shot().to_string(), open().to_string(), shot().to_string()];
    lines.extend(bad.iter().map(|(line, _)| line.clone()));
    lines.push(json!({"ask": {}}).to_string());
    let answers = talk(&lines);
    assert_eq!(answers.len(), lines.len());
    assert_eq!(answers[0]["error"]["field"], "shot");
    for (index, (line, field)) in bad.iter().enumerate() {
        let error = &answers[index + 3]["error"];
        assert_eq!(error["line"], index + 4, "{line}");
        assert_eq!(error["field"], *field, "{error}");
        assert!(error["message"].as_str().is_some_and(|m| !m.is_empty()));
    }
    assert_eq!(answers[2], answers[answers.len() - 1]);
}

#[test]
fn bad_gear_is_refused_and_long_lines_are_bounded() {
    let gear = |path: &[&str], value: Value| {
        let mut o = open();
        let mut at = &mut o["open"]["gear"];
        for p in path {
            at = &mut at[*p];
        }
        *at = value;
        o.to_string()
    };
    let long = format!("{{\"ask\": \"{}\"}}", "x".repeat(9 << 20));
    let answers = talk(&[
        gear(&["grind", "step"], json!(0)),
        gear(&["dose_g", "min"], json!(30)),
        gear(&["grind", "finer"], json!("up")),
        long,
        open().to_string(),
    ]);
    assert_eq!(answers[0]["error"]["field"], "open.gear.grind.step");
    assert_eq!(answers[1]["error"]["field"], "open.gear.dose_g.min");
    assert_eq!(answers[2]["error"]["field"], "open.gear.grind.finer");
    assert!(answers[3]["error"].is_object() && answers[4]["advice"].is_object());
}

#[test]
fn bytes_that_are_no_text_do_not_end_it() {
    let mut input = vec![0xff, 0xfe, 0x00, b'\n'];
    input.extend_from_slice(open().to_string().as_bytes());
    let mut out = Vec::new();
    assert_eq!(run(Cursor::new(input), &mut out), 0);
    let text = String::from_utf8(out).unwrap();
    let lines: Vec<Value> = text.lines().map(|l| serde_json::from_str(l).unwrap()).collect();
    assert!(lines[0]["error"].is_object() && lines[1]["advice"].is_object());
}

#[test]
fn the_program_itself_speaks_it() {
    let mut sour = shot();
    sour["shot"]["time_s"] = json!(27);
    sour["shot"]["taste"] = json!({"sourness": 2, "liking": 4});
    let moved = |options: &[&str]| -> usize {
        let mut child = Command::new(env!("CARGO_BIN_EXE_thirdpull"))
            .arg("advise")
            .args(options)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        writeln!(child.stdin.take().unwrap(), "{}\n{sour}", open()).unwrap();
        let out = child.wait_with_output().unwrap();
        assert!(out.status.success());
        let answers = String::from_utf8(out.stdout).unwrap();
        let answers: Vec<Value> = answers.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
        assert_eq!(answers.len(), 2);
        answers[1]["advice"]["changes"].as_array().unwrap().len()
    };
    assert!(moved(&[]) > 1);
    assert_eq!(moved(&["--one-lever"]), 1);
}

/// The protocol writes `temperature_c`|null: where the machine's can be set, leaving it out says nothing.
#[test]
fn a_settable_temperature_must_be_told() {
    let mut o = open();
    o["open"]["gear"]["temperature_c"] = json!({"min": 88, "max": 96, "step": 1});
    o["open"]["aim"]["recipe"]["temperature_c"] = json!(93);
    let mut untold = shot();
    untold["shot"].as_object_mut().unwrap().remove("temperature_c");
    let answers = talk(&[
        o.to_string(),
        untold.to_string(),
        shot().to_string(),
        open().to_string(),
        untold.to_string(),
    ]);
    assert_eq!(answers[1]["error"]["field"], "shot.temperature_c");
    assert!(answers[2]["advice"].is_object(), "null says that it is not known");
    assert!(answers[4]["advice"].is_object(), "where it cannot be set there is nothing to tell");
}

#[test]
fn a_line_that_is_no_json_is_placed_once() {
    let answers = talk(&["{\"ask\": }".to_owned()]);
    let message = answers[0]["error"]["message"].as_str().unwrap();
    assert!(message.starts_with("not JSON at column 9: ") && !message.contains("line"), "{message}");
}

#[test]
fn with_a_notebook_bags_and_pulls_are_kept() {
    let folder = tempfile::tempdir().unwrap();
    let place = folder.path().join("book");
    let mut traced = shot();
    traced["shot"]["trace"] = json!({"t_s": [0, 5, 10, 19], "weight_g": [0, 0, 12, 36]});
    let mut wrong = shot();
    wrong["shot"]["dose_g"] = json!(-1);
    let lines = [open(), shot(), wrong, traced, open(), shot()].map(|line| line.to_string()).join("\n");
    let run = |lines: &str| {
        let mut child = Command::new(env!("CARGO_BIN_EXE_thirdpull"))
            .args(["advise", "--notebook"])
            .arg(&place)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        child.stdin.take().unwrap().write_all(lines.as_bytes()).unwrap();
        child.wait_with_output().unwrap()
    };
    let out = run(&lines);
    assert_eq!(out.status.code(), Some(0), "{}", String::from_utf8_lossy(&out.stderr));
    assert!(out.stderr.is_empty(), "{}", String::from_utf8_lossy(&out.stderr));
    let answers: Vec<Value> =
        String::from_utf8(out.stdout).unwrap().lines().map(|l| serde_json::from_str(l).unwrap()).collect();
    // The same answers as without a notebook.
    assert_eq!(answers, talk(&lines.lines().map(str::to_owned).collect::<Vec<_>>()));
    // A second run goes on in the same notebook, on the same station.
    assert_eq!(run(&open().to_string()).status.code(), Some(0));
    let now = jiff::Timestamp::now();
    assert_eq!(thirdpull::store::check(&place, now), []);
    let opened = thirdpull::store::Folder::open(&place, now, &thirdpull::store::Holder::here()).unwrap();
    let notebook = &opened.notebook;
    assert_eq!((notebook.stations.len(), notebook.drinkers.len(), notebook.bags.len()), (1, 1, 3));
    let pulls: Vec<usize> = notebook.bags.iter().map(|bag| bag.live_pulls().count()).collect();
    assert_eq!(pulls, [2, 1, 0]);
    let traced = &notebook.bags[0].pulls[1];
    assert!(traced.has_trace && opened.folder.load_trace(traced.id).unwrap().is_some());
    assert_eq!((traced.used.yield_g, traced.time_s), (36.2, Some(19.3)));
    let advised = |answer: &Value| answer["advice"]["recipe"]["grind"].as_f64();
    assert_eq!(notebook.bags[0].pulls[0].plan.map(|plan| plan.grind), advised(&answers[0]));
    assert_eq!(traced.plan.map(|plan| plan.grind), advised(&answers[1]));
    assert_eq!(notebook.bags[0].start.grind, Some(15.0));
}

#[test]
fn a_notebook_that_cannot_be_written_is_said_before_anything_is_read() {
    let file = tempfile::NamedTempFile::new().unwrap();
    let out = Command::new(env!("CARGO_BIN_EXE_thirdpull"))
        .args(["advise", "--notebook"])
        .arg(file.path())
        .stdin(Stdio::null())
        .output()
        .unwrap();
    assert_eq!(out.status.code(), Some(2));
    assert!(out.stdout.is_empty() && !out.stderr.is_empty());
}

/// A trace sent along is read: a channel in it is named, and the same trace without the jump is not.
#[test]
fn a_trace_sent_along_is_read() {
    let with_flow = |jump: f64| {
        let t: Vec<f64> = (0..300).map(|i| f64::from(i) * 0.1).collect();
        let flow = |t: f64| if t < 5.0 { 0.0 } else { 1.5 + if t > 14.0 { jump } else { 0.0 } };
        let mut cup = 0.0;
        let weight: Vec<f64> = t
            .iter()
            .map(|t| {
                cup += 0.1 * flow(*t);
                cup
            })
            .collect();
        let pressure: Vec<f64> = t.iter().map(|t| (4.0 * t).min(9.0)).collect();
        let flow: Vec<f64> = t.iter().map(|t| flow(*t)).collect();
        let mut s = shot();
        s["shot"]["trace"] =
            json!({"t_s": t, "pressure_bar": pressure, "flow_g_s": flow, "weight_g": weight});
        let answers = talk(&[open().to_string(), s.to_string()]);
        answers[1]["advice"]["reasons"].as_array().unwrap().iter().any(|r| r["id"] == "guard.channel")
    };
    assert!(with_flow(1.5));
    assert!(!with_flow(0.0));
}

/// A person's own rule pack in the notebook's folder is heard; an unsound one is left out.
#[test]
fn a_persons_own_rules_are_heard() {
    let heard = |pack: &str| {
        let scratch = tempfile::tempdir().unwrap();
        let folder = scratch.path().join("notebook");
        // Nothing asked yet: this makes the notebook.
        let open_notebook = || thirdpull::cli::advise::Keep::open(&folder, jiff::Timestamp::now()).unwrap();
        assert_eq!(
            run_as(
                std::io::empty(),
                std::io::sink(),
                Settings::default(),
                Some(open_notebook()),
                std::io::sink()
            ),
            0
        );
        std::fs::write(folder.join("rules/mine.ron"), pack).unwrap();
        let lines = [open().to_string(), shot().to_string()].join("\n");
        let mut out = Vec::new();
        run_as(
            Cursor::new(lines.into_bytes()),
            &mut out,
            Settings::default(),
            Some(open_notebook()),
            std::io::sink(),
        );
        let last: Value =
            serde_json::from_str(String::from_utf8(out).unwrap().lines().last().unwrap()).unwrap();
        let reasons = last["advice"]["reasons"].as_array().unwrap().clone();
        reasons.iter().any(|r| r["text"].as_str().unwrap().contains("the house likes it slower"))
    };
    let pack = |strength: &str| {
        format!(
            "(format: 1, name: \"house\", rules: [(id: \"house_slow\", when: [Below(\"time_s\", 26)], \
             then: Finer(time_pct: 30), strength: {strength}, because: \"the house likes it slower\", \
             source: \"house rule\")])"
        )
    };
    assert!(heard(&pack("1.0")));
    assert!(!heard(&pack("7")));
}

/// Whoever pulls the recipe that they began with, in place of the one that was advised first, made no slip.
#[test]
fn a_first_pull_of_the_own_recipe_is_no_slip() {
    let mut told = open();
    told["open"]["aim"]["recipe"]["yield_g"] = json!(50);
    let first = &talk(&[told.to_string()])[0]["advice"];
    let advised_g = first["recipe"]["yield_g"].as_f64().unwrap();
    assert!(advised_g < 43.0, "another drink is advised: {first}");
    for (yield_g, slip) in [(50.0, false), (30.0, true)] {
        let own = json!({"shot": {"grind": 15, "dose_g": 18, "yield_g": yield_g, "temperature_c": null,
                                  "time_s": 27, "taste": {"liking": 8}}});
        let after = &talk(&[told.to_string(), own.to_string()])[1]["advice"];
        let missed =
            after["reasons"].as_array().unwrap().iter().any(|reason| reason["id"] == "guard.ran_past");
        assert_eq!(missed, slip, "{after}");
        let (status, next_g) =
            (after["status"].as_str().unwrap(), after["recipe"]["yield_g"].as_f64().unwrap());
        assert!(status != "repeat" || next_g == if slip { advised_g } else { yield_g }, "{after}");
    }
}

/// No object may have a field twice, a scale no step wider than itself; a request without fields names none.
#[test]
fn what_would_be_lost_or_stand_still_is_refused() {
    let one = r#""shot":{"grind":15,"dose_g":18,"yield_g":36,"temperature_c":null,"time_s":19}"#;
    let two = format!("{{{one},{one}}}");
    let inner =
        r#"{"shot":{"grind":15,"grind":9,"dose_g":18,"yield_g":36,"temperature_c":null,"time_s":19}}"#;
    let mut wide = open();
    wide["open"]["gear"]["grind"]["step"] = json!(50);
    let asked = json!({"ask": {"x": 1}}).to_string();
    let lines = [open().to_string(), two, inner.to_owned(), wide.to_string(), asked, shot().to_string()];
    let answers = talk(&lines);
    let said: Vec<&str> =
        answers.iter().map(|a| a["error"]["message"].as_str().unwrap_or_default()).collect();
    assert!(said[1].contains("shot is given twice") && said[2].contains("grind is given twice"), "{said:?}");
    assert!(said[3].contains("no wider than the range"), "{said:?}");
    assert_eq!(answers[3]["error"]["field"], "open.gear.grind.step");
    assert_eq!(said[4], "is no known field; none is known here");
    assert!(answers[5]["advice"].is_object());
    // One setting of any step is a scale that does not move; two settings make the narrowest that does.
    for (min, max) in [(15, 15), (15, 65)] {
        let grind = &mut wide["open"]["gear"]["grind"];
        (grind["min"], grind["max"]) = (json!(min), json!(max));
        assert!(talk(&[wide.to_string()])[0]["advice"].is_object());
    }
}
