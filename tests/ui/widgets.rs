//! The gallery: every widget has a name, draws in every look, and rests.

use egui_kittest::Harness;
use egui_kittest::kittest::Queryable as _;
use thirdpull::ui::gallery::Gallery;
use thirdpull::ui::theme;

#[test]
fn the_gallery_draws_in_every_look_and_names_everything() {
    for (dark, projector, bar) in
        [(false, false, false), (true, false, false), (false, true, false), (true, false, true)]
    {
        let mut gallery = Gallery::new();
        gallery.set_look(dark, projector, bar);
        let mut harness = Harness::builder()
            .with_size([1280.0, 1400.0])
            .with_context_setup(theme::install)
            .with_max_steps(12)
            .build_eframe(move |_| gallery);
        // `run` fails on an unnamed input, on a character without a glyph, and on a page that never rests.
        harness.run();
        harness.get_by_label("Sourness a little too much");
        harness.get_by_label("Liking 6: like slightly");
        harness.get_by(|node| node.label().is_some_and(|label| label.starts_with("Strips. Pressure in bar")));
    }
}
