//! The handles of the bench: range, words and how their numbers are typed.

use crate::domain::{Finer, Roast};
use crate::practice::{Bench, Handle};
use crate::units::{Quantity, UnitPreferences};

/// A handle as it stands.
#[derive(Debug, Clone, PartialEq)]
pub struct HandleView {
    /// Which.
    pub handle: Handle,
    /// Its name.
    pub name: &'static str,
    /// What it means, for a hint.
    pub hint: &'static str,
    /// Smallest, largest, step, in the program's own unit.
    pub marks: (f64, f64, f64),
    /// Where it stands, in the program's own unit.
    pub value: f64,
    /// The value in words where a number says nothing (roast).
    pub word: Option<&'static str>,
    /// How it is typed; `None` for a plain number.
    pub quantity: Option<Quantity>,
    /// Decimals of a plain number.
    pub decimals: usize,
    /// False where the gear cannot set it.
    pub settable: bool,
}

/// The handles in the order shown. Pressure and temperature cannot be set while they are drawn over time.
#[must_use]
pub fn handles(bench: &Bench) -> Vec<HandleView> {
    Handle::ALL
        .into_iter()
        .map(|handle| {
            let marks = bench.marks(handle);
            let value = bench.get(handle);
            let drawn = match handle {
                Handle::Pressure => bench.drawn.pressure_bar.is_some(),
                Handle::Temperature => bench.drawn.temperature_c.is_some(),
                _ => false,
            };
            HandleView {
                handle,
                name: handle.name(),
                hint: match handle {
                    Handle::Grind if bench.grinder.finer == Finer::Lower => {
                        word!("view-practice-handles-lower-is-finer")
                    }
                    Handle::Grind => word!("view-practice-handles-higher-is-finer"),
                    Handle::Dose => word!("view-practice-handles-dry-coffee-in-the-basket"),
                    Handle::Yield => word!("view-practice-handles-drink-in-the-cup"),
                    _ if drawn => word!("view-practice-handles-follows-the-line-drawn-at-the"),
                    Handle::Temperature => word!("view-practice-handles-water-that-enters-the-puck"),
                    Handle::Pressure => word!("view-practice-handles-above-the-bed"),
                    Handle::Care => word!("view-practice-handles-1-usual-less-is-more-even"),
                    Handle::Age => word!("view-practice-handles-counted-from-the-roast-date"),
                    Handle::Roast => word!("view-practice-handles-light-to-dark"),
                },
                marks,
                value,
                word: (handle == Handle::Roast)
                    .then(|| Roast::ALL.get(value as usize).map_or("", |roast| roast.word())),
                quantity: match handle {
                    Handle::Dose => Some(Quantity::Dose),
                    Handle::Yield => Some(Quantity::Yield),
                    Handle::Temperature => Some(Quantity::Temperature),
                    Handle::Pressure => Some(Quantity::Pressure),
                    _ => None,
                },
                decimals: match handle {
                    Handle::Care => 1,
                    Handle::Grind => decimals(marks.2),
                    _ => 0,
                },
                settable: !drawn && marks.1 > marks.0,
            }
        })
        .collect()
}

fn decimals(step: f64) -> usize {
    (0..3).find(|n| ((step * 10f64.powi(*n)).round() - step * 10f64.powi(*n)).abs() < 1e-6).unwrap_or(3)
        as usize
}

/// The number of a handle as a person would type it.
#[must_use]
pub fn typed(view: &HandleView, units: &UnitPreferences) -> String {
    match view.quantity {
        Some(quantity) => crate::workbench::draft::typed(quantity, view.value, units),
        None => crate::workbench::draft::typed_setting(view.value, view.decimals, units),
    }
}

/// A typed number in the program's own unit, or why it is none.
///
/// # Errors
/// One sentence.
pub fn read(view: &HandleView, text: &str, units: &UnitPreferences) -> Result<f64, String> {
    let (low, high, _) = view.marks;
    let slack = 1e-6 * (high - low).abs().max(1.0);
    let value = match view.quantity {
        Some(quantity) => match quantity.parse(text, units.typed_unit(quantity)) {
            Ok(value) => value,
            // A number that no dose or pressure ever has: the bench's own range says more.
            Err(_) if crate::units::parse_number(text).is_ok() => f64::INFINITY,
            Err(fault) => return Err(fault.to_string()),
        },
        None => crate::units::parse_number(text).map_err(|fault| fault.to_string())?,
    };
    if value < low - slack || value > high + slack {
        let shown = |value: f64| match view.quantity {
            Some(quantity) => units.value(quantity, value),
            None => units.number(value, view.decimals),
        };
        return Err(say!(
            "view-practice-handles-the-bench-goes-from-to",
            shown = shown(low),
            shown_2 = shown(high)
        ));
    }
    Ok(value)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_shown_can_be_typed_back_and_the_range_is_told() {
        let units = UnitPreferences { decimal_comma: true, ..UnitPreferences::default() };
        let bench = Bench::default();
        for view in handles(&bench) {
            let back = read(&view, &typed(&view, &units), &units).unwrap();
            assert!((back - view.value).abs() < 1e-9, "{}: {back}", view.name);
            let wrong = read(&view, "-400", &units);
            assert!(wrong.is_err_and(|why| why.starts_with("the bench goes from")), "{}", view.name);
            assert!(read(&view, "much", &units).is_err_and(|why| !why.contains("bench")), "{}", view.name);
            assert!(view.settable);
        }
        let mut drawn = bench;
        drawn.drawn = crate::practice::presets().remove(1).drawn;
        let fixed: Vec<Handle> =
            handles(&drawn).into_iter().filter(|view| !view.settable).map(|view| view.handle).collect();
        assert_eq!(fixed, [Handle::Pressure]);
    }
}
