//! `thirdpull tasting`: blind tastings without a window: plans from a seed, and what counts and likings say.

use std::ffi::OsString;
use std::fmt::Write as _;
use std::io::Write;

use super::args::{Given, Usage};
use super::{DONE, FAILED, usage};
use crate::sensory::discrimination::{Method, exact_range};
use crate::sensory::likings::paired;
use crate::sensory::plan::{Serving, discrimination_plan, ranking_plan};

const HELP: &str = "\
thirdpull tasting – plan a blind tasting, and judge what came of it

USAGE
  thirdpull tasting plan METHOD --tasters N [--sets N] [--samples N] [--seed N] > plan.csv
  thirdpull tasting judge METHOD RIGHT ANSWERS
  thirdpull tasting likings A1,A2,… B1,B2,…

plan     who gets which cup under which code in which order, all orders equally often: one cup a row, for
         the one who serves; the tasters see the codes alone
judge    whether RIGHT of ANSWERS is more than guessing; for “paired” RIGHT is how often A was chosen
likings  two coffees liked by the same tasters, the first number of each list by the first taster

METHODS
  triangle          three cups, two alike: pick the odd one
  duo-trio          an open reference, then two cups: pick its match
  paired            two cups: which is preferred, either way
  paired-one-sided  two cups: which has more of something, A expected beforehand
  ranking           several cups, ranked or rated (plan only)

OPTIONS
  --tasters N   1–200
  --sets N      sets for each taster, 1–20 (default 1); more than 3 tire the tongue (common practice)
  --samples N   coffees of a ranking, 2–8 (default 3)
  --seed N      the same seed gives the same plan (default 1)
  -h, --help    this page

A row of a plan: taster, set, place in which the cup is served, code under the cup, sample (A, B …), and 1
for the right answer: the odd cup, the match, or the cup of A. The reference of a duo-trio comes first.
Let hot cups cool, sip and spit: six doubles swallowed are more caffeine than a day should hold.
Exit codes: 0 done; 2 could not do it.
";

/// Runs the command.
///
/// # Errors
/// Only when `out` or `err` cannot be written.
pub fn run(args: Vec<OsString>, out: &mut dyn Write, err: &mut dyn Write) -> std::io::Result<u8> {
    let given = match Given::read(args, &["tasters", "sets", "samples", "seed"], &[]) {
        Ok(given) => given,
        Err(Usage(why)) => return usage(err, &why),
    };
    if given.help {
        out.write_all(HELP.as_bytes())?;
        return Ok(DONE);
    }
    match told(&given) {
        Ok(text) => {
            out.write_all(text.as_bytes())?;
            Ok(DONE)
        }
        Err(why) => {
            writeln!(err, "thirdpull tasting: {why}; “thirdpull tasting --help” explains")?;
            Ok(FAILED)
        }
    }
}

fn told(given: &Given) -> Result<String, String> {
    if given.place.notebook.is_some() {
        return Err("it takes no notebook".to_owned());
    }
    let words: Vec<String> = given.free.iter().map(|word| word.to_string_lossy().into_owned()).collect();
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    if let (Some((name, _)), false) = (given.values.first(), words.first() == Some(&"plan")) {
        return Err(format!("--{name} belongs to a plan"));
    }
    match words.as_slice() {
        ["plan", name] => plan(name, given),
        ["judge", name, right, answers] => {
            judge(name, whole("RIGHT", right, 0, MOST)?, whole("ANSWERS", answers, 1, MOST)?)
        }
        ["likings", a, b] => likings(&list(a)?, &list(b)?),
        ["plan" | "judge" | "likings", ..] => Err("something is missing, or too much".to_owned()),
        _ => Err("say what: plan, judge or likings".to_owned()),
    }
}

/// Most answers that are judged.
const MOST: u32 = 10_000;

/// The methods of which answers are right or wrong.
const METHODS: [(&str, Method); 4] = [
    ("triangle", Method::Triangle),
    ("duo-trio", Method::DuoTrio),
    ("paired", Method::PairedTwoSided),
    ("paired-one-sided", Method::PairedOneSided),
];

fn method(name: &str) -> Option<Method> {
    METHODS.iter().find(|(known, _)| *known == name).map(|(_, method)| *method)
}

fn unknown(name: &str, also: &str) -> String {
    format!("there is no method “{name}”; known are {}{also}", METHODS.map(|(name, _)| name).join(", "))
}

fn whole(what: &str, text: &str, least: u32, most: u32) -> Result<u32, String> {
    let read = text.trim().parse::<u32>().ok().filter(|n| (least..=most).contains(n));
    read.ok_or_else(|| format!("{what} must be a whole number from {least} to {most}, not “{text}”"))
}

fn option(given: &Given, name: &str, usual: Option<u32>, least: u32, most: u32) -> Result<u32, String> {
    match (given.value(name), usual) {
        (Some(text), _) => whole(&format!("--{name}"), &text.to_string_lossy(), least, most),
        (None, Some(usual)) => Ok(usual),
        (None, None) => Err(format!("--{name} is missing")),
    }
}

/// "A", "B" … of a sample.
fn letter(sample: usize) -> char {
    u8::try_from(sample).ok().and_then(|n| b'A'.checked_add(n)).map_or('?', char::from)
}

fn plan(name: &str, given: &Given) -> Result<String, String> {
    let tasters = option(given, "tasters", None, 1, 200)? as usize;
    let sets = option(given, "sets", Some(1), 1, 20)? as usize;
    let samples = option(given, "samples", Some(3), 2, 8)? as usize;
    let seed = u64::from(option(given, "seed", Some(1), 0, u32::MAX)?);
    let plan: Vec<Serving> = match method(name) {
        Some(_) if given.value("samples").is_some() => {
            return Err("--samples belongs to a ranking; the other methods compare two".to_owned());
        }
        Some(method) => discrimination_plan(method, tasters, sets, seed),
        None if name == "ranking" && sets > 1 => {
            return Err("a ranking has one set for each taster".to_owned());
        }
        None if name == "ranking" => ranking_plan(samples, tasters, seed),
        None => return Err(unknown(name, ", ranking")),
    };
    let mut text = String::from("taster,set,place,code,sample,right\n");
    for one in &plan {
        for (place, (sample, code)) in one.order.iter().zip(&one.codes).enumerate() {
            let right = one.right.map_or(String::new(), |at| u8::from(at == place).to_string());
            // Writing to memory cannot fail.
            let _written = writeln!(
                text,
                "{},{},{},{code},{},{right}",
                one.taster + 1,
                one.set + 1,
                place + 1,
                letter(*sample)
            );
        }
    }
    Ok(text)
}

/// A probability in figures.
fn probability(p: f64) -> String {
    if p < 0.0001 { "below 0.0001".to_owned() } else { format!("{p:.4}") }
}

fn percent((share, (low, high)): (f64, (f64, f64))) -> String {
    format!("{:.0} % (95 %: {:.0}–{:.0} %)", share * 100.0, low * 100.0, high * 100.0)
}

fn judge(name: &str, right: u32, answers: u32) -> Result<String, String> {
    let method = method(name).ok_or_else(|| unknown(name, ""))?;
    if right > answers {
        return Err(format!("{right} of {answers} cannot be right"));
    }
    let p = method.p_value(right, answers);
    let either = method == Method::PairedTwoSided;
    let most = right.max(answers - right);
    let counted = if either { "A was chosen" } else { "right" };
    let mut text = format!(
        "{name}: {right} of {answers} {counted}; {:.1} by guessing\n",
        f64::from(answers) * method.chance()
    );
    let as_far = if either { "so far from half, either way," } else { "so many or more" };
    text += &format!("Probability of {as_far} by guessing alone: {}\n", probability(p));
    text += &match method.critical(answers, 0.05) {
        Some(least) if either && most >= least => "Different at 5 %.\n".to_owned(),
        Some(least) if !either && right >= least => "More than guessing at 5 %.\n".to_owned(),
        Some(least) => format!("Not more than guessing at 5 %: that takes {least} of {answers}.\n"),
        None => "So few answers cannot tell anything at 5 %.\n".to_owned(),
    };
    if either {
        let share = f64::from(right) / f64::from(answers);
        text += &format!("A is chosen by {}\n", percent((share, exact_range(right, answers, 0.95))));
    } else if let Some(found) = method.can_tell(right, answers, 0.95) {
        text += &format!("Can truly tell: {}\n", percent(found));
    }
    Ok(text)
}

fn list(text: &str) -> Result<Vec<f64>, String> {
    let read = |one: &str| {
        let number = one.trim().parse::<f64>().ok().filter(|v| v.is_finite() && v.abs() <= 1000.0);
        number.ok_or_else(|| format!("“{one}” is no liking; a list is numbers with commas between: 6,7,5.5"))
    };
    text.split(',').map(read).collect()
}

fn likings(a: &[f64], b: &[f64]) -> Result<String, String> {
    if a.len() != b.len() {
        return Err(format!(
            "{} tasters liked A and {} liked B; give a number of each for both",
            a.len(),
            b.len()
        ));
    }
    let found = paired(a, b).ok_or("from 2 to 400 tasters are needed")?;
    let mut text = format!("{} tasters; A is liked better by {:+.2} in the mean\n", found.n, found.mean);
    text += &match found.student {
        Some(student) => format!(
            "Student's t {:.2}, probability {}; 95 %: {:+.2} to {:+.2}\n",
            student.t,
            probability(student.p),
            student.range95.0,
            student.range95.1
        ),
        None => "All differences are alike: Student's t has no spread to go by\n".to_owned(),
    };
    text += &format!("Signed ranks, exact probability: {}\n", probability(found.signed_rank_p));
    if found.sign_flip_p.is_finite() {
        text += &format!("Signs flipped at random, exact probability: {}\n", probability(found.sign_flip_p));
    }
    Ok(text)
}
