//! The window: draws view models, sends commands. The only floor that names egui; it holds no rule about coffee.

mod actions;
mod acts;
mod app;
mod believing;
mod cache;
mod dialogs;
pub mod gallery;
mod keeping;
mod opening;
mod page;
mod practice;
mod put_away;
mod run;
mod shelf;
mod start;
mod state;
pub mod theme;
mod timing;
mod toasts;
pub mod widgets;

pub use app::{App, BeginOwn, Opened, Options};
pub use run::run;
pub use start::open_window;
pub use timing::Timing;

/// Opens the page with every widget in every state.
///
/// # Errors
/// One plain sentence when no window can be opened.
pub fn run_gallery() -> Result<(), String> {
    open_window(word!("work-ui-thirdpull-gallery"), |_| Box::new(gallery::Gallery::new()))
}
