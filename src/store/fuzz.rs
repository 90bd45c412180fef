//! Readers fed with damaged and hostile text. What is read must be written and read again as the same; nothing may
//! panic or grow without bound. Twenty thousand inputs in an ordinary run; `THIRDPULL_FUZZ=10000000` for more, with
//! `THIRDPULL_FUZZ_SEED` for other ones.

use std::path::Path;

use rand_core::{Rng, SeedableRng};
use rand_pcg::Pcg64Mcg;

use super::archive::{Packer, unpack_bytes};
use super::locate::{Step, locate};
use super::read::parse;
use super::text::{DiskValue, Ron};
use super::{journal, packet, v1};

const PULL: &str = r#"(id: "01a0c450-96f8-7000-8000-000000000065", made: "2026-09-21T14:15:41Z", changed: "2026-09-21T14:15:41.5Z", pulled_at: "2026-09-21T14:15:41Z", station: "01a0c44f-0000-7000-8000-000000000001", plan: (grind: 14.0, dose_g: 18, yield_g: 4.0e1, temperature_c: None), used: (grind: -1, dose_g: 18.1, yield_g: 39.8), time_s: Some(27.4), taste: (sourness: 1, body: -2, liking: 6), spurting: true, note: "é \u{1f600} \"x\" //", moon: full("a", 1), has_trace: true)"#;

fn seeds() -> Vec<String> {
    let bag = format!(
        r##"// head
(format: 1, id: "01a0c450-96f8-7000-8000-00000000000a", made: "2026-09-21T14:15:41Z", changed: "2026-09-21T14:15:41Z",
 name: r#"raw "name""#, roast: medium_light, roasted_on: "2026-09-01", price: (amount: 12.5, currency: "EUR"),
 station: "01a0c44f-0000-7000-8000-000000000001", drinker: "01a0c44f-0000-7000-8000-000000000002",
 start: (dose_g: 18, yield_g: 36), time_window: (from_s: 25, to_s: 31), /* a /* nested */ note */
 keeper: (recipe: (grind: 1, dose_g: 18, yield_g: 36), kept_at: "2026-09-21T14:15:41Z"), pulls: [{PULL},], extra: {{"a": [1, 2]}})
"##
    );
    let station = r#"(format: 1, id: "01a0c44f-0000-7000-8000-000000000001", made: "2026-09-21T14:15:41Z", changed: "2026-09-21T14:15:41Z", name: "Bar", grinder: (min: 0, max: 30, step: 0.5, finer: lower), machine: (temperature_c: (min: 88, max: 96, step: 1)), basket: (diameter_mm: 58, stated_dose_g: 18), dose_g: (min: 16, max: 20, step: 0.1), yield_g: (min: 20, max: 60, step: 1))"#;
    let notebook = r#"(format: 1, demo: true, preferences: (mass: ounce, zoom: 1.5), drinkers: [(id: "01a0c44f-0000-7000-8000-000000000002", made: "2026-09-21T14:15:41Z", changed: "2026-09-21T14:15:41Z", name: "Ilse")])"#;
    let trace = r#"(format: 1, pull: "01a0c450-96f8-7000-8000-000000000065", time_s: [0, 0.1, 0.2], cup_mass_g: [NaN, 1e-3, inf], flow_g_s: [1, -2, 3])"#;
    let edit = format!(
        r#"(at: "2026-09-21T14:15:41Z", name: "x", put: [pull(bag: "01a0c450-96f8-7000-8000-00000000000a", pull: {PULL}), preferences((zoom: 2))], take: [preferences, drinker("01a0c44f-0000-7000-8000-000000000002")])"#
    );
    vec![bag, station.to_owned(), notebook.to_owned(), trace.to_owned(), edit]
}

/// Damages a text: bytes flipped, pieces cut out, doubled, moved in from elsewhere, brackets nested.
fn damage(text: &mut Vec<u8>, other: &[u8], random: &mut Pcg64Mcg) {
    let mut pick = |below: usize| (random.next_u64() % (below.max(1) as u64)) as usize;
    for _ in 0..=pick(4) {
        let (from, len) = (pick(text.len()), pick(40));
        let to = (from + len).min(text.len());
        match pick(8) {
            0 if from < text.len() => text[from] ^= 1 << pick(8),
            1 => drop(text.drain(from..to)),
            2 => {
                let piece = text[from..to].to_vec();
                let at = pick(text.len());
                text.splice(at..at, piece);
            }
            3 => {
                let start = pick(other.len());
                let end = (start + len).min(other.len());
                text.splice(from..to, other[start..end].iter().copied());
            }
            4 => {
                const PIECES: [&str; 16] = [
                    "(",
                    ")",
                    "[",
                    "\"",
                    ",",
                    "Some(",
                    "//",
                    "/*",
                    "r#\"",
                    "NaN",
                    "1e999",
                    "-",
                    "\u{2028}",
                    "\\u{110000}",
                    "#![enable(unwrap_newtypes)]",
                    "0x",
                ];
                let piece = PIECES[pick(PIECES.len())];
                text.splice(from..from, piece.bytes());
            }
            5 if pick(20) == 0 => {
                // Nesting without end: brackets, options, records, comments, marks of raw strings.
                let piece = ["(", "[", "{", "Some(", "(x:(", "[[(", "/*", "{(", "#", "r#\""][pick(10)];
                text.splice(from..from, piece.bytes().cycle().take(20_000));
            }
            6 => text.truncate(from),
            _ => text.splice(from..from, pick(256).to_string().bytes()).for_each(drop),
        }
    }
}

/// What was read is written and read again as the same.
fn round_trip<T>(text: &str)
where
    T: serde::de::DeserializeOwned + v1::FormatNumber + DiskValue,
{
    let name = Path::new("x.ron");
    let Ok(first) = parse::<T>(text, name) else { return };
    let written = Ron::document(&first);
    let second: T = parse(&written, name).unwrap_or_else(|fault| panic!("{fault:?}\n{text}\n{written}"));
    assert_eq!(Ron::document(&second), written, "{text}");
}

fn one(kind: usize, bytes: &[u8]) {
    let text = String::from_utf8_lossy(bytes);
    match kind {
        0 => round_trip::<v1::Bag>(&text),
        1 => round_trip::<v1::Station>(&text),
        2 => round_trip::<v1::Notebook>(&text),
        3 => round_trip::<v1::Trace>(&text),
        _ => {
            if let Ok(edit) = super::read::options().from_str::<v1::Edit>(&text) {
                let line = journal::line(&edit);
                let again = journal::decode(line.as_bytes());
                assert_eq!((again.bad.as_slice(), again.edits.len()), (&[][..], 1), "{text}\n{line}");
                assert_eq!(journal::line(&again.edits[0]), line);
            }
            journal::decode(bytes);
        }
    }
    let (line, column) = locate(&text, &[Step::Field("pulls"), Step::Item(0), Step::Field("note")]);
    assert!(line > 0 && column > 0);
}

/// Damaged packets: the archive around damaged parts, or the archive itself damaged.
fn packets(seeds: &[String], random: &mut Pcg64Mcg) {
    let mut packer = Packer::new().unwrap();
    let head = br#"(format: 1, from: "x", made: "2026-09-21T14:15:41Z")"#;
    for (name, seed) in [
        ("packet.ron", head.as_slice()),
        ("bags/x.ron", seeds[0].as_bytes()),
        ("traces/x", seeds[3].as_bytes()),
    ] {
        let mut part = seed.to_vec();
        if random.next_u64().is_multiple_of(3) {
            damage(&mut part, seeds[1].as_bytes(), random);
        }
        packer.add(name, &part).unwrap();
    }
    let mut bytes = packer.finish().unwrap();
    if random.next_u64().is_multiple_of(2) {
        damage(&mut bytes, head, random);
    }
    let mut packet = None;
    let limits = packet::LIMITS;
    let _ = unpack_bytes(&bytes, Path::new("x"), limits, |name, bytes| {
        packet::take_part(&mut packet, name, bytes)
    });
}

#[test]
fn damaged_text_is_refused_or_read_but_never_misread() {
    let number =
        |name: &str, usual| std::env::var(name).ok().and_then(|text| text.parse().ok()).unwrap_or(usual);
    let (count, seed): (u64, u64) = (number("THIRDPULL_FUZZ", 20_000), number("THIRDPULL_FUZZ_SEED", 1));
    let seeds = seeds();
    for (kind, seed) in seeds.iter().enumerate() {
        one(kind, seed.as_bytes());
    }
    assert!(
        parse::<v1::Bag>(&seeds[0], Path::new("x")).is_ok(),
        "{:?}",
        parse::<v1::Bag>(&seeds[0], Path::new("x"))
    );
    let mut random = Pcg64Mcg::seed_from_u64(seed);
    for round in 0..count {
        let kind = (round % 5) as usize;
        let mut text = seeds[kind].clone().into_bytes();
        let other = seeds[(random.next_u64() % 5) as usize].as_bytes();
        damage(&mut text, other, &mut random);
        one(kind, &text);
        if round % 25 == 0 {
            packets(&seeds, &mut random);
        }
        if count > 1_000_000 && (round + 1) % 250_000 == 0 {
            println!("{} inputs", round + 1);
        }
    }
}
