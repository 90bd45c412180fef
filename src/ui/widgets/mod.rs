//! Widgets of the window. They know numbers and texts, not bags: screens hand them view values and get back what the
//! person did. Every one has a name for screen readers, works by keyboard, and is at least 44 points high where a
//! finger is to hit it.

mod button;
mod choice;
mod clock_face;
mod control_chart;
mod crowd;
mod curve;
mod drive;
mod empty;
mod hero;
mod liking_row;
mod mark_row;
mod notice;
mod number_field;
mod spark;
mod strips;
mod taste_map;
mod text;
mod text_field;
mod tick_row;
mod toggle;

pub use button::{Button, ButtonKind, icon_button};
pub use choice::{choice_row, pick, tab_row};
pub use clock_face::{ClockFace, ClockPhase};
pub use control_chart::{ChartPanel, ControlChart, control_chart, plotted};
pub use crowd::Making;
pub use curve::Curve;
pub use drive::{DriveEdit, DriveEditor};
pub use empty::empty_state;
pub use hero::{Hero, HeroMove};
pub use liking_row::liking_row;
pub use mark_row::{RowKeys, mark_head, mark_row};
pub use notice::{Caution, caution_line, doubt_lines, fault_line, standing_caution, standing_caution_beside};
pub use number_field::{NumberField, NumberOutcome, field_rows, number_untouched};
pub use spark::{sparkline, taste_glyph};
pub use strips::{Strip, StripBand, StripCursor, StripLine, Stroke3, strips, summary};
pub use taste_map::{MapLook, MapOutcome, taste_map};
pub use text::{
    body, elided, fact_lines, heading, key_cap, line_at, lines_at, overline, size_for, small, small_height,
    soft, text_line, title, wrapped,
};
pub use text_field::{TextField, entered, let_go_of_focus, select_all_on_focus};
pub use tick_row::tick_row;
pub use toggle::toggle;
