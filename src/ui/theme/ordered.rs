//! Colours for ordered values: cividis, whose lightness rises evenly and which looks nearly the same to red-green
//! deficient sight (Nuñez, Anderton and Renslow, PLoS ONE 13, e0199239, 2018). Seven steps of the published table,
//! straight lines between.

use eframe::egui::Color32;

const STEPS: [(u8, u8, u8); 7] = [
    (0x00, 0x22, 0x4E),
    (0x2A, 0x3F, 0x6D),
    (0x57, 0x5D, 0x6D),
    (0x7D, 0x7C, 0x78),
    (0xA5, 0x9C, 0x74),
    (0xD1, 0xBF, 0x61),
    (0xFE, 0xE8, 0x38),
];

/// The colour of a share, 0 (dark blue) to 1 (yellow).
#[must_use]
pub fn cividis(share: f64) -> Color32 {
    let share = if share.is_finite() { share.clamp(0.0, 1.0) } else { 0.0 };
    let place = share * (STEPS.len() - 1) as f64;
    let at = (place.floor() as usize).min(STEPS.len() - 2);
    let part = place - at as f64;
    let (Some(a), Some(b)) = (STEPS.get(at), STEPS.get(at + 1)) else { return Color32::BLACK };
    let mix = |a: u8, b: u8| (f64::from(a) + part * (f64::from(b) - f64::from(a))).round() as u8;
    Color32::from_rgb(mix(a.0, b.0), mix(a.1, b.1), mix(a.2, b.2))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ui::theme::colour::luminance;

    #[test]
    fn lightness_rises_all_the_way() {
        let all: Vec<f64> = (0..=60).map(|k| luminance(cividis(f64::from(k) / 60.0))).collect();
        assert!(all.is_sorted() && all[60] > 0.7 && all[0] < 0.05, "{all:?}");
        assert_eq!(cividis(f64::NAN), cividis(-1.0));
    }
}
