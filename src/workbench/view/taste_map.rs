//! The taste map: mean liking over two levers with its uncertainty, the path of the pulls, the next pull and the best; as
//! a picture's parts, in words, and as numbers.

use std::io::{self, Write};

use super::page::{degrees, setting};
use super::words::lever_word;
use crate::advisor::{Outlook, Standing, TasteMap};
use crate::domain::{Gear, Lever, Recipe};
use crate::units::{Quantity, UnitPreferences};

/// One pull on the map.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MapPoint {
    /// Its number in the ledger.
    pub number: usize,
    /// What was pulled.
    pub recipe: Recipe,
    /// How it was liked, 1–9.
    pub liking: Option<u8>,
}

/// A line of equal mean liking.
#[derive(Debug, Clone, PartialEq)]
pub struct Contour {
    /// The liking.
    pub level: f64,
    /// Its pieces, each from one point to another (across, up), in the levers' own units.
    pub pieces: Vec<[[f64; 2]; 2]>,
}

/// The map.
#[derive(Debug, Clone, PartialEq)]
pub struct MapView {
    /// Mean liking and its standard deviation over the settings.
    pub map: TasteMap,
    /// Lines of equal liking, at every half point.
    pub contours: Vec<Contour>,
    /// The pulls in order.
    pub path: Vec<MapPoint>,
    /// The next pull.
    pub next: Recipe,
    /// The recipe that would be served now; the levers not on the map stand as it has them.
    pub best: Recipe,
    /// How the best stands.
    pub best_standing: Standing,
}

/// Above this standard deviation of the mean, liking points, a place of the map counts as unknown.
pub const UNKNOWN_SD: f64 = 1.0;

/// Makes the map.
#[must_use]
pub fn map_view(
    outlook: &Outlook,
    best: &Recipe,
    next: &Recipe,
    path: Vec<MapPoint>,
    (across, up): (Lever, Lever),
) -> MapView {
    let values = |lever: Lever| {
        let recent = path.iter().rev().take(20).map(|point| &point.recipe);
        let keep: Vec<f64> = recent.chain([best, next]).filter_map(|recipe| recipe.get(lever)).collect();
        (lever, outlook.worth_showing(lever, best, &keep))
    };
    let map = outlook.taste_map(best, values(across), values(up));
    let contours = contours(&map);
    MapView { map, contours, path, next: *next, best: *best, best_standing: outlook.standing(best) }
}

/// Lines of equal liking at every half point, by marching over triangles (no ambiguous case).
fn contours(map: &TasteMap) -> Vec<Contour> {
    let (low, high) =
        map.mean.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(*v), h.max(*v)));
    let mut out = Vec::new();
    let mut level = (low * 2.0).ceil() / 2.0;
    while level < high && level <= 9.0 {
        let mut pieces = Vec::new();
        for (row, ups) in map.up_values.windows(2).enumerate() {
            for (column, across) in map.across_values.windows(2).enumerate() {
                let ([x0, x1], [y0, y1]) = (across, ups) else { continue };
                let corner = |x: f64, y: f64, r: usize, c: usize| {
                    Some(([x, y], *map.mean.get((row + r) * map.across_values.len() + column + c)?))
                };
                let corners = [
                    corner(*x0, *y0, 0, 0),
                    corner(*x1, *y0, 0, 1),
                    corner(*x1, *y1, 1, 1),
                    corner(*x0, *y1, 1, 0),
                ];
                let [Some(a), Some(b), Some(c), Some(d)] = corners else { continue };
                for triangle in [[a, b, c], [a, c, d]] {
                    pieces.extend(crossing(triangle, level));
                }
            }
        }
        if !pieces.is_empty() {
            out.push(Contour { level, pieces });
        }
        level += 0.5;
    }
    out
}

type Corner = ([f64; 2], f64);

/// Where a triangle is cut by a level.
fn crossing([a, b, c]: [Corner; 3], level: f64) -> Option<[[f64; 2]; 2]> {
    let mut cuts = [(a, b), (b, c), (c, a)].into_iter().filter_map(|((p, v), (q, w))| {
        let apart = (v < level) != (w < level);
        let share = (level - v) / (w - v);
        apart.then(|| [p[0] + share * (q[0] - p[0]), p[1] + share * (q[1] - p[1])])
    });
    Some([cuts.next()?, cuts.next()?])
}

impl MapView {
    /// Lever across, lever up.
    #[must_use]
    pub fn levers(&self) -> (Lever, Lever) {
        (self.map.across, self.map.up)
    }

    /// Range of the settings across and up.
    #[must_use]
    pub fn ranges(&self) -> [(f64, f64); 2] {
        [&self.map.across_values, &self.map.up_values].map(|values| {
            let (from, to) = (values.first().copied().unwrap_or(0.0), values.last().copied().unwrap_or(1.0));
            if to > from { (from, to) } else { (from - 0.5, to + 0.5) }
        })
    }

    /// Where a recipe lies (across, up).
    #[must_use]
    pub fn place(&self, recipe: &Recipe) -> Option<[f64; 2]> {
        Some([recipe.get(self.map.across)?, recipe.get(self.map.up)?])
    }

    /// Least and greatest mean liking.
    #[must_use]
    pub fn span(&self) -> (f64, f64) {
        self.map.mean.iter().fold((9.0f64, 1.0f64), |(l, h), v| (l.min(*v), h.max(*v)))
    }

    /// The map in a few sentences, for whoever does not see it; `covered` leaves out the best and the next pull.
    #[must_use]
    pub fn summary(&self, gear: &Gear, units: &UnitPreferences, covered: bool) -> String {
        let (across, up) = self.levers();
        let pair = |recipe: &Recipe| {
            [across, up]
                .into_iter()
                .filter_map(|lever| Some(lever_value(lever, recipe.get(lever)?, gear, units)))
                .collect::<Vec<_>>()
                .join(", ")
        };
        let (name, name_2) = (lever_word(across).to_lowercase(), lever_word(up).to_lowercase());
        let mut text = if covered {
            say!("view-taste-map-taste-map-across-up", to_lowercase = name, to_lowercase_2 = name_2)
        } else {
            say!(
                "view-taste-map-taste-map-across-up-best-liking",
                to_lowercase = name,
                to_lowercase_2 = name_2,
                pair = pair(&self.best),
                number = units.number(self.best_standing.mean, 1),
                number_2 = units.number(self.best_standing.sd, 1),
                pair_2 = pair(&self.next)
            )
        };
        if !self.path.is_empty() {
            let stops: Vec<String> = self
                .path
                .iter()
                .map(|point| {
                    let liking = point.liking.map_or(String::new(), |l| say!("view-taste-map-liking", l = l));
                    format!("{}: {}{liking}", point.number, pair(&point.recipe))
                })
                .collect();
            text.push_str(&say!("view-taste-map-pulls-in-order", join = stops.join("; ")));
        }
        text
    }

    /// The map as a small table: settings across, then for each setting upward (the highest first) its cells, each as
    /// "6.9 ± 0.6".
    #[must_use]
    pub fn table(
        &self,
        gear: &Gear,
        units: &UnitPreferences,
        columns: usize,
        rows: usize,
    ) -> (Vec<String>, Vec<(String, Vec<String>)>) {
        let (across, up) = self.levers();
        let picks = |count: usize, most: usize| -> Vec<usize> {
            let shown = count.min(most.max(1));
            (0..shown).map(|i| if shown > 1 { i * (count - 1) / (shown - 1) } else { 0 }).collect()
        };
        let xs = picks(self.map.across_values.len(), columns);
        let ys = picks(self.map.up_values.len(), rows);
        let head = xs
            .iter()
            .filter_map(|x| Some(lever_value(across, *self.map.across_values.get(*x)?, gear, units)))
            .collect();
        let body = ys
            .iter()
            .rev()
            .filter_map(|y| {
                let name = lever_value(up, *self.map.up_values.get(*y)?, gear, units);
                let cells = xs
                    .iter()
                    .filter_map(|x| {
                        let at = y * self.map.across_values.len() + x;
                        let (mean, sd) = (self.map.mean.get(at)?, self.map.sd.get(at)?);
                        Some(format!("{} ± {}", units.number(*mean, 1), units.number(*sd, 1)))
                    })
                    .collect();
                Some((name, cells))
            })
            .collect();
        (head, body)
    }
}

/// One lever's value in a word: "grind 14.0", "36.0 g yield", "93 °C".
#[must_use]
pub fn lever_value(lever: Lever, value: f64, gear: &Gear, units: &UnitPreferences) -> String {
    match lever {
        Lever::Grind => say!("view-taste-map-grind", setting = setting(gear, value, units)),
        Lever::Dose => say!("view-taste-map-dose", value = units.value(Quantity::Dose, value)),
        Lever::Yield => say!("view-taste-map-yield", value = units.value(Quantity::Yield, value)),
        Lever::Temperature => degrees(value, units),
    }
}

/// The pairs of levers that a gear can be mapped over, the usual one first.
#[must_use]
pub fn pairs(gear: &Gear) -> Vec<(Lever, Lever)> {
    let can: Vec<Lever> = Lever::ALL.into_iter().filter(|lever| gear.scale(*lever).is_some()).collect();
    let mut all = vec![(Lever::Grind, Lever::Yield)];
    for (at, a) in can.iter().enumerate() {
        for b in can.iter().skip(at + 1) {
            if !all.contains(&(*a, *b)) {
                all.push((*a, *b));
            }
        }
    }
    all
}

/// Column of a lever in a table of numbers.
#[must_use]
pub fn column(lever: Lever) -> &'static str {
    match lever {
        Lever::Grind => "grind_setting",
        Lever::Dose => "dose_g",
        Lever::Yield => "yield_g",
        Lever::Temperature => "temperature_c",
    }
}

/// Writes the map as CSV, one row a place, in the program's own units: the four levers, mean liking, its standard
/// deviation, and what the place is (`best`, `next`, the number of a pull, or nothing).
///
/// # Errors
/// Whatever the writer reports.
pub fn write_map(view: &MapView, gear: &Gear, to: &mut dyn Write) -> io::Result<()> {
    let mut table = csv::Writer::from_writer(to);
    let mut head: Vec<&str> = Lever::ALL.into_iter().map(column).collect();
    head.extend(["liking_mean_1_9", "liking_sd", word!("view-taste-map-place")]);
    table.write_record(&head)?;
    let (across, up) = view.levers();
    let width = view.map.across_values.len().max(1);
    for (at, (mean, sd)) in view.map.mean.iter().zip(&view.map.sd).enumerate() {
        let (Some(a), Some(u)) = (view.map.across_values.get(at % width), view.map.up_values.get(at / width))
        else {
            continue;
        };
        let recipe = gear.snap(&view.best.with(across, *a).with(up, *u));
        let same = |other: &Recipe| gear.snap(other) == recipe;
        let mut places: Vec<String> = Vec::new();
        if same(&view.best) {
            places.push(word!("view-taste-map-best").to_owned());
        }
        if same(&view.next) {
            places.push(word!("view-taste-map-next").to_owned());
        }
        places.extend(view.path.iter().filter(|p| same(&p.recipe)).map(|p| p.number.to_string()));
        let mut row: Vec<String> = Lever::ALL
            .into_iter()
            .map(|lever| recipe.get(lever).map(|v| v.to_string()).unwrap_or_default())
            .collect();
        row.extend([format!("{mean:.4}"), format!("{sd:.4}"), places.join(" ")]);
        table.write_record(&row)?;
    }
    table.flush()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::workbench::{Believing, Question, believe, engine, samples};

    fn view() -> MapView {
        let now = jiff::Timestamp::from_second(1_790_000_000).unwrap();
        let (mut notebook, id) = samples::notebook_with_pulls(3, now);
        for (at, pull) in notebook.bags[0].pulls.iter_mut().enumerate() {
            pull.used.grind = 15.0 - at as f64;
            pull.taste.set_liking(Some(4 + at as i64));
        }
        let question =
            Question::about(&notebook, id, jiff::civil::date(2026, 9, 22), &jiff::tz::TimeZone::UTC, 1)
                .unwrap();
        let advice = engine()(&question);
        let levers = (Lever::Grind, Lever::Yield);
        let asked = Believing { question, best: advice.best, next: advice.recipe, levers };
        let believed = believe(&asked);
        // The same numbers as the advice gives, and its mean within its own range.
        let expect = believed.outlook.expect(&advice.recipe);
        assert_eq!(
            (expect.time_s.p10, expect.liking.p90),
            (advice.expect.time_s.p10, advice.expect.liking.p90)
        );
        believed.map
    }

    #[test]
    fn the_map_holds_the_pulls_and_its_lines_lie_on_their_level() {
        let view = view();
        let [(from, to), (low, high)] = view.ranges();
        for recipe in view.path.iter().map(|p| &p.recipe).chain([&view.best, &view.next]) {
            let [x, y] = view.place(recipe).unwrap();
            assert!((from..=to).contains(&x) && (low..=high).contains(&y), "{x} {y} {from} {to}");
        }
        assert!(!view.contours.is_empty());
        // On a plane, the line of a level is where the plane has it (its lowest corner, at 4.0, is no line).
        let plane = |x: f64, y: f64| 4.0 + 0.25 * x + 0.125 * y;
        let (xs, ys) = (vec![0.0, 1.0, 2.0, 4.0], vec![0.0, 2.0, 4.0]);
        let mean = ys.iter().flat_map(|y| xs.iter().map(move |x| plane(*x, *y))).collect::<Vec<_>>();
        let map = TasteMap {
            across: Lever::Grind,
            up: Lever::Yield,
            sd: vec![0.5; mean.len()],
            across_values: xs,
            up_values: ys,
            mean,
        };
        let lines = contours(&map);
        assert_eq!(lines.iter().map(|line| line.level).collect::<Vec<_>>(), [4.5, 5.0]);
        for line in lines {
            for [x, y] in line.pieces.into_iter().flatten() {
                assert!((plane(x, y) - line.level).abs() < 1e-9);
            }
        }
    }

    #[test]
    fn the_map_is_told_in_words_and_in_numbers() {
        let (view, gear, units) = (view(), samples::gear(), UnitPreferences::default());
        let text = view.summary(&gear, &units, false);
        assert!(text.starts_with("Taste map, grind across, yield up. Best: grind "), "{text}");
        assert!(text.contains("1: grind 15.0, yield 36.0 g, liking 4; 2: grind 14.0"), "{text}");
        let (head, body) = view.table(&gear, &units, 5, 4);
        assert_eq!((head.len(), body.len()), (5, 4));
        assert!(body.iter().all(|(_, cells)| cells.len() == 5 && cells.iter().all(|c| c.contains(" ± "))));
        assert!(body[0].0 > body[3].0, "the highest first");
        let mut bytes = Vec::new();
        write_map(&view, &gear, &mut bytes).unwrap();
        let text = String::from_utf8(bytes).unwrap();
        assert!(
            text.starts_with("grind_setting,dose_g,yield_g,temperature_c,liking_mean_1_9,liking_sd,place\n")
        );
        assert_eq!(text.lines().count(), 1 + view.map.mean.len());
        assert!(!text.contains("NaN") && !text.contains("inf"));
    }

    #[test]
    fn only_levers_that_can_be_set_are_offered() {
        let mut gear = samples::gear();
        assert_eq!(pairs(&gear).len(), 6);
        gear.temperature_c = None;
        assert_eq!(
            pairs(&gear),
            [(Lever::Grind, Lever::Yield), (Lever::Grind, Lever::Dose), (Lever::Dose, Lever::Yield)]
        );
    }
}
