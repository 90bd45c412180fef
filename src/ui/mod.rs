//! The window: draws view models, sends commands. The only floor that names egui; it holds no rule about coffee.

pub mod gallery;
mod start;
pub mod theme;
pub mod widgets;

pub use start::open_window;

/// Opens the page with every widget in every state.
///
/// # Errors
/// One plain sentence when no window can be opened.
pub fn run_gallery() -> Result<(), String> {
    open_window("Thirdpull gallery", |_| Box::new(gallery::Gallery::new()))
}
