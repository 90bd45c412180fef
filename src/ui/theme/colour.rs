//! Colour roles. Screens name a role, never a colour; the roles' contrasts are measured by the tests below.
//!
//! The colours of pulls are those of Okabe and Ito's colour-universal set; black, blue and vermilion on light and
//! white, sky blue and orange on dark keep the largest distance under red-, green- and blue-blind sight (CIEDE2000
//! at least 38 and 26; M. Okabe and K. Ito, Color Universal Design, 2002; simulation after Machado, Oliveira and
//! Fernandes, IEEE TVCG 15, 2009).

use eframe::egui::Color32;

/// One colour scheme: every role with its colour.
#[derive(Debug, Clone, PartialEq)]
pub struct Palette {
    /// Whether it is a dark scheme.
    pub dark: bool,
    /// Thickness of an emphasised line in a plot, points.
    pub line_width: f32,
    /// The page.
    pub page: Color32,
    /// The shelf at the left, and bars.
    pub shelf: Color32,
    /// Fields, cards and dialogs, above the page.
    pub raised: Color32,
    /// Behind the selected thing.
    pub selected: Color32,
    /// A button's rest state.
    pub button: Color32,
    /// A button under the pointer.
    pub hover: Color32,
    /// Text, and the largest marks.
    pub ink: Color32,
    /// Text of second rank; still full contrast.
    pub soft: Color32,
    /// Hairlines between rows: decoration, no information.
    pub hairline: Color32,
    /// Outlines of controls, axes, ticks.
    pub edge: Color32,
    /// The one accent: the main action, the focus ring, links.
    pub accent: Color32,
    /// Text on the accent.
    pub on_accent: Color32,
    /// Something to heed.
    pub warn: Color32,
    /// Something wrong.
    pub bad: Color32,
    /// Something settled.
    pub good: Color32,
    /// Behind a caution.
    pub warn_back: Color32,
    /// This pull's line.
    pub this_pull: Color32,
    /// The line of the pull before.
    pub before: Color32,
    /// The keeper's line.
    pub keeper: Color32,
    /// Lines of all other pulls.
    pub rest: Color32,
    /// Fill of an expected band, or of the window that a value should lie in.
    pub band: Color32,
    /// Its two edges.
    pub band_edge: Color32,
    /// Fill of the taste map where liking is least.
    pub map_low: Color32,
    /// Fill of the taste map where liking is greatest.
    pub map_high: Color32,
}

const fn rgb(hex: u32) -> Color32 {
    Color32::from_rgb((hex >> 16) as u8, (hex >> 8) as u8, hex as u8)
}

/// Like good paper.
pub static LIGHT: Palette = Palette {
    dark: false,
    line_width: 2.0,
    page: rgb(0xFBF8F2),
    shelf: rgb(0xF1ECE1),
    raised: rgb(0xFFFFFF),
    selected: rgb(0xDCE9F1),
    button: rgb(0xF6F1E7),
    hover: rgb(0xEAE3D4),
    ink: rgb(0x211D17),
    soft: rgb(0x5C5446),
    hairline: rgb(0xDDD5C5),
    edge: rgb(0x857B69),
    accent: rgb(0x00629A),
    on_accent: rgb(0xFFFFFF),
    warn: rgb(0x9A3F00),
    bad: rgb(0x9C1C28),
    good: rgb(0x006347),
    warn_back: rgb(0xFBEBD9),
    this_pull: rgb(0x111111),
    before: rgb(0x0072B2),
    keeper: rgb(0xD55E00),
    rest: rgb(0x8F8775),
    band: rgb(0xE9E1CF),
    band_edge: rgb(0x857B69),
    map_low: rgb(0xF4EFE4),
    map_high: rgb(0x9CC3DC),
};

/// For a dim bar.
pub static DARK: Palette = Palette {
    dark: true,
    line_width: 2.0,
    page: rgb(0x171411),
    shelf: rgb(0x1F1B17),
    raised: rgb(0x28231E),
    selected: rgb(0x17394F),
    button: rgb(0x2D2822),
    hover: rgb(0x3A342C),
    ink: rgb(0xF0E9DC),
    soft: rgb(0xB9AF9F),
    hairline: rgb(0x3A342C),
    edge: rgb(0x8A7F70),
    accent: rgb(0x6CC0F0),
    on_accent: rgb(0x101010),
    warn: rgb(0xF0A94A),
    bad: rgb(0xFF8A80),
    good: rgb(0x4CCB9F),
    warn_back: rgb(0x3A2B14),
    this_pull: rgb(0xFFFFFF),
    before: rgb(0x56B4E9),
    keeper: rgb(0xE69F00),
    rest: rgb(0x857B6D),
    band: rgb(0x332C23),
    band_edge: rgb(0x8A7F70),
    map_low: rgb(0x1C1814),
    map_high: rgb(0x1F5673),
};

/// For a projector in a room that is not dark: all text 7:1, thicker lines.
pub static PROJECTOR: Palette = Palette {
    dark: false,
    line_width: 3.0,
    page: rgb(0xFFFFFF),
    shelf: rgb(0xF4F4F2),
    raised: rgb(0xFFFFFF),
    selected: rgb(0xD5E8F5),
    button: rgb(0xF4F4F2),
    hover: rgb(0xE4E4E0),
    ink: rgb(0x000000),
    soft: rgb(0x3A3A3A),
    hairline: rgb(0xC9C9C4),
    edge: rgb(0x5A5A5A),
    accent: rgb(0x004A75),
    on_accent: rgb(0xFFFFFF),
    warn: rgb(0x6E2C00),
    bad: rgb(0x7A0A14),
    good: rgb(0x00452F),
    warn_back: rgb(0xFFF3E2),
    this_pull: rgb(0x000000),
    before: rgb(0x0072B2),
    keeper: rgb(0xD55E00),
    rest: rgb(0x7A7A7A),
    band: rgb(0xE6E3DA),
    band_edge: rgb(0x5A5A5A),
    map_low: rgb(0xFFFFFF),
    map_high: rgb(0x9CCBE6),
};

/// Relative luminance of an opaque colour, 0–1 (WCAG 2.2, definition "relative luminance").
#[must_use]
pub fn luminance(colour: Color32) -> f64 {
    let linear = |channel: u8| {
        let c = f64::from(channel) / 255.0;
        if c <= 0.040_45 { c / 12.92 } else { ((c + 0.055) / 1.055).powf(2.4) }
    };
    0.2126 * linear(colour.r()) + 0.7152 * linear(colour.g()) + 0.0722 * linear(colour.b())
}

/// Contrast of two opaque colours, 1–21 (WCAG 2.2, definition "contrast ratio").
#[must_use]
pub fn contrast(a: Color32, b: Color32) -> f64 {
    let (a, b) = (luminance(a), luminance(b));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

/// How colours look to those who see no red or no green, for tests.
#[cfg(test)]
pub(crate) mod sight {
    use eframe::egui::Color32;

    /// Full protanopia and deuteranopia on linear RGB (Machado, Oliveira and Fernandes, IEEE TVCG 15, 2009, severity 1.0;
    /// recalled from memory; each row sums to 1, so that greys stay as they are).
    pub(crate) const KINDS: [(&str, [[f64; 3]; 3]); 2] = [
        (
            "protanopia",
            [
                [0.152_286, 1.052_583, -0.204_868],
                [0.114_503, 0.786_281, 0.099_216],
                [-0.003_882, -0.048_116, 1.051_998],
            ],
        ),
        (
            "deuteranopia",
            [
                [0.367_322, 0.860_646, -0.227_968],
                [0.280_085, 0.672_501, 0.047_413],
                [-0.011_820, 0.042_940, 0.968_881],
            ],
        ),
    ];

    /// Distance of two colours in CIE 1976 L*a*b* under D65 (CIE 015) as seen by one of [`KINDS`].
    pub(crate) fn apart(kind: &[[f64; 3]; 3], a: Color32, b: Color32) -> f64 {
        let (a, b) = (lab(seen(kind, a)), lab(seen(kind, b)));
        a.iter().zip(b).map(|(x, y)| (x - y) * (x - y)).sum::<f64>().sqrt()
    }

    fn seen(kind: &[[f64; 3]; 3], colour: Color32) -> [f64; 3] {
        let linear = [colour.r(), colour.g(), colour.b()].map(|channel| {
            let c = f64::from(channel) / 255.0;
            if c <= 0.040_45 { c / 12.92 } else { ((c + 0.055) / 1.055).powf(2.4) }
        });
        kind.map(|row| row.iter().zip(linear).map(|(m, v)| m * v).sum::<f64>().clamp(0.0, 1.0))
    }

    /// From linear sRGB (IEC 61966-2-1, white D65).
    fn lab([r, g, b]: [f64; 3]) -> [f64; 3] {
        let x = (0.412_4 * r + 0.357_6 * g + 0.180_5 * b) / 0.950_47;
        let y = 0.212_6 * r + 0.715_2 * g + 0.072_2 * b;
        let z = (0.019_3 * r + 0.119_2 * g + 0.950_5 * b) / 1.088_83;
        let f = |t: f64| if t > 0.008_856 { t.cbrt() } else { 7.787 * t + 16.0 / 116.0 };
        [116.0 * f(y) - 16.0, 500.0 * (f(x) - f(y)), 200.0 * (f(y) - f(z))]
    }

    #[test]
    fn greys_stay_grey_and_red_and_green_come_close() {
        for (name, kind) in KINDS {
            for row in kind {
                assert!((row.iter().sum::<f64>() - 1.0).abs() < 1e-5, "{name}");
            }
            let black_white = apart(&kind, Color32::BLACK, Color32::WHITE);
            assert!((black_white - 100.0).abs() < 0.1, "{name}: {black_white}");
            let (red, green) = (Color32::from_rgb(190, 60, 40), Color32::from_rgb(105, 115, 30));
            let plain = apart(&[[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]], red, green);
            assert!(
                apart(&kind, red, green) < 0.5 * plain,
                "{name}: {} of {plain}",
                apart(&kind, red, green)
            );
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Contrast of black on white is 21 and of #777777 on white 4.48 (published examples of the WCAG formula).
    #[test]
    fn the_formula_gives_the_published_examples() {
        assert!((contrast(rgb(0x000000), rgb(0xFFFFFF)) - 21.0).abs() < 1e-9);
        assert!((contrast(rgb(0x777777), rgb(0xFFFFFF)) - 4.48).abs() < 0.005);
    }

    /// WCAG 2.2: 1.4.3 text 4.5:1; 1.4.6 text 7:1, asked of the projector scheme.
    #[test]
    fn text_can_be_read_on_every_ground() {
        for (name, palette, want) in
            [("light", &LIGHT, 4.5), ("dark", &DARK, 4.5), ("projector", &PROJECTOR, 7.0)]
        {
            let grounds = [
                ("page", palette.page),
                ("shelf", palette.shelf),
                ("raised", palette.raised),
                ("selected", palette.selected),
                ("button", palette.button),
                ("hover", palette.hover),
                ("caution", palette.warn_back),
                ("band", palette.band),
            ];
            let texts = [
                ("ink", palette.ink),
                ("soft", palette.soft),
                ("accent", palette.accent),
                ("warn", palette.warn),
                ("bad", palette.bad),
                ("good", palette.good),
            ];
            for (ground, back) in grounds {
                for (text, fore) in texts {
                    let got = contrast(fore, back);
                    assert!(got >= want, "{name}: {text} on {ground} has {got:.2}, needs {want}");
                }
            }
            let got = contrast(palette.on_accent, palette.accent);
            assert!(got >= want, "{name}: text on the accent has {got:.2}");
        }
    }

    /// WCAG 2.2, 1.4.11: parts of controls and needed graphics 3:1.
    #[test]
    fn graphics_can_be_seen_on_every_ground() {
        for (name, palette) in [("light", &LIGHT), ("dark", &DARK), ("projector", &PROJECTOR)] {
            let got = contrast(palette.band_edge, palette.band);
            assert!(got >= 3.0, "{name}: the edge of a band on its fill has {got:.2}");
            for (ground, back) in
                [("page", palette.page), ("shelf", palette.shelf), ("raised", palette.raised)]
            {
                for (mark, fore) in [
                    ("edge", palette.edge),
                    ("the edge of a band", palette.band_edge),
                    ("this pull", palette.this_pull),
                    ("the pull before", palette.before),
                    ("the keeper", palette.keeper),
                    ("the rest", palette.rest),
                    ("accent", palette.accent),
                ] {
                    let got = contrast(fore, back);
                    assert!(got >= 3.0, "{name}: {mark} on {ground} has {got:.2}");
                }
            }
        }
    }

    /// Everything on the taste map's fill, from end to end: lines, hatching and the cross 3:1, figures 4.5:1.
    #[test]
    fn the_taste_map_can_be_read_on_its_own_fill() {
        for (name, p) in [("light", &LIGHT), ("dark", &DARK), ("projector", &PROJECTOR)] {
            for share in 0..=10u16 {
                let mix = |a: u8, b: u8| ((u16::from(a) * (10 - share) + u16::from(b) * share) / 10) as u8;
                let (a, b) = (p.map_low, p.map_high);
                let fill = Color32::from_rgb(mix(a.r(), b.r()), mix(a.g(), b.g()), mix(a.b(), b.b()));
                for (mark, fore, want) in
                    [("lines", p.soft, 3.0), ("the cross", p.accent, 3.0), ("figures", p.ink, 4.5)]
                {
                    let got = contrast(fore, fill);
                    assert!(got >= want, "{name}: {mark} at {share} tenths has {got:.2}");
                }
            }
            assert!(contrast(p.map_low, p.map_high) >= 1.5, "{name}: the ends differ");
        }
    }

    /// The three emphasised pulls keep apart in lightness alone too, for sight without any colour.
    #[test]
    fn emphasised_pulls_differ_without_colour() {
        for palette in [&LIGHT, &DARK, &PROJECTOR] {
            assert!(contrast(palette.this_pull, palette.before) >= 1.7);
            assert!(contrast(palette.this_pull, palette.keeper) >= 1.7);
        }
    }
}
