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
    ("dark_small", ThemeChoice::Dark, [900.0, 600.0], 1.5),
    ("dark", ThemeChoice::Dark, [1280.0, 800.0], 1.0),
    ("light_small", ThemeChoice::Light, [900.0, 600.0], 1.5),
];

/// Every look, for the pages that are looked at most.
const ALL: usize = 4;
/// The first two looks: each theme once, each scale once.
const TWO: usize = 2;

/// How a page is come to from the one before.
#[derive(Clone, Copy)]
enum Do {
    Key(Modifiers, Key),
    Click(&'static str),
}

/// A notebook's folder, and the place that goes when it is dropped.
type OnDisk = (tempfile::TempDir, Folder);

/// Takes each page, one after another, in so many looks.
fn take(
    results: &mut SnapshotResults,
    looks: usize,
    open: impl Fn() -> (Notebook, Option<OnDisk>),
    pages: &[(&str, &[Do])],
) {
    for (look, choice, size, scale) in LOOKS.into_iter().take(looks) {
        let (mut notebook, folder) = open();
        let (_kept, folder) = folder.unzip();
        notebook.preferences.theme = choice;
        let mut own = options(Notebook::default(), None);
        own.opened.bench = Workbench::new(notebook, folder.map(|folder| Box::new(folder) as Box<_>), None);
        let mut window = window_of(own, size, scale);
        for (page, way) in pages {
            for step in *way {
                match step {
                    Do::Key(modifiers, key) => press_with(&mut window, *modifiers, *key),
                    Do::Click(label) => click(&mut window, label),
                }
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

const fn key(key: Key) -> Do {
    Do::Key(Modifiers::NONE, key)
}

const fn with(key: Key) -> Do {
    Do::Key(Modifiers::COMMAND, key)
}

const BACK: Do = key(Key::Escape);

/// The invented notebook that ships, which has traces.
fn demo() -> (Notebook, Option<OnDisk>) {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("notebook");
    copy(&Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-data/notebook"), &path);
    let me = Holder { name: "Odile".into(), machine: "attic".into() };
    let opened = Folder::open(&path, start(), &me).unwrap();
    (opened.notebook, Some((dir, opened.folder)))
}

/// A window over the invented notebook that ships, and the place that goes when it is dropped.
pub fn with_traces(size: [f32; 2], scale: f32) -> (Window, Option<tempfile::TempDir>) {
    let (notebook, folder) = demo();
    let (kept, folder) = folder.unzip();
    let mut own = options(Notebook::default(), None);
    own.opened.bench = Workbench::new(notebook, folder.map(|folder| Box::new(folder) as Box<_>), None);
    (window_of(own, size, scale), kept)
}

#[test]
fn the_page_of_a_bag() {
    let mut results = SnapshotResults::new();
    take(&mut results, ALL, demo, &[("bag", &[])]);
}

#[test]
fn what_lies_over_the_page_of_a_bag() {
    let mut results = SnapshotResults::new();
    take(
        &mut results,
        TWO,
        demo,
        &[
            ("map", &[key(Key::V)]),
            ("compare", &[BACK, key(Key::M)]),
            ("keys", &[BACK, key(Key::Questionmark)]),
            ("settings", &[BACK, with(Key::Comma)]),
            ("entry", &[BACK, key(Key::E)]),
        ],
    );
}

#[test]
fn an_empty_notebook_and_the_other_ways() {
    let mut results = SnapshotResults::new();
    take(&mut results, TWO, || (Notebook::default(), None), &[("first", &[])]);
    take(&mut results, TWO, demo, &[("bar", &[with(Key::Num2)]), ("class", &[with(Key::Num3)])]);
}

#[test]
fn pages_of_the_practice_bench() {
    let mut results = SnapshotResults::new();
    take(&mut results, ALL, || (notebook(3), None), &[("bench", &[with(Key::B)])]);
    take(
        &mut results,
        TWO,
        || (notebook(3), None),
        &[
            ("inside", &[with(Key::B), key(Key::Num2)]),
            ("sweeps", &[key(Key::Num3)]),
            ("studies", &[key(Key::Num4)]),
            ("exercises", &[key(Key::Num5)]),
        ],
    );
}

#[test]
fn pages_of_the_opening() {
    let mut results = SnapshotResults::new();
    take(&mut results, ALL, || (bar(), None), &[("opening", &[key(Key::F4)])]);
    take(
        &mut results,
        TWO,
        || (bar(), None),
        &[
            ("list", &[key(Key::F4), Do::Click("Part of the opening: List 0 of 21")]),
            ("charts", &[Do::Click("Part of the opening: Charts")]),
            ("day", &[Do::Click("Part of the opening: Day")]),
            ("hand_over", &[Do::Click("Part of the opening: Hand-over")]),
        ],
    );
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
