//! The inside of the puck at one moment: a picture's numbers, the same as a table and as words.

use crate::practice::Bench;
use crate::practice::sitting::GRID;
use crate::puck::film::{Film, Picture, simulate_filmed};
use crate::units::UnitPreferences;
use crate::words::Name;

/// Seconds between pictures.
pub const EVERY_S: f64 = 0.25;

/// What the colours of the picture show.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Tint {
    /// Strength of the water between the grains, percent.
    #[default]
    Water,
    /// Solubles left in the grains, percent of the start.
    Grains,
}

impl Tint {
    /// Name for a label.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Water => word!("view-practice-inside-strength-of-the-water"),
            Self::Grains => word!("view-practice-inside-left-in-the-grains"),
        }
    }

    /// Value of the brightest colour.
    #[must_use]
    pub fn most(self) -> f64 {
        match self {
            Self::Water => 40.0,
            Self::Grains => 100.0,
        }
    }
}

/// One path through the bed.
#[derive(Debug, Clone, PartialEq)]
pub struct PathView {
    /// "3", or "channel".
    pub name: String,
    /// Share of the bed's area, 0–1.
    pub area_share: f64,
    /// Depth that is wet, 0–1.
    pub front: f64,
    /// Speed of the water against the mean of the bed (1 is the mean); 0 while nothing flows.
    pub speed: f64,
    /// Darcy flux, mm/s.
    pub flux_mm_s: f64,
    /// Share of all water that goes this way, 0–1.
    pub flow_share: f64,
    /// Share of its solubles that has left the grains, 0–1.
    pub dissolved: f64,
    /// Whether it is an open channel.
    pub channel: bool,
    /// Value by depth from the top, as the tint says; `None` where it is dry.
    pub cells: Vec<Option<f64>>,
}

impl PathView {
    fn at(&self, part: f64) -> Option<f64> {
        let cell = ((self.cells.len() as f64 * part) as usize).min(self.cells.len().saturating_sub(1));
        self.cells.get(cell).copied().flatten()
    }
}

/// The inside at one moment.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct InsideView {
    /// Seconds since pump on.
    pub time_s: f64,
    /// The paths, slow to fast.
    pub paths: Vec<PathView>,
}

/// Films the pull of a bench.
///
/// # Errors
/// One sentence when it lies outside the simulator's range.
pub fn film(bench: &Bench, end_s: f64) -> Result<Film, String> {
    let count = (end_s.clamp(1.0, Bench::LONGEST_S) / EVERY_S).ceil() as usize;
    let times: Vec<f64> = (0..=count).map(|k| k as f64 * EVERY_S).collect();
    let told = |fault: crate::puck::PuckFault| fault.to_string();
    let (puck, drive) = (bench.puck().map_err(told)?, bench.drive().map_err(told)?);
    simulate_filmed(&puck, &drive, &GRID, &times).map(|(_, film)| film).map_err(told)
}

/// The inside at a moment, seconds; `None` for an empty film.
#[must_use]
pub fn inside(film: &Film, t: f64, tint: Tint) -> Option<InsideView> {
    let picture = film.at(t)?;
    let paths = (0..picture.tubes.len()).filter_map(|tube| path(picture, tube, tint)).collect();
    Some(InsideView { time_s: picture.time_s, paths })
}

fn path(picture: &Picture, tube: usize, tint: Tint) -> Option<PathView> {
    let found = picture.tubes.get(tube)?;
    let value = |cell: usize| match tint {
        Tint::Water => (picture.wet(tube, cell) > 0.0).then(|| picture.strength(tube, cell) / 10.0),
        Tint::Grains => Some(100.0 * picture.left_in_all(tube, cell)),
    };
    Some(PathView {
        name: if found.channel.is_some() {
            word!("view-practice-inside-channel").to_owned()
        } else {
            format!("{}", tube + 1)
        },
        area_share: found.area_share,
        front: found.front,
        speed: if found.area_share > 0.0 { found.flow_share / found.area_share } else { 0.0 },
        flux_mm_s: found.flux_mm_s,
        flow_share: found.flow_share,
        dissolved: found.dissolved,
        channel: picture.is_open_channel(tube),
        cells: (0..picture.cells).map(value).collect(),
    })
}

/// Heads of the table, short; a screen reader hears them in full.
pub const HEADS: [Name; 7] = [
    name!("view-practice-inside-path-2"),
    name!("view-practice-inside-wet"),
    name!("view-practice-inside-mm-s"),
    name!("view-practice-inside-of-flow"),
    name!("view-practice-inside-given"),
    name!("view-practice-inside-top"),
    name!("view-practice-inside-bottom"),
];

/// What the columns are: depth that is wet, speed of the water, share of all water that goes this way, share of its solubles
/// that has left the grains, what the colours show at the top and at the bottom.
const SPOKEN: [Name; 6] = [
    name!("view-practice-inside-wet"),
    name!("view-practice-inside-speed-in-mm-s"),
    name!("view-practice-inside-share-of-the-flow"),
    name!("view-practice-inside-given-up-by-the-grains"),
    name!("view-practice-inside-at-the-top"),
    name!("view-practice-inside-at-the-bottom"),
];

/// The table, one row a path.
#[must_use]
pub fn rows(view: &InsideView, units: &UnitPreferences) -> Vec<[String; 7]> {
    let share = |value: f64| format!("{} %", units.number(100.0 * value, 0));
    let cell = |value: Option<f64>| {
        value.map_or(word!("view-practice-inside-dry").to_owned(), |v| format!("{} %", units.number(v, 1)))
    };
    view.paths
        .iter()
        .map(|path| {
            [
                path.name.clone(),
                share(path.front),
                units.number(path.flux_mm_s, 2),
                share(path.flow_share),
                share(path.dissolved),
                cell(path.at(0.0)),
                cell(path.at(1.0)),
            ]
        })
        .collect()
}

/// One row of the table as a sentence: "Path 3: wet 100 %, speed in mm/s 0.85, …".
#[must_use]
pub fn row_told(row: &[String; 7]) -> String {
    let [name, rest @ ..] = row;
    let list: Vec<String> = SPOKEN.iter().zip(rest).map(|(head, cell)| format!("{head} {cell}")).collect();
    let name = if name == word!("view-practice-inside-channel") {
        word!("view-practice-inside-channel-2").to_owned()
    } else {
        say!("view-practice-inside-path", name = name)
    };
    format!("{name}: {}", list.join(", "))
}

/// What the picture shows, in words.
#[must_use]
pub fn told(view: &InsideView, tint: Tint, units: &UnitPreferences) -> String {
    let wet: f64 = view.paths.iter().map(|path| path.front * path.area_share).sum();
    let most = |by: &dyn Fn(&PathView) -> f64| view.paths.iter().map(by).fold(0.0, f64::max);
    let least = |by: &dyn Fn(&PathView) -> f64| view.paths.iter().map(by).fold(f64::INFINITY, f64::min);
    let time = say!("view-practice-inside-at-s", number = units.number(view.time_s, 1));
    let speeds = most(&|path| path.speed);
    if wet <= 0.0 {
        return say!("view-practice-inside-the-bed-is-dry", time = time);
    }
    let mut parts = vec![if wet < 0.999 {
        say!("view-practice-inside-the-bed-is-wet-to-of", time = time, number = units.number(100.0 * wet, 0))
    } else {
        say!("view-practice-inside-the-bed-is-wet-throughout", time = time)
    }];
    if speeds > 0.0 {
        let (slow, fast) = (least(&|path| path.flux_mm_s), most(&|path| path.flux_mm_s));
        parts.push(say!(
            "view-practice-inside-water-moves-at-to-mm-s",
            number = units.number(slow, 2),
            number_2 = units.number(fast, 2)
        ));
    }
    let (less, more) = (least(&|path| path.dissolved), most(&|path| path.dissolved));
    parts.push(say!(
        "view-practice-inside-to-of-the-solubles-have-left",
        number = units.number(100.0 * less, 0),
        number_2 = units.number(100.0 * more, 0)
    ));
    let cells = || view.paths.iter().flat_map(|path| &path.cells).flatten().copied();
    let (low, high) = (cells().fold(f64::INFINITY, f64::min), cells().fold(0.0, f64::max));
    if low.is_finite() {
        let what = if tint == Tint::Water {
            word!("view-practice-inside-the-water-holds")
        } else {
            word!("view-practice-inside-what-is-left-in-the-grains")
        };
        parts.push(say!(
            "view-practice-inside-to",
            what = what,
            number = units.number(low, 0),
            number_2 = units.number(high, 0)
        ));
    }
    if view.paths.iter().any(|path| path.channel) {
        parts.push(word!("view-practice-inside-a-channel-is-open").to_owned());
    }
    format!("{}.", parts.join("; "))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_front_goes_down_the_water_shares_are_whole_and_words_follow() {
        let bench = Bench { care: 2.0, ..Bench::default() };
        let pull = bench.pull(&GRID).unwrap();
        let film = film(&bench, pull.trace.end_s).unwrap();
        let units = UnitPreferences::default();
        let mut before = 0.0;
        for t in [0.0, 2.0, 4.0, 8.0, 20.0] {
            let view = inside(&film, t, Tint::Water).unwrap();
            let wet: f64 = view.paths.iter().map(|path| path.front * path.area_share).sum();
            assert!(wet >= before && (view.time_s - t).abs() < 0.2, "{t}: {wet} {}", view.time_s);
            before = wet;
            // The scale of colours reaches as far as the words do.
            let strongest = view.paths.iter().flat_map(|path| path.cells.iter().flatten()).copied();
            let strongest = strongest.fold(0.0, f64::max);
            assert!(strongest <= Tint::Water.most(), "{t} s: {strongest} %");
        }
        assert!((before - 1.0).abs() < 1e-9);
        let dry = inside(&film, 0.0, Tint::Water).unwrap();
        assert_eq!(told(&dry, Tint::Water, &units), "At 0.0 s the bed is dry.");
        assert!(dry.paths.iter().all(|path| path.cells.iter().all(Option::is_none)));
        let late = inside(&film, 20.0, Tint::Grains).unwrap();
        let flow: f64 = late.paths.iter().map(|path| path.flow_share).sum();
        assert!((flow - 1.0).abs() < 1e-6, "{flow}");
        let speeds: Vec<f64> = late.paths.iter().map(|path| path.speed).collect();
        assert!(speeds.is_sorted() && speeds[0] < 0.9 && speeds[speeds.len() - 1] > 1.1, "{speeds:?}");
        assert!(told(&late, Tint::Grains, &units).contains("wet throughout"));
        let table = rows(&late, &units);
        assert_eq!(table.len(), late.paths.len());
        let said = row_told(&table[0]);
        assert!(said.starts_with("Path 1: wet 100 %, speed in mm/s "), "{said}");
    }
}
