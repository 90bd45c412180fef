//! Blind tastings on the command line.

use std::collections::BTreeMap;
use std::process::Command;

fn run(args: &[&str]) -> (Option<i32>, String, String) {
    let run = Command::new(env!("CARGO_BIN_EXE_thirdpull"))
        .arg("tasting")
        .args(args)
        .env("THIRDPULL_NOTEBOOK", "/nowhere/at/all")
        .output()
        .expect("the program starts");
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).expect("UTF-8");
    (run.status.code(), text(run.stdout), text(run.stderr))
}

fn told(args: &[&str]) -> String {
    let (code, out, err) = run(args);
    assert_eq!((code, err.as_str()), (Some(0), ""), "{args:?}");
    out
}

#[test]
fn a_plan_serves_every_order_equally_often_and_again_from_its_seed() {
    let args = ["plan", "triangle", "--tasters", "6", "--sets", "2", "--seed", "9"];
    let plan = told(&args);
    assert_eq!(plan, told(&args));
    assert_ne!(plan, told(&["plan", "triangle", "--tasters", "6", "--sets", "2", "--seed", "10"]));
    let mut sets: BTreeMap<(String, String), Vec<Vec<String>>> = BTreeMap::new();
    for row in plan.lines().skip(1) {
        let cells: Vec<String> = row.split(',').map(str::to_owned).collect();
        assert_eq!(cells.len(), 6, "{row}");
        sets.entry((cells[0].clone(), cells[1].clone())).or_default().push(cells);
    }
    assert_eq!(sets.len(), 12, "six tasters, two sets each");
    let mut orders: BTreeMap<String, u32> = BTreeMap::new();
    for cups in sets.values() {
        let order: String = cups.iter().map(|cup| cup[4].as_str()).collect();
        // The odd cup is the one that is marked.
        let odd = if order.matches('A').count() == 1 { "A" } else { "B" };
        assert!(cups.len() == 3 && cups.iter().all(|cup| (cup[5] == "1") == (cup[4] == odd)), "{cups:?}");
        let mut codes: Vec<&String> = cups.iter().map(|cup| &cup[3]).collect();
        codes.dedup();
        assert!(codes.len() == 3 && codes.iter().all(|code| code.len() == 3), "{codes:?}");
        *orders.entry(order).or_default() += 1;
    }
    assert!(orders.len() == 6 && orders.values().all(|n| *n == 2), "{orders:?}");
    let ranking = told(&["plan", "ranking", "--tasters", "4", "--samples", "4"]);
    assert_eq!(ranking.lines().count(), 1 + 16);
}

/// Worked out by hand: five right triangles of six have probability (6 · 2 + 1) / 729; of eight pairs all one way have 2 / 256.
#[test]
fn counts_and_likings_are_judged() {
    let triangle = told(&["judge", "triangle", "5", "6"]);
    assert!(
        triangle.contains("guessing alone: 0.0178") && triangle.contains("More than guessing"),
        "{triangle}"
    );
    let few = told(&["judge", "triangle", "4", "6"]);
    assert!(few.contains("that takes 5 of 6"), "{few}");
    for right in ["8", "0"] {
        let pair = told(&["judge", "paired", right, "8"]);
        assert!(pair.contains("guessing alone: 0.0078") && pair.contains("Different at 5 %"), "{pair}");
    }
    let one = told(&["judge", "duo-trio", "1", "1"]);
    assert!(one.contains("cannot tell anything"), "{one}");
    let likings = told(&["likings", "6,7", "5,6"]);
    assert!(likings.contains("+1.00 in the mean") && likings.contains("no spread"), "{likings}");
    assert!(likings.contains("at random, exact probability: 0.5000"), "{likings}");
    let spread = told(&["likings", "6,7,8", "5,6.5,6"]);
    assert!(spread.contains("Student's t 2.65"), "{spread}");
}

#[test]
fn what_is_not_understood_is_told() {
    for (args, said) in [
        (&[][..], "say what"),
        (&["dance"], "say what"),
        (&["plan", "triangle"], "--tasters is missing"),
        (&["plan", "triangle", "--tasters", "0"], "from 1 to 200"),
        (&["plan", "square", "--tasters", "3"], "known are triangle"),
        (&["plan", "paired", "--tasters", "3", "--samples", "4"], "belongs to a ranking"),
        (&["plan", "ranking", "--tasters", "3", "--sets", "2"], "one set"),
        (&["judge", "triangle", "7", "6"], "cannot be right"),
        (&["judge", "triangle", "7"], "missing"),
        (&["judge", "triangle", "-1", "6"], "-1"),
        (&["judge", "ranking", "1", "6"], "no method “ranking”"),
        (&["judge", "triangle", "1", "6", "--seed", "3"], "--seed belongs to a plan"),
        (&["likings", "6,7", "5"], "2 tasters liked A and 1 liked B"),
        (&["likings", "6,x", "5,6"], "“x” is no liking"),
        (&["likings", "6", "5"], "2 to 400"),
        (&["--notebook", "/nowhere", "judge", "triangle", "5", "6"], "no notebook"),
    ] {
        let (code, out, err) = run(args);
        assert!(code == Some(2) && out.is_empty() && err.contains(said), "{args:?}: {code:?} {out} {err}");
    }
}
