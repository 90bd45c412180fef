//! The importer and the live reader against damaged input. A short run by default; `THIRDPULL_FUZZ=1000000` runs as many
//! inputs of each kind. The seed of a failing input is in the message.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use rand_core::{Rng as _, SeedableRng as _};
use rand_pcg::Pcg64;
use thirdpull::capture::{
    LineReader, LineSplitter, RawLine, Reading, Recorder, RecorderRules, RecorderState,
};
use thirdpull::domain::Channel;
use thirdpull::exchange::table::Table;
use thirdpull::trace::{Instruments, Setup, find_events, measure};

fn count(usual: u64) -> u64 {
    std::env::var("THIRDPULL_FUZZ").ok().and_then(|n| n.parse().ok()).unwrap_or(usual)
}

const BITS: &[&str] = &[
    "NaN",
    "inf",
    "-",
    ",",
    ";",
    "\t",
    "\"",
    "\"\"",
    "\r",
    "\n",
    "\n\n",
    "1e999",
    "-0",
    "9.81,",
    "٣٤",
    "{",
    "}",
    "[",
    ":",
    "\u{feff}",
    "0x10",
    "1,5",
    "1.5",
    "12:30:01",
    "2026-01-01T00:00:00Z",
    "°C",
    "#",
    "//",
    "  ",
    "e",
    "999999999999",
    "time",
    "p (kPa)",
    "{\"t\":1}",
    "\0",
    "−3",
    "null",
    "1.2.3",
];

fn seed_text(rng: &mut Pcg64) -> Vec<u8> {
    let rows = 3 + rng.next_u64() % 40;
    let mut text = String::new();
    let json = rng.next_u64().is_multiple_of(3);
    if !json {
        text += ["time (s),pressure (bar),cup mass (g)\n", "t;p;m\n", "", "zeit_ms\tdruck_kpa\tgewicht_g\n"]
            [(rng.next_u64() % 4) as usize];
    }
    let mark = [",", ";", "\t", " "][(rng.next_u64() % 4) as usize];
    for i in 0..rows {
        let (t, p, m) = (i as f64 * 0.1, 9.0 - 9.0 / (1.0 + i as f64), i as f64 * 0.3);
        text += &if json {
            format!("{{\"t\":{t:.1},\"p\":{p:.2},\"m\":{m:.1}}}\n")
        } else {
            format!("{t:.1}{mark}{p:.2}{mark}{m:.1}\n")
        };
    }
    text.into_bytes()
}

fn damaged(seed: u64) -> Vec<u8> {
    let mut rng = Pcg64::seed_from_u64(seed);
    let mut bytes = if rng.next_u64() % 20 == 0 {
        (0..rng.next_u64() % 300).map(|_| rng.next_u64() as u8).collect()
    } else {
        seed_text(&mut rng)
    };
    for _ in 0..rng.next_u64() % 8 {
        let at = (rng.next_u64() % (bytes.len() as u64 + 1)) as usize;
        match rng.next_u64() % 6 {
            0 => bytes.truncate(at),
            1 if at < bytes.len() => bytes[at] = rng.next_u64() as u8,
            2 if at < bytes.len() => {
                let to = (at + (rng.next_u64() % 30) as usize).min(bytes.len());
                bytes.drain(at..to);
            }
            3 if at < bytes.len() => {
                let to = (at + (rng.next_u64() % 200) as usize).min(bytes.len());
                let piece = bytes[at..to].to_vec();
                bytes.splice(at..at, piece);
            }
            _ => {
                let bit = BITS[(rng.next_u64() % BITS.len() as u64) as usize];
                bytes.splice(at..at, bit.bytes());
            }
        }
    }
    bytes
}

#[test]
fn damaged_files_give_a_sound_trace_or_a_sentence() {
    let (mut taken, mut refused) = (0u64, 0u64);
    for seed in 0..count(4000) {
        let bytes = damaged(seed);
        let outcome = Table::parse(&bytes).and_then(|table| {
            let preview = table.preview();
            assert!(
                preview.columns.iter().all(|c| c.range.0.is_finite() && c.range.1.is_finite()),
                "seed {seed}"
            );
            table.import(&preview.assignment)
        });
        match outcome {
            Ok(imported) => {
                taken += 1;
                let trace = &imported.trace;
                assert!(trace.time_s().windows(2).all(|w| w[1] > w[0]), "seed {seed}");
                assert!(imported.notes.iter().all(|note| !note.sentence.is_empty()), "seed {seed}");
                let events = find_events(trace);
                let read = measure(trace, &events, &Setup::default(), &Instruments::default());
                assert!(read.list.iter().all(|m| m.value.is_finite() && m.sd.is_finite()), "seed {seed}");
                for event in
                    [events.pump_on, events.first_drip, events.pump_off, events.end].into_iter().flatten()
                {
                    assert!(event.time_s.is_finite() && event.sd_s.is_finite(), "seed {seed}");
                }
            }
            Err(fault) => {
                refused += 1;
                assert!(fault.sentence.len() > 10 && fault.sentence.len() < 500, "seed {seed}: {fault}");
                assert!(!fault.sentence.contains('\n'), "seed {seed}: {fault}");
            }
        }
    }
    println!("{taken} taken, {refused} refused");
    assert!(
        taken * 5 > taken + refused && refused * 20 > taken,
        "{taken} taken, {refused} refused: no fair mixture"
    );
}

#[test]
fn damaged_live_lines_never_stop_the_reader() {
    for seed in 0..count(4000) {
        let bytes = damaged(seed ^ 0x5eed);
        let mut splitter = LineSplitter::default();
        let mut reader = LineReader::new();
        let mut recorder = Recorder::new(RecorderRules::default());
        let mut lines: Vec<RawLine> = Vec::new();
        let size = 1 + (seed % 97) as usize;
        for chunk in bytes.chunks(size) {
            splitter.push(chunk, |line| lines.push(line));
        }
        splitter.finish(|line| lines.push(line));
        for (at, line) in lines.iter().enumerate() {
            let RawLine::Text(text) = line else { continue };
            if let Reading::Sample(sample) = reader.read(text, at as f64 * 0.1) {
                assert!(sample.time_s.is_finite(), "seed {seed}");
                for channel in Channel::ALL {
                    assert!(sample.get(channel).is_none_or(f64::is_finite), "seed {seed}");
                }
                if recorder.push(sample) == RecorderState::Done {
                    // Too little makes no trace; that is an answer too.
                    let _ = recorder.take();
                }
            }
        }
        let good = reader.read("time_s,pressure_bar", 0.0);
        assert!(matches!(good, Reading::Header(_)), "seed {seed}: a sound header is read after any damage");
        reader.reconnected();
        assert!(matches!(reader.read("1,2", 0.0), Reading::Sample(_)), "seed {seed}");
    }
}
