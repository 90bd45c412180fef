//! Chooses the window or a command; everything else is in the library.

use std::process::ExitCode;

fn main() -> ExitCode {
    thirdpull::cli::main(std::env::args_os().skip(1))
}
