//! Pictures of every page and of the gallery, in light and dark and at two scales, against those kept in
//! `tests/snapshots/`.
//!
//! They are painted without a graphics card (see `painter.rs`), so they are the same wherever they are taken.
//! `UPDATE_SNAPSHOTS=1 cargo test --all-features --test ui pictures` takes those that differ anew: look at each before it is
//! committed.

use std::path::Path;

use eframe::egui::{Key, Modifiers};
use egui_kittest::{Harness, LazyRenderer, SnapshotResults};
use image::codecs::png::{CompressionType, FilterType, PngEncoder};
use thirdpull::domain::{Notebook, ThemeChoice};
use thirdpull::store::{Folder, Holder};
use thirdpull::ui::gallery::Gallery;
use thirdpull::ui::theme;
use thirdpull::workbench::Workbench;

use crate::folders::copy;
use crate::opening::bar;
use crate::painter::Painter;
use crate::support::*;

/// Light and dark, at full size and in the smallest window enlarged by half.
const LOOKS: [(&str, ThemeChoice, [f32; 2], f32); 4] = [
    ("light", ThemeChoice::Light, [1280.0, 800.0], 1.0),
    ("dark", ThemeChoice::Dark, [1280.0, 800.0], 1.0),
    ("light_small", ThemeChoice::Light, [900.0, 600.0], 1.5),
    ("dark_small", ThemeChoice::Dark, [900.0, 600.0], 1.5),
];

/// A notebook's folder, and the place that goes when it is dropped.
type OnDisk = (tempfile::TempDir, Folder);

/// Takes each page that the keys lead to, one after another, in every look.
fn take(open: impl Fn() -> (Notebook, Option<OnDisk>), pages: &[(&str, &[(Modifiers, Key)])]) {
    let mut results = SnapshotResults::new();
    for (look, choice, size, scale) in LOOKS {
        let (mut notebook, folder) = open();
        let (_kept, folder) = folder.unzip();
        notebook.preferences.theme = choice;
        let mut own = options(Notebook::default(), None);
        own.opened.bench = Workbench::new(notebook, folder.map(|folder| Box::new(folder) as Box<_>), None);
        let mut window = window_of(own, size, scale);
        for (page, keys) in pages {
            for (modifiers, key) in *keys {
                press_with(&mut window, *modifiers, *key);
            }
            results.add(window.try_snapshot(format!("{page}_{look}")));
            shrink(&format!("{page}_{look}"));
        }
    }
}

/// Writes a picture that was taken anew as small as the library can: a quarter of what it writes by itself.
fn shrink(name: &str) {
    if std::env::var_os("UPDATE_SNAPSHOTS").is_none() {
        return;
    }
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/snapshots").join(format!("{name}.png"));
    let picture = image::open(&path).unwrap().to_rgb8();
    let mut small = Vec::new();
    let encoder = PngEncoder::new_with_quality(&mut small, CompressionType::Best, FilterType::NoFilter);
    picture.write_with_encoder(encoder).unwrap();
    std::fs::write(&path, small).unwrap();
}

const PLAIN: Modifiers = Modifiers::NONE;
const WITH: Modifiers = Modifiers::COMMAND;

/// The invented notebook that ships, which has traces.
fn demo() -> (Notebook, Option<OnDisk>) {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("notebook");
    copy(&Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-data/notebook"), &path);
    let me = Holder { name: "Odile".into(), machine: "attic".into() };
    let opened = Folder::open(&path, start(), &me).unwrap();
    (opened.notebook, Some((dir, opened.folder)))
}

#[test]
fn pages_of_a_bag() {
    take(
        demo,
        &[
            ("bag", &[]),
            ("compare", &[(PLAIN, Key::M)]),
            ("keys", &[(PLAIN, Key::Escape), (PLAIN, Key::Questionmark)]),
            ("settings", &[(PLAIN, Key::Escape), (WITH, Key::Comma)]),
            ("entry", &[(PLAIN, Key::Escape), (PLAIN, Key::E)]),
        ],
    );
}

#[test]
fn pages_of_the_practice_bench() {
    take(
        || (notebook(3), None),
        &[
            ("bench", &[(WITH, Key::B)]),
            ("inside", &[(PLAIN, Key::Num2)]),
            ("studies", &[(PLAIN, Key::Num4)]),
            ("exercises", &[(PLAIN, Key::Num5)]),
        ],
    );
}

#[test]
fn pages_of_the_opening() {
    take(|| (bar(), None), &[("opening", &[(PLAIN, Key::F4)])]);
}

#[test]
fn gallery() {
    let mut results = SnapshotResults::new();
    for (look, choice, _, scale) in LOOKS {
        let mut page = Gallery::new();
        page.set_look(choice == ThemeChoice::Dark, false, false);
        let mut harness = Harness::builder()
            .with_size([1280.0, 1400.0])
            .with_pixels_per_point(scale)
            .with_context_setup(theme::install)
            .with_max_steps(12)
            .renderer(LazyRenderer::new(Painter::default))
            .build_eframe(move |_| page);
        harness.run();
        results.add(harness.try_snapshot(format!("gallery_{look}")));
        shrink(&format!("gallery_{look}"));
    }
}
