//! From the cup to six intensities, in units of one just-about-right mark.
//!
//! Signs follow the reference (drip coffee): strength raises sour and bitter and lowers sweet; extraction lowers sour
//! and raises bitter; darker roasts are more bitter and less sour. Three shapes: straight, by early and late classes of
//! solubles, and by the clock.

use super::{Cup, Family};
use crate::rng::Draw;

/// Sourness, bitterness, strength, body, astringency, sweetness.
pub type Intensities = [f64; 6];

/// How this station's water and this coffee's style turn numbers into intensities.
#[derive(Debug, Clone)]
pub struct TasteMap {
    shape: Shape,
    sour_by_extraction: f64,
    bitter_by_extraction: f64,
    by_strength: f64,
    by_warmth: f64,
    uneven: f64,
}

#[derive(Debug, Clone, Copy)]
enum Shape {
    Straight,
    Classes,
    Clock,
}

/// What a bag adds, whatever the recipe.
#[derive(Debug, Clone, Copy, Default)]
pub struct Flavour {
    pub sour: f64,
    pub bitter: f64,
    pub sweet: f64,
}

impl TasteMap {
    /// Draws the map of a family.
    pub fn draw(family: Family, d: &mut Draw) -> Self {
        let shape = match family {
            Family::Power | Family::Wetting | Family::Series => Shape::Straight,
            Family::Cliff | Family::Erosion => Shape::Classes,
            Family::Channel | Family::Thermal => Shape::Clock,
        };
        let warmth = if family == Family::Thermal { 0.5 } else { 0.15 };
        Self {
            shape,
            sour_by_extraction: d.uniform(0.7, 1.3),
            bitter_by_extraction: d.uniform(0.6, 1.1),
            by_strength: d.uniform(0.3, 0.65),
            by_warmth: d.log_normal(warmth, 0.35),
            uneven: d.uniform(0.8, 1.6),
        }
    }

    /// The intensities of a cup.
    pub fn intensities(&self, c: &Cup, f: &Flavour) -> Intensities {
        let strong = (c.tds_pct / 9.0).ln() / 0.22;
        let extracted = (c.extraction_pct - 20.0) / 2.0;
        let warm = self.by_warmth * (c.temperature_c - 93.0) / 3.0;
        let (sour, bitter, dry) = match self.shape {
            Shape::Straight => (
                -self.sour_by_extraction * extracted,
                self.bitter_by_extraction * extracted,
                0.55 * extracted.max(-0.8),
            ),
            Shape::Classes => {
                let x = c.extraction_pct / 20.0;
                let early = ((1.0 - (-2.4 * x).exp()) / 0.909 / x).ln() / 0.1;
                let late = 2.5 * x.ln() / 0.25;
                (
                    0.8 * self.sour_by_extraction * (early - 0.2 * late),
                    self.bitter_by_extraction * late,
                    0.5 * late,
                )
            }
            Shape::Clock => {
                let slow = (c.time_s / 27.0).ln() / 0.25;
                let long = (c.ratio / 2.0).ln() / 0.25;
                (
                    -self.sour_by_extraction * (0.7 * slow + 0.3 * long + 0.3 * extracted),
                    self.bitter_by_extraction * (0.6 * slow + 0.2 * long + 0.3 * extracted),
                    0.5 * slow,
                )
            }
        };
        let harsh = self.uneven * c.uneven;
        [
            sour + self.by_strength * strong - warm + f.sour + 0.5 * harsh,
            bitter + self.by_strength * strong + warm + f.bitter + harsh,
            1.25 * strong + 0.2 * extracted,
            0.9 * strong + 0.25 * extracted - 0.4 * harsh,
            dry + 0.3 * strong + 1.4 * harsh,
            0.6 * extracted - 0.2 * extracted * extracted - 0.35 * strong - 0.8 * harsh + f.sweet,
        ]
    }
}
