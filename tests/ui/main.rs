//! The window, driven by its accessible names: no display and no graphics processor needed.

mod entry;
mod forms;
mod import;
mod pages;
mod support;
mod widgets;
