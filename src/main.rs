//! Chooses the window or a command; everything else is in the library.

use std::process::ExitCode;

use thirdpull::cli::{self, Window};

fn main() -> ExitCode {
    #[cfg(feature = "gui")]
    let window = Window { open: Some(thirdpull::ui::run), gallery: Some(thirdpull::ui::run_gallery) };
    #[cfg(not(feature = "gui"))]
    let window = Window::default();
    cli::main(std::env::args_os().skip(1), &window)
}
