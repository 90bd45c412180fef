//! The polynomial emulator against the full model.

use thirdpull::puck::emulator::*;
use thirdpull::puck::*;

/// Fits the built-in table again: `THIRDPULL_REFIT=path cargo test --release ... refit_the_usual_emulator`.
#[test]
fn refit_the_usual_emulator() {
    let Some(path) = std::env::var_os("THIRDPULL_REFIT") else {
        println!("skipped: THIRDPULL_REFIT names no file");
        return;
    };
    let emulator =
        Emulator::train(&PuckSpec::default(), Ranges::default(), 6000, &Settings::default()).unwrap();
    println!("{:#?}", emulator.error());
    std::fs::write(path, emulator.to_ron().unwrap()).unwrap();
}
