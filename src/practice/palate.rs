//! From what is in the cup to how it tastes and how much one drinker likes it.
//!
//! Only directions are taken from measurement: bitterness rises with strength, extraction and roast; sourness rises
//! with strength and falls with extraction; sweetness falls with strength (drip coffee: Frost, Ristenpart and
//! Guinard, J. Food Sci. 85, 2530, 2020; Batali et al., ACS Food Sci. Technol. 1, 2021). People differ in what
//! they like (Cotter et al., J. Food Sci. 86, 194, 2021), so each drinker has an ideal of their own. The sizes are
//! invented for practice and say so wherever they are shown.

use serde::{Deserialize, Serialize};

use super::chance::Chance;
use crate::domain::{Attribute, Mark, Taste};

/// What is in the cup, percent of the drink's mass where not said otherwise.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Cup {
    /// Drink, grams.
    pub yield_g: f64,
    /// Dissolved solids, percent.
    pub tds_pct: f64,
    /// Dissolved mass in the cup over the dose, percent.
    pub extraction_pct: f64,
    /// Early acids, salts, trigonelline, percent.
    pub acids_pct: f64,
    /// Sugars and chlorogenic acids, percent.
    pub sugars_pct: f64,
    /// Caffeine, percent.
    pub caffeine_pct: f64,
    /// Late bitter and astringent matter, percent.
    pub bitters_pct: f64,
    /// How unevenly the bed gave: 0 even; 0.1 is plainly uneven, above 0.3 a tunnel.
    pub unevenness: f64,
    /// Sharpness of coffee that is too fresh, 0 none to 1.
    pub gassy: f64,
    /// Flatness of coffee that is too old, 0 none to 1.
    pub stale: f64,
}

/// The usual cup that impressions are measured against: 18 g in, 36 g out, medium roast, 20 % extraction.
const USUAL: Cup = Cup {
    yield_g: 36.0,
    tds_pct: 10.0,
    extraction_pct: 20.0,
    acids_pct: 2.45,
    sugars_pct: 3.4,
    caffeine_pct: 0.44,
    bitters_pct: 3.65,
    unevenness: 0.0,
    gassy: 0.0,
    stale: 0.0,
};

/// How strong each attribute feels against the usual cup: 0 the same, one unit about one mark.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Impression {
    /// Sourness.
    pub sourness: f64,
    /// Bitterness.
    pub bitterness: f64,
    /// Strength.
    pub strength: f64,
    /// Body.
    pub body: f64,
    /// Astringency.
    pub astringency: f64,
    /// Sweetness.
    pub sweetness: f64,
}

impl Impression {
    /// How a cup feels. Every value lies within −6…6, whatever the cup.
    #[must_use]
    pub fn of(cup: &Cup) -> Self {
        let log = |value: f64, usual: f64| libm::log(value.max(1e-3) / usual);
        let acids = log(cup.acids_pct, USUAL.acids_pct);
        let sugars = log(cup.sugars_pct, USUAL.sugars_pct);
        let bitters =
            log(cup.bitters_pct + 2.0 * cup.caffeine_pct, USUAL.bitters_pct + 2.0 * USUAL.caffeine_pct);
        let strength = log(cup.tds_pct, USUAL.tds_pct);
        let extraction = log(cup.extraction_pct, USUAL.extraction_pct);
        let tame = |value: f64| if value.is_finite() { value.clamp(-6.0, 6.0) } else { 0.0 };
        let sourness = tame(
            2.2 * (acids - bitters) + 0.5 * strength - 11.0 * extraction + 1.0 * cup.gassy - 0.5 * cup.stale,
        );
        let bitterness = tame(2.2 * bitters + 0.8 * strength + 9.0 * extraction + 0.4 * cup.stale);
        Self {
            sourness,
            bitterness,
            strength: tame(4.5 * strength),
            body: tame(3.0 * strength + 1.0 * bitters - 0.6 * cup.stale),
            astringency: tame(
                1.6 * bitters + 0.6 * strength + 6.0 * extraction + 7.0 * cup.unevenness + 0.4 * cup.stale,
            ),
            sweetness: tame(
                3.0 * sugars
                    - 1.8 * strength
                    - 0.45 * (sourness.max(0.0) + bitterness.max(0.0))
                    - 2.0 * cup.unevenness
                    - 0.8 * cup.stale
                    - 0.4 * cup.gassy,
            ),
        }
    }

    /// One attribute's value.
    #[must_use]
    pub fn get(&self, attribute: Attribute) -> f64 {
        match attribute {
            Attribute::Sourness => self.sourness,
            Attribute::Bitterness => self.bitterness,
            Attribute::Strength => self.strength,
            Attribute::Body => self.body,
            Attribute::Astringency => self.astringency,
            Attribute::Sweetness => self.sweetness,
        }
    }
}

/// One drinker: what they like best, how much departures cost, how steady their marks are.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Palate {
    /// Name or description.
    pub name: String,
    /// Impression that this drinker likes best, against the usual cup; each −3…3.
    pub ideal: Impression,
    /// How much departures cost, 0.2 (easy-going) to 3 (particular).
    pub fussiness: f64,
    /// Liking of the ideal cup, 5–9.
    pub best_liking: f64,
    /// Standard deviation of one judgement about the same cup, marks, 0–1.
    pub wobble: f64,
}

impl Default for Palate {
    fn default() -> Self {
        Self {
            name: "usual drinker".to_owned(),
            ideal: Impression::default(),
            fussiness: 1.0,
            best_liking: 8.4,
            wobble: 0.3,
        }
    }
}

/// Attribute, weight in liking, and how much a lack counts against an excess (few people complain that a cup is not
/// bitter or dry enough; common practice, no source).
const SCALES: [(Attribute, f64, f64); 6] = [
    (Attribute::Sourness, 0.85, 0.45),
    (Attribute::Bitterness, 0.85, 0.35),
    (Attribute::Strength, 0.40, 1.0),
    (Attribute::Body, 0.15, 1.0),
    (Attribute::Astringency, 0.60, 0.15),
    (Attribute::Sweetness, 0.40, 1.0),
];

/// Liking that departures can cost at most, points.
const MOST_COST: f64 = 12.0;

impl Palate {
    /// How far each attribute lies from the ideal, in marks, lacks already lessened. Sweetness is never too much
    /// by more than a mark.
    fn departures(&self, felt: &Impression) -> impl Iterator<Item = (Attribute, f64, f64)> {
        let (felt, ideal) = (*felt, self.ideal);
        SCALES.into_iter().map(move |(attribute, weight, lack)| {
            let off = felt.get(attribute) - ideal.get(attribute);
            let off = if off < 0.0 { off * lack } else { off };
            let off = if attribute == Attribute::Sweetness { off.min(0.5) } else { off };
            (attribute, weight, off)
        })
    }

    /// Liking without any wobble, 1–9 (not rounded).
    #[must_use]
    pub fn liking(&self, felt: &Impression) -> f64 {
        let cost: f64 = self.departures(felt).map(|(_, weight, off)| weight * off * off).sum();
        // Dislike levels off: a cup that is wrong in every way is not ten times worse than one wrong in two.
        let cost = self.fussiness * cost;
        (self.best_liking - cost / (1.0 + cost / MOST_COST)).clamp(1.0, 9.0)
    }

    /// What this drinker would write down: marks for the wanted attributes and a liking, with wobble.
    #[must_use]
    pub fn taste(&self, felt: &Impression, wanted: &[Attribute], chance: &mut Chance) -> Taste {
        let mut taste = Taste::default();
        for (attribute, _, off) in self.departures(felt) {
            // Drawn for every attribute, so that asking for fewer does not move the rest.
            let said = off * 0.9 + chance.around(self.wobble);
            if wanted.contains(&attribute) {
                let rounded = said.round().clamp(-2.0, 2.0);
                taste.set_mark(attribute, Mark::new(rounded as i64));
            }
        }
        let liking = (self.liking(felt) + chance.around(self.wobble * 1.4)).round().clamp(1.0, 9.0);
        taste.set_liking(Some(liking as i64));
        taste
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn scaled(tds: f64, acids: f64, sugars: f64, bitters: f64) -> Cup {
        Cup { tds_pct: tds, acids_pct: acids, sugars_pct: sugars, bitters_pct: bitters, ..USUAL }
    }

    /// Directions: sourness rises with strength and falls with extraction, bitterness rises with both, sweetness falls
    /// with strength (Frost, Ristenpart and Guinard 2020, abstract, for sweetness; the others from the same group's
    /// figures, recalled from memory).
    #[test]
    fn directions_follow_the_measured_ones() {
        let usual = Impression::of(&USUAL);
        let twice = |f: f64| scaled(10.0 * f, 2.45 * f, 3.4 * f, 3.65 * f);
        let stronger = Impression::of(&twice(1.15));
        assert!(stronger.sourness > usual.sourness && stronger.bitterness > usual.bitterness);
        // Under-extracted at the same strength: more of the early acids, less of the late bitters.
        let under = Impression::of(&Cup { extraction_pct: 17.0, ..scaled(10.0, 2.8, 3.4, 3.2) });
        assert!(under.sourness > usual.sourness + 0.5 && under.bitterness < usual.bitterness);
        let strong_same_sugar = Impression::of(&scaled(12.0, 2.45, 3.4, 3.65));
        assert!(strong_same_sugar.sweetness < usual.sweetness);
    }

    #[test]
    fn nothing_breaks_on_an_empty_or_absurd_cup() {
        for cup in
            [Cup::default(), Cup { tds_pct: f64::NAN, ..USUAL }, scaled(1e300, 1e300, 0.0, f64::INFINITY)]
        {
            let felt = Impression::of(&cup);
            for attribute in Attribute::ALL {
                assert!(felt.get(attribute).is_finite());
            }
            let liking = Palate::default().liking(&felt);
            assert!((1.0..=9.0).contains(&liking));
        }
    }

    #[test]
    fn the_ideal_is_liked_best() {
        let palate =
            Palate { ideal: Impression { sourness: 0.4, ..Impression::default() }, ..Palate::default() };
        let best = palate.liking(&palate.ideal);
        assert!((best - palate.best_liking).abs() < 1e-12);
        for attribute in [0.5, -1.0] {
            assert!(palate.liking(&Impression { strength: attribute, ..palate.ideal }) < best);
        }
    }
}
