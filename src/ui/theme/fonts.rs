//! The bundled typeface, at two weights from one variable file.

use std::sync::Arc;

use eframe::egui::epaint::text::{FontTweak, VariationCoords};
use eframe::egui::{Context, FontData, FontDefinitions, FontFamily};

use super::scale::SEMIBOLD;

const PLEX: &[u8] = include_bytes!("../../../assets/fonts/IBMPlexSans-variable.ttf");

/// The fonts of the window: the bundled face first, then the library's own for signs that it lacks.
#[must_use]
pub fn definitions() -> FontDefinitions {
    let mut fonts = FontDefinitions::default();
    let weight = |weight: f32| {
        let tweak = FontTweak { coords: VariationCoords::new([(b"wght", weight)]), ..FontTweak::default() };
        Arc::new(FontData::from_static(PLEX).tweak(tweak))
    };
    fonts.font_data.insert("plex".to_owned(), weight(400.0));
    fonts.font_data.insert("plex-semibold".to_owned(), weight(600.0));
    let fallback = fonts.families.get(&FontFamily::Proportional).cloned().unwrap_or_default();
    let chain = |first: &str| {
        let mut names = vec![first.to_owned()];
        names.extend(fallback.iter().cloned());
        if !names.iter().any(|name| name == "Hack") {
            names.push("Hack".to_owned());
        }
        names
    };
    fonts.families.insert(FontFamily::Proportional, chain("plex"));
    fonts.families.insert(FontFamily::Name(SEMIBOLD.into()), chain("plex-semibold"));
    fonts
}

/// Installs the fonts.
pub fn install(ctx: &Context) {
    ctx.set_fonts(definitions());
}
