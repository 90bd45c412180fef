//! Quantities as people write them: parsing with comma or point and a unit, physical ranges, conversion and
//! display by preference; moments in words. Inside the program every value is an `f64` in the unit that its name ends with
//! (`dose_g`, `time_s`, `pressure_bar`, `temperature_c`, `tds_pct`, `flow_g_s`).

pub mod dates;
mod manner;
mod parse;
mod quantity;
mod show;

pub use manner::{Manner, degrees, figure, in_use, put, rounded, shortest, unit};
pub use parse::{NumberFault, parse_number};
pub use quantity::{Quantity, QuantityFault, Unit};
pub use show::{MassUnit, PressureUnit, TemperatureUnit, UnitPreferences, capital, in_a_row, listed};
