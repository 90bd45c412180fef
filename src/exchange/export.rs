//! Tables for R, Python and spreadsheets: pulls and traces as CSV (RFC 4180: commas, decimal points, quotes where
//! needed, UTF-8), each column's unit in its name, with a text that says what every column means.

use std::io::{self, Write};

use crate::domain::{Attribute, Bag, Channel, Notebook, Process, Pull, Roast, Trace};
use crate::words::Name;

/// One column of a table: its name, and what it means.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ColumnNote {
    /// Name in the header, with the unit at its end.
    pub name: &'static str,
    /// Meaning, unit, and what an empty cell says.
    pub meaning: Name,
}

const fn note(name: &'static str, meaning: Name) -> ColumnNote {
    ColumnNote { name, meaning }
}

/// Columns of the table of pulls, in order.
pub const PULL_COLUMNS: &[ColumnNote] = &[
    note("pull_id", name!("exchange-export-pull-pull-id")),
    note("pulled_at", name!("exchange-export-pull-pulled-at")),
    note("bag_id", name!("exchange-export-pull-bag-id")),
    note("bag", name!("exchange-export-pull-bag")),
    note("roaster", name!("exchange-export-pull-roaster")),
    note("roast_level", name!("exchange-export-pull-roast-level")),
    note("process", name!("exchange-export-pull-process")),
    note("days_since_roast_d", name!("exchange-export-pull-days-since-roast-d")),
    note("station", name!("exchange-export-pull-station")),
    note("grinder", name!("exchange-export-pull-grinder")),
    note("machine", name!("exchange-export-pull-machine")),
    note("basket_diameter_mm", name!("exchange-export-pull-basket-diameter-mm")),
    note("drinker", name!("exchange-export-pull-drinker")),
    note("pulled_by", name!("exchange-export-pull-pulled-by")),
    note("grind_setting", name!("exchange-export-pull-grind-setting")),
    note("dose_g", name!("exchange-export-pull-dose-g")),
    note("yield_g", name!("exchange-export-pull-yield-g")),
    note("temperature_c", name!("exchange-export-pull-temperature-c")),
    note("ratio_g_per_g", name!("exchange-export-pull-ratio-g-per-g")),
    note("time_s", name!("exchange-export-pull-time-s")),
    note("first_drip_s", name!("exchange-export-pull-first-drip-s")),
    note("strength_pct", name!("exchange-export-pull-strength-pct")),
    note("extraction_pct", name!("exchange-export-pull-extraction-pct")),
    note("planned_grind_setting", name!("exchange-export-pull-planned-grind-setting")),
    note("planned_dose_g", name!("exchange-export-pull-planned-dose-g")),
    note("planned_yield_g", name!("exchange-export-pull-planned-yield-g")),
    note("planned_temperature_c", name!("exchange-export-pull-planned-temperature-c")),
    note("sourness_jar", name!("exchange-export-pull-sourness-jar")),
    note("bitterness_jar", name!("exchange-export-pull-as-sourness-jar")),
    note("strength_jar", name!("exchange-export-pull-as-sourness-jar")),
    note("body_jar", name!("exchange-export-pull-as-sourness-jar")),
    note("astringency_jar", name!("exchange-export-pull-as-sourness-jar")),
    note("sweetness_jar", name!("exchange-export-pull-as-sourness-jar")),
    note("liking_1_9", name!("exchange-export-pull-liking-1-9")),
    note("choked", name!("exchange-export-pull-choked")),
    note("spurting", name!("exchange-export-pull-spurting")),
    note("sink", name!("exchange-export-pull-sink")),
    note("has_trace", name!("exchange-export-pull-has-trace")),
    note("note", name!("exchange-export-pull-note")),
];

/// Columns of the table of one trace, in order; channels that were not recorded are left out.
pub const TRACE_COLUMNS: &[ColumnNote] = &[
    note("time_s", name!("exchange-export-trace-time-s")),
    note("pressure_bar", name!("exchange-export-trace-pressure-bar")),
    note("flow_g_s", name!("exchange-export-trace-flow-g-s")),
    note("cup_mass_g", name!("exchange-export-trace-cup-mass-g")),
    note("temperature_c", name!("exchange-export-trace-temperature-c")),
];

fn number(value: Option<f64>) -> String {
    // The shortest text that reads back to the same number.
    value.filter(|v| v.is_finite()).map(|v| v.to_string()).unwrap_or_default()
}

fn flag(value: bool) -> String {
    u8::from(value).to_string()
}

/// Free words must not be taken for a formula by a spreadsheet: a leading `=`, `+`, `-`, `@`, tab or return gets an
/// apostrophe before it (OWASP, "CSV injection"; recalled from memory).
fn words(text: &str) -> String {
    if text.starts_with(['=', '+', '-', '@', '\t', '\r']) { format!("'{text}") } else { text.to_owned() }
}

/// Writes the table of pulls of the whole notebook (removed records left out), bags and pulls in their order.
///
/// # Errors
/// Whatever the writer reports.
pub fn write_pulls<W: Write>(notebook: &Notebook, to: W) -> io::Result<()> {
    let bags = notebook.bags.iter().filter(|bag| bag.stamp.is_live());
    write_pulls_of(notebook, bags.flat_map(|bag| bag.live_pulls().map(move |pull| (bag, pull))), to)
}

/// Writes the table of the given pulls.
///
/// # Errors
/// Whatever the writer reports.
pub fn write_pulls_of<'a, W: Write>(
    notebook: &Notebook,
    pulls: impl IntoIterator<Item = (&'a Bag, &'a Pull)>,
    to: W,
) -> io::Result<()> {
    let mut table = csv::Writer::from_writer(to);
    table.write_record(PULL_COLUMNS.iter().map(|column| column.name))?;
    for (bag, pull) in pulls {
        table.write_record(pull_row(notebook, bag, pull))?;
    }
    table.flush()
}

fn pull_row(notebook: &Notebook, bag: &Bag, pull: &Pull) -> Vec<String> {
    pull_cells(notebook, bag, pull, words)
}

/// The cells of a pull's row, in the order of [`PULL_COLUMNS`]; `words` prepares free words.
pub(super) fn pull_cells(
    notebook: &Notebook,
    bag: &Bag,
    pull: &Pull,
    words: impl Fn(&str) -> String,
) -> Vec<String> {
    let station = notebook.station(pull.station);
    let of_station = |get: &dyn Fn(&crate::domain::Station) -> String| station.map(get).unwrap_or_default();
    let day = jiff::tz::TimeZone::UTC.to_datetime(pull.pulled_at).date();
    let plan = pull.plan.as_ref();
    let mark =
        |attribute: Attribute| pull.taste.mark(attribute).map(|m| m.value().to_string()).unwrap_or_default();
    vec![
        pull.id.to_string(),
        pull.pulled_at.to_string(),
        bag.id.to_string(),
        words(&bag.name),
        words(&bag.roaster),
        bag.roast.map(Roast::key).unwrap_or_default().to_owned(),
        bag.process.map(Process::key).unwrap_or_default().to_owned(),
        bag.days_since_roast(day).map(|d| d.to_string()).unwrap_or_default(),
        of_station(&|s| words(&s.name)),
        of_station(&|s| words(&s.grinder_name)),
        of_station(&|s| words(&s.machine_name)),
        number(station.map(|s| s.basket.diameter_mm)),
        notebook.drinker(bag.drinker).map(|d| words(&d.name)).unwrap_or_default(),
        words(&pull.pulled_by),
        number(Some(pull.used.grind)),
        number(Some(pull.used.dose_g)),
        number(Some(pull.used.yield_g)),
        number(pull.used.temperature_c),
        number(pull.used.ratio()),
        number(pull.time_s),
        number(pull.first_drip_s),
        number(pull.tds_pct),
        number(pull.extraction_pct()),
        number(plan.map(|p| p.grind)),
        number(plan.map(|p| p.dose_g)),
        number(plan.map(|p| p.yield_g)),
        number(plan.and_then(|p| p.temperature_c)),
        mark(Attribute::Sourness),
        mark(Attribute::Bitterness),
        mark(Attribute::Strength),
        mark(Attribute::Body),
        mark(Attribute::Astringency),
        mark(Attribute::Sweetness),
        pull.taste.liking().map(|l| l.to_string()).unwrap_or_default(),
        flag(pull.flags.choked),
        flag(pull.flags.spurting),
        flag(pull.flags.sink),
        flag(pull.has_trace),
        words(&pull.note),
    ]
}

fn channel_column(channel: Channel) -> &'static str {
    match channel {
        Channel::Pressure => "pressure_bar",
        Channel::Flow => "flow_g_s",
        Channel::CupMass => "cup_mass_g",
        Channel::Temperature => "temperature_c",
    }
}

/// Writes one trace: time and the channels it has; a missing sample is an empty cell. Numbers are written so that they
/// read back to the same doubles, and [`crate::exchange::table`] reads the file back by itself.
///
/// # Errors
/// Whatever the writer reports.
pub fn write_trace<W: Write>(trace: &Trace, to: W) -> io::Result<()> {
    let mut table = csv::Writer::from_writer(to);
    let channels: Vec<(Channel, &[f64])> =
        Channel::ALL.into_iter().filter_map(|channel| Some((channel, trace.get(channel)?))).collect();
    let names = std::iter::once("time_s").chain(channels.iter().map(|(channel, _)| channel_column(*channel)));
    table.write_record(names)?;
    for (at, time) in trace.time_s().iter().enumerate() {
        table.write_field(number(Some(*time)))?;
        for (_, samples) in &channels {
            table.write_field(number(samples.get(at).copied()))?;
        }
        table.write_record(None::<&[u8]>)?;
    }
    table.flush()
}

/// Several traces in one long table: `pull` (the caller's name for each) before the columns of [`TRACE_COLUMNS`], all of
/// them, empty where not recorded. Traces are added one by one, so that only one has to be in memory.
pub struct LongTraces<W: Write>(csv::Writer<W>);

impl<W: Write> LongTraces<W> {
    /// Writes the header.
    ///
    /// # Errors
    /// Whatever the writer reports.
    pub fn begin(to: W) -> io::Result<Self> {
        let mut table = csv::Writer::from_writer(to);
        table.write_record(std::iter::once("pull").chain(TRACE_COLUMNS.iter().map(|column| column.name)))?;
        Ok(Self(table))
    }

    /// Writes the samples of one trace.
    ///
    /// # Errors
    /// Whatever the writer reports.
    pub fn add(&mut self, name: &str, trace: &Trace) -> io::Result<()> {
        for (at, time) in trace.time_s().iter().enumerate() {
            self.0.write_field(words(name))?;
            self.0.write_field(number(Some(*time)))?;
            for channel in Channel::ALL {
                let sample = trace.get(channel).and_then(|samples| samples.get(at)).copied();
                self.0.write_field(number(sample))?;
            }
            self.0.write_record(None::<&[u8]>)?;
        }
        Ok(())
    }

    /// Ends the table.
    ///
    /// # Errors
    /// Whatever the writer reports.
    pub fn end(mut self) -> io::Result<()> {
        self.0.flush()
    }
}

/// Writes several traces into one long table, as [`LongTraces`] does.
///
/// # Errors
/// Whatever the writer reports.
pub fn write_traces_long<'a, W: Write>(
    traces: impl IntoIterator<Item = (&'a str, &'a Trace)>,
    to: W,
) -> io::Result<()> {
    let mut table = LongTraces::begin(to)?;
    for (name, trace) in traces {
        table.add(name, trace)?;
    }
    table.end()
}

/// The text that goes with the tables: what every column means.
#[must_use]
pub fn data_dictionary() -> String {
    let underlined = |text: &mut String, title: &str, by: &str| {
        text.push_str(title);
        text.push('\n');
        text.push_str(&by.repeat(title.chars().count()));
        text.push('\n');
    };
    let mut text = String::new();
    underlined(&mut text, word!("exchange-export-title"), "=");
    text.push('\n');
    text.push_str(word!("exchange-export-about"));
    text.push('\n');
    for (title, columns) in
        [(word!("exchange-export-pulls"), PULL_COLUMNS), (word!("exchange-export-traces"), TRACE_COLUMNS)]
    {
        text.push('\n');
        underlined(&mut text, title, "-");
        for column in columns {
            text.push_str(&format!("{:<24}{}\n", column.name, column.meaning));
        }
    }
    text.push('\n');
    underlined(&mut text, word!("exchange-export-reading"), "-");
    text.push_str(
        "R:       pulls <- read.csv(\"pulls.csv\")\n\
         Python:  pulls = pandas.read_csv(\"pulls.csv\", parse_dates=[\"pulled_at\"])\n",
    );
    text
}
