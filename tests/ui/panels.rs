//! Panels over the page fit the window, whatever was opened before them, and what they draw can be read.

use eframe::egui::{self, Key, Modifiers};
use egui_kittest::kittest::Queryable as _;
use thirdpull::domain::ThemeChoice;
use thirdpull::ui::theme::colour::{DARK, LIGHT, contrast};

use crate::pictures::with_traces;
use crate::support::*;

/// With the engine itself, so that there is something to expect.
fn own(theme: ThemeChoice, size: [f32; 2]) -> Window {
    let mut notebook = notebook(3);
    notebook.preferences.theme = theme;
    let mut own = options(notebook, None);
    own.adviser = thirdpull::workbench::engine();
    window_of(own, size, 1.0)
}

#[test]
fn the_comparison_stays_within_an_enlarged_window() {
    let (mut window, _kept) = with_traces([1280.0, 800.0], 1.0);
    for _ in 0..5 {
        press_with(&mut window, Modifiers::COMMAND, Key::Plus);
    }
    press_with(&mut window, Modifiers::COMMAND, Key::Num3);
    press(&mut window, Key::M);
    let whole = window.ctx.content_rect();
    assert!(whole.width() < 660.0, "{whole:?}");
    for label in ["Compare pulls", "Close  Esc"] {
        let rect = window.get_by_label(label).rect();
        assert!(whole.contains_rect(rect), "{label}: {rect:?} in {whole:?}");
    }
}

#[test]
fn a_panel_is_sized_anew_each_time() {
    let height = |window: &Window| window.get_by_label_contains("Taste map, grind across").rect().height();
    let size = [1920.0, 1080.0];
    let mut window = own(ThemeChoice::Light, size);
    press(&mut window, Key::V);
    let at_first = height(&window);
    let mut window = own(ThemeChoice::Light, size);
    press(&mut window, Key::Y);
    press(&mut window, Key::Escape);
    for key in [Key::W, Key::W, Key::V] {
        press(&mut window, key);
    }
    let panel = window.get_by_label("Close  Esc").rect();
    assert!((height(&window) - at_first).abs() < 1.0, "{} and {at_first}; {panel:?}", height(&window));
    // Nor is it cut off where it does not fit the panel of before.
    let seen = window.get_by_label_contains("Lines: equal liking").rect();
    assert!(window.ctx.content_rect().contains_rect(seen), "{seen:?}");
    let mut other = own(ThemeChoice::Light, size);
    press(&mut other, Key::V);
    let close = other.get_by_label("Close  Esc").rect();
    assert!((close.top() - panel.top()).abs() < 1.0, "{close:?} and {panel:?}");
}

/// Every time under the strips, between the tens too, is text of full contrast: 4.5 to 1 (WCAG 2.2, success criterion
/// 1.4.3).
#[test]
fn every_time_under_the_strips_can_be_read() {
    for (theme, p) in [(ThemeChoice::Dark, &DARK), (ThemeChoice::Light, &LIGHT)] {
        let mut window = own(theme, [1280.0, 800.0]);
        press(&mut window, Key::Y);
        window.get_by_label_contains("Strips. ").focus();
        settle(&mut window);
        let mut between = false;
        for closer in 0..6 {
            let times: Vec<(f64, egui::Color32)> = painted(&window)
                .into_iter()
                .filter_map(|(text, colour)| Some((text.strip_suffix(" s")?.parse().ok()?, colour)))
                .collect();
            assert!(!times.is_empty(), "{closer}");
            for (time_s, colour) in times {
                let seen = contrast(over(colour, p.page), p.page);
                assert!(seen >= 4.5, "{theme:?}, {closer} times closer, {time_s} s: {seen:.1}");
                between |= time_s % 10.0 != 0.0;
            }
            press(&mut window, Key::PageUp);
        }
        assert!(between, "{theme:?}: no time between the tens was shown");
    }
}

/// What a colour with its opacity shows on a ground.
fn over(colour: egui::Color32, ground: egui::Color32) -> egui::Color32 {
    let rest = 1.0 - f32::from(colour.a()) / 255.0;
    let mix = |own: u8, under: u8| (f32::from(own) + rest * f32::from(under)).round() as u8;
    egui::Color32::from_rgb(
        mix(colour.r(), ground.r()),
        mix(colour.g(), ground.g()),
        mix(colour.b(), ground.b()),
    )
}
