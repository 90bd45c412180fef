//! Live capture: an instrument that prints numbers, one reading a line.
//!
//! # The line format
//! Plain text, one reading a line, ended by a line feed (a carriage return before it is fine):
//!
//! ```text
//! # anything behind a # is a comment
//! time_ms,pressure_bar,flow_g_s,cup_mass_g,temperature_c
//! 0,0.1,0.0,0.02,92.8
//! 100,0.4,0.1,0.02,92.9
//! ```
//!
//! The header names each quantity with its unit, in the words that files may use too; fields are parted by commas,
//! semicolons, tabs or blanks. The header may come again at any time. A field may be empty. Instead, each line may be one
//! JSON object with such names as keys. Without a time the moment of arrival counts.
//!
//! [`LineSplitter`] makes lines of bytes, [`LineReader`] makes [`Sample`]s of lines, [`Recorder`] finds start and stop
//! in the samples, [`start`] runs all this on its own thread over a [`Source`] and reconnects by itself, and [`replay`]
//! plays a trace as such an instrument.

mod lines;
mod record;
mod replay;
mod samples;
mod source;

pub use lines::{LineSplitter, MAX_LIVE_LINE_BYTES, RawLine};
pub use record::{Recorder, RecorderRules, RecorderState, cut_into_pulls};
pub use replay::{replay, replay_lines};
pub use samples::{LineReader, Mapping, Reading, Sample};
pub use source::{Event, Live, Source, start};
