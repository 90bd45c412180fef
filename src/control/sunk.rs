//! Coffee sunk: grams and money poured away or purged, against the last weeks, and the kilograms that a week will
//! want.

use crate::maths::tails;

/// What one coffee used and lost on one day.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct DayUse {
    /// Day number, one a calendar day.
    pub day: i32,
    /// Ground for drinks that were served, grams.
    pub served_g: f64,
    /// Ground for pulls that were poured away, grams.
    pub sunk_g: f64,
    /// Ground through after moves of the grinder, grams.
    pub purged_g: f64,
}

impl DayUse {
    /// All that was lost, grams.
    #[must_use]
    pub fn lost_g(&self) -> f64 {
        good(self.sunk_g) + good(self.purged_g)
    }

    /// All that was ground, grams.
    #[must_use]
    pub fn ground_g(&self) -> f64 {
        good(self.served_g) + self.lost_g()
    }
}

fn good(g: f64) -> f64 {
    if g.is_finite() && g > 0.0 { g } else { 0.0 }
}

/// A day's loss against the weeks before it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LossReport {
    /// Lost that day, grams.
    pub lost_g: f64,
    /// Its cost, in the currency of the price; `None` without a price.
    pub cost: Option<f64>,
    /// Lost over ground that day, 0–1.
    pub share: f64,
    /// Mean loss a day over the days before that were compared, grams; `None` without any.
    pub usual_g: Option<f64>,
    /// Days compared.
    pub compared: usize,
    /// Share of those days with a smaller loss (ties count half), 0–1.
    pub rank: Option<f64>,
}

/// Loss of `day` against the `weeks` weeks before it, days without any grinding left out. `price_per_kg` in any
/// currency. `None` when nothing was ground that day.
#[must_use]
pub fn loss(days: &[DayUse], day: i32, weeks: u32, price_per_kg: Option<f64>) -> Option<LossReport> {
    let of = |d: i32| {
        let (mut lost, mut ground) = (0.0, 0.0);
        for u in days.iter().filter(|u| u.day == d) {
            lost += u.lost_g();
            ground += u.ground_g();
        }
        (lost, ground)
    };
    let (lost_g, ground) = of(day);
    if ground <= 0.0 {
        return None;
    }
    let span = i32::try_from(weeks.clamp(1, 520) * 7).unwrap_or(3640);
    let earlier: Vec<f64> =
        (day.saturating_sub(span)..day).map(of).filter(|(_, g)| *g > 0.0).map(|(l, _)| l).collect();
    let n = earlier.len();
    let below: f64 = earlier
        .iter()
        .map(|l| if (l - lost_g).abs() < 1e-9 { 0.5 } else { f64::from(u8::from(*l < lost_g)) })
        .sum();
    Some(LossReport {
        lost_g,
        cost: price_per_kg.filter(|p| p.is_finite() && *p >= 0.0).map(|p| lost_g / 1000.0 * p),
        share: lost_g / ground,
        usual_g: (n > 0).then(|| earlier.iter().sum::<f64>() / n as f64),
        compared: n,
        rank: (n > 0).then(|| below / n as f64),
    })
}

/// Kilograms that the coming week will want.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WeekForecast {
    /// Expected, kilograms.
    pub kg: f64,
    /// Range that holds it with the probability asked for.
    pub range_kg: (f64, f64),
    /// Weeks that stand behind it.
    pub weeks: usize,
}

/// Forecast of the seven days from `from_day` on: the mean of the whole weeks before it (at most `weeks` of them,
/// newest first, each week halving in weight every four), with a Student range for one further week whose degrees of
/// freedom follow from the weights. With one week only, the scatter is taken as 20 % (common practice, no source).
/// `None` without one whole week of record.
#[must_use]
pub fn week_forecast(days: &[DayUse], from_day: i32, weeks: u32, share: f64) -> Option<WeekForecast> {
    let first = days.iter().filter(|d| d.ground_g() > 0.0).map(|d| d.day).min()?;
    let mut totals = Vec::new();
    for back in 1..=i32::try_from(weeks.clamp(1, 104)).unwrap_or(104) {
        let start = from_day.saturating_sub(7 * back);
        if start < first {
            break;
        }
        let end = start.saturating_add(7);
        let grams: f64 = days.iter().filter(|d| d.day >= start && d.day < end).map(DayUse::ground_g).sum();
        totals.push(grams / 1000.0);
    }
    if totals.is_empty() {
        return None;
    }
    let weight: Vec<f64> = (0..totals.len()).map(|i| libm::exp2(-(i as f64) / 4.0)).collect();
    let sum: f64 = weight.iter().sum();
    let kg = totals.iter().zip(&weight).map(|(t, w)| t * w).sum::<f64>() / sum;
    let effective = sum * sum / weight.iter().map(|w| w * w).sum::<f64>();
    let (sd, dof) = if totals.len() > 1 {
        let ss = totals.iter().zip(&weight).map(|(t, w)| w * (t - kg) * (t - kg)).sum::<f64>() / sum;
        // Weighted variance with the correction for reliability weights.
        ((ss * effective / (effective - 1.0)).sqrt(), (effective - 1.0).max(1.0))
    } else {
        (0.2 * kg, 3.0)
    };
    let t = tails::student_quantile(0.5 + share.clamp(0.01, 0.999) / 2.0, dof);
    let half = t * sd * (1.0 + 1.0 / effective).sqrt();
    Some(WeekForecast { kg, range_kg: ((kg - half).max(0.0), kg + half), weeks: totals.len() })
}
