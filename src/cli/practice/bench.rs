//! The bench, the inside of the puck, sweeps and studies as text.

use std::fmt::Write as _;
use std::path::Path;

use super::{all, known, number, pair, read_number, text};
use crate::cli::args::Given;
use crate::cli::simulate::write_trace;
use crate::domain::{Lever, PullId};
use crate::exchange::table::Table;
use crate::practice::sitting::GRID;
use crate::practice::{
    Bench, BenchFit, BenchPull, Handle, Pack, Palate, Seen, Watch, fit_to, presets, sweep,
};
use crate::puck::Profile;
use crate::store::{self, Folder, Holder};
use crate::units::{UnitPreferences, capital};
use crate::workbench::practice::{Line, beside};
use crate::workbench::view::practice::cup::cup;
use crate::workbench::view::practice::inside::{EVERY_S, Tint, film, inside, told};
use crate::workbench::view::practice::sweeps::{COUNT, run_study, study};
use crate::workbench::view::practice::{honesty_whole, misses_table};

/// Names of the handles as they are typed.
pub(super) const HANDLES: [(&str, Handle); 8] = [
    ("grind", Handle::Grind),
    ("dose", Handle::Dose),
    ("yield", Handle::Yield),
    ("temperature", Handle::Temperature),
    ("pressure", Handle::Pressure),
    ("care", Handle::Care),
    ("age", Handle::Age),
    ("roast", Handle::Roast),
];

fn handle(name: &str) -> Result<Handle, String> {
    HANDLES.iter().find(|(known, _)| *known == name).map(|(_, handle)| *handle).ok_or_else(|| {
        format!("there is no handle “{name}”; known are {}", HANDLES.map(|(name, _)| name).join(", "))
    })
}

/// The lever of that name.
pub(super) fn lever(name: &str) -> Result<Lever, String> {
    match name {
        "grind" => Ok(Lever::Grind),
        "dose" => Ok(Lever::Dose),
        "yield" => Ok(Lever::Yield),
        "temperature" => Ok(Lever::Temperature),
        _ => Err(format!("there is no lever “{name}”; known are grind, dose, yield, temperature")),
    }
}

fn units() -> UnitPreferences {
    UnitPreferences::default()
}

/// The bench as the options set it, and how well it was fitted where that was asked.
fn stand(given: &Given, pack: &Pack) -> Result<(Bench, Option<BenchFit>), String> {
    let mut bench = Bench::default();
    if let Some(name) = text(given, "coffee") {
        bench.coffee = known(&pack.coffees, "coffee", &name)?.clone();
    }
    let mut fit = None;
    if let Some(what) = text(given, "like") {
        let made = like(&what, given, &bench)?;
        bench = made.bench.clone();
        fit = Some(made);
    }
    if let Some(at) = number(given, "drive")? {
        let all = presets();
        let preset = (at >= 1.0).then(|| all.get(at as usize - 1)).flatten();
        bench.drawn = preset.ok_or("--drive: there is no such drive; --drives lists them")?.drawn.clone();
    }
    for drawn in all(given, "draw") {
        let (name, points) = pair(&drawn)?;
        let line = Line::ALL.into_iter().find(|line| line.name().eq_ignore_ascii_case(name));
        let line = line.ok_or_else(|| format!("--draw: “{name}” is none of pressure, flow, temperature"))?;
        let profile = profile(points).map_err(|why| format!("--draw {name}: {why}"))?;
        match line {
            Line::Pressure => bench.drawn.pressure_bar = Some(profile),
            Line::Flow => bench.drawn.flow_ml_s = Some(profile),
            Line::Temperature => bench.drawn.temperature_c = Some(profile),
        }
    }
    for moved in all(given, "set") {
        let (name, value) = pair(&moved)?;
        let handle = handle(name)?;
        let value = read_number(value).map_err(|why| format!("--set {name}: {why}"))?;
        let (low, high, _) = bench.marks(handle);
        if value < low || value > high {
            return Err(format!("--set {name}: the bench goes from {low} to {high}"));
        }
        bench.set(handle, value);
    }
    Ok((bench, fit))
}

fn profile(points: &str) -> Result<Profile, String> {
    let read = |point: &str| {
        let (t, v) = point.split_once(':').ok_or_else(|| format!("“{point}” is not SECOND:VALUE"))?;
        Ok::<_, String>((read_number(t)?, read_number(v)?))
    };
    Ok(Profile::lines(points.split(',').map(read).collect::<Result<Vec<_>, _>>()?))
}

/// Makes a bench behave like a real pull.
fn like(what: &str, given: &Given, from: &Bench) -> Result<BenchFit, String> {
    let path = Path::new(what);
    let (stands, trace) = match what.parse::<PullId>() {
        Ok(id) if !path.exists() => {
            let place = given.place.notebook.clone().or_else(store::default_folder);
            let place = place.ok_or("say where the notebook is with --notebook DIR")?;
            let opened = Folder::read(&place, jiff::Timestamp::now(), &Holder::here())
                .map_err(|fault| fault.to_string())?;
            let has = |bag: &&crate::domain::Bag| bag.pulls.iter().any(|pull| pull.id == id);
            let bag = opened.notebook.bags.iter().find(has).ok_or("that pull is not in this notebook")?;
            let trace = opened.folder.load_trace(id).map_err(|fault| fault.to_string())?;
            let trace = std::sync::Arc::new(trace.ok_or("no trace is kept for that pull")?);
            let real = beside(&opened.notebook, bag, id, trace).ok_or("the station of that pull is gone")?;
            (real.stands(from), real.trace)
        }
        _ => {
            let read = Table::open(path).and_then(|table| table.import_guessed());
            let trace = read.map_err(|fault| format!("{what}: {fault}"))?.trace;
            (from.clone(), std::sync::Arc::new(trace))
        }
    };
    let fit = fit_to(&stands, &trace, |_| true).map_err(|fault| fault.to_string())?;
    if fit.is_good() {
        return Ok(fit);
    }
    Err(format!(
        "{what}: the simulated cup stays {:.1} g off the recorded {:.0} g in the mean; take a pull without a channel whose \
         trace holds one pull and nothing else, and say with --set how it was made",
        fit.rms_g,
        fit.last_g()
    ))
}

/// One pull in numbers and words.
pub(super) fn bench(given: &Given, pack: &Pack) -> Result<String, String> {
    let mut told = String::new();
    if given.has("drives") {
        for (at, preset) in presets().iter().enumerate() {
            line(&mut told, &format!("{} {}", at + 1, preset.name));
        }
        return Ok(told);
    }
    let (bench, fit) = stand(given, pack)?;
    let pull = bench.pull(&GRID).map_err(|fault| fault.to_string())?;
    for (name, handle) in HANDLES {
        line(&mut told, &format!("{name} {}", rounded(bench.get(handle))));
    }
    line(&mut told, &format!("coffee {}", bench.coffee.name));
    if let Some(fit) = fit {
        line(&mut told, &fit.sentence());
    }
    let view = cup(&pull, None, &units());
    for fact in &view.facts {
        line(&mut told, &format!("{}: {}", fact.name, fact.value));
    }
    let liking = pull.liking(&Palate::default());
    line(&mut told, &format!("Liking of the usual drinker: {}", units().number(liking, 1)));
    line(&mut told, &view.words);
    line(&mut told, &honesty_whole(&units()));
    for row in misses_table(&units()) {
        line(&mut told, &row);
    }
    if let Some(path) = given.value("csv") {
        let path = Path::new(path);
        write_csv(path, &pull).map_err(|why| format!("{}: {why}", path.display()))?;
    }
    Ok(told)
}

fn write_csv(path: &Path, pull: &BenchPull) -> std::io::Result<()> {
    let mut to = std::io::BufWriter::new(std::fs::File::create_new(path)?);
    write_trace(&pull.trace, None, &mut to)
}

/// The bed at a moment as CSV.
pub(super) fn inside_at(second: &str, given: &Given, pack: &Pack) -> Result<String, String> {
    let t = read_number(second)?;
    let (bench, _) = stand(given, pack)?;
    let pull = bench.pull(&GRID).map_err(|fault| fault.to_string())?;
    let end_s = pull.trace.end_s;
    if t < 0.0 || t > end_s {
        return Err(format!("inside {second}: the pull lasts from 0 to {end_s:.1} s"));
    }
    let film = film(&bench, pull.trace.end_s)?;
    let (water, grains) =
        (inside(&film, t + 0.5 * EVERY_S, Tint::Water), inside(&film, t + 0.5 * EVERY_S, Tint::Grains));
    let (Some(water), Some(grains)) = (water, grains) else { return Err("nothing was pulled".to_owned()) };
    let mut text = String::from(
        "time_s,path,depth_share,area_share,wet_share,flux_mm_s,flow_share,dissolved_share,water_strength_pct,left_in_grains_pct\n",
    );
    for (path, grain) in water.paths.iter().zip(&grains.paths) {
        for (at, (strength, left)) in path.cells.iter().zip(&grain.cells).enumerate() {
            let cell = |value: &Option<f64>| value.map(|v| format!("{v:.3}")).unwrap_or_default();
            let depth = (at as f64 + 0.5) / path.cells.len() as f64;
            let row = format!(
                "{:.2},{},{depth:.4},{:.4},{:.4},{:.4},{:.4},{:.4},{},{}",
                water.time_s,
                path.name,
                path.area_share,
                path.front,
                path.flux_mm_s,
                path.flow_share,
                path.dissolved,
                cell(strength),
                cell(left)
            );
            line(&mut text, &row);
        }
    }
    line(&mut text, &format!("# {}", told(&water, Tint::Water, &units())));
    Ok(text)
}

/// Watched values as columns.
const COLUMNS: [(&str, Watch); 12] = [
    ("time_s", Watch::Time),
    ("first_drip_s", Watch::FirstDrip),
    ("strength_pct", Watch::Strength),
    ("extraction_pct", Watch::Extraction),
    ("acids_to_bitters", Watch::Balance),
    ("unevenness_pct", Watch::Unevenness),
    ("coffee_per_drink", Watch::CoffeePerDrink),
    ("liking", Watch::Liking),
    ("cup_20s_g", Watch::Cup20),
    ("cup_30s_g", Watch::Cup30),
    ("cup_40s_g", Watch::Cup40),
    ("cup_60s_g", Watch::Cup60),
];

fn row_of(first: &str, seen: &Seen) -> String {
    let values = COLUMNS.map(|(_, watch)| seen.get(watch).map(|v| format!("{v:.4}")).unwrap_or_default());
    format!("{first},{}", values.join(","))
}

fn head(first: &str) -> String {
    format!("{first},{}", COLUMNS.map(|(name, _)| name).join(","))
}

/// A sweep as CSV; a pull that never filled the cup leaves its fields empty.
pub(super) fn swept(name: &str, given: &Given, pack: &Pack) -> Result<String, String> {
    let handle = handle(name)?;
    let (bench, _) = stand(given, pack)?;
    let (low, high, _) = bench.marks(handle);
    let end = |name: &str, usual: f64| {
        let value = number(given, name)?.unwrap_or(usual);
        if value < low || value > high {
            return Err(format!("--{name}: the bench goes from {low} to {high}"));
        }
        Ok(value)
    };
    let (from, to) = (end("from", low)?, end("to", high)?);
    let count = number(given, "count")?.unwrap_or(COUNT as f64);
    if !(2.0..=400.0).contains(&count) {
        return Err("--count needs a whole number from 2 to 400".to_owned());
    }
    let swept = sweep(&bench, handle, (from, to), count as usize, &Palate::default())
        .map_err(|fault| fault.to_string())?;
    let mut text = head(name) + "\n";
    for (at, seen) in swept.at.iter().zip(&swept.seen) {
        line(&mut text, &row_of(&rounded(*at), seen));
    }
    Ok(text)
}

/// The studies by name.
pub(super) fn studies(pack: &Pack) -> String {
    let mut text = String::new();
    for (name, study) in &pack.studies {
        line(&mut text, &format!("{name}: {} {}", study.title, study.question));
    }
    text
}

/// One study in words, then its numbers.
pub(super) fn study_told(name: &str, pack: &Pack) -> Result<String, String> {
    let found = known(&pack.studies, "study", name)?;
    let (_, run) = run_study(pack, name)?;
    let view = study(found, &run, &units());
    let mut text = format!("{}\n{}\n", view.title, view.question);
    for (title, lines) in [
        ("What the model says", &view.says),
        ("What has been measured", &view.measured),
        ("What nobody knows", &view.unknown),
        ("Ask the class", &view.ask),
    ] {
        if !lines.is_empty() {
            line(&mut text, &format!("\n{title}"));
            for one in lines {
                line(&mut text, &format!("- {one}"));
            }
        }
    }
    if !run.arms.is_empty() {
        line(&mut text, &format!("\n{}", head("compared")));
        for arm in &run.arms {
            line(&mut text, &row_of(&format!("\"{}\"", arm.name.replace('"', "\"\"")), &arm.seen));
        }
    }
    if let Some(swept) = &run.sweep {
        line(&mut text, &format!("\n{}", head(swept.handle.name())));
        for (at, seen) in swept.at.iter().zip(&swept.seen) {
            line(&mut text, &row_of(&rounded(*at), seen));
        }
    }
    line(&mut text, &format!("\n{}", honesty_whole(&units())));
    Ok(text)
}

/// Coffees, drinkers and stations by name.
pub(super) fn things(pack: &Pack) -> String {
    let mut text = String::new();
    for (name, coffee) in &pack.coffees {
        line(&mut text, &format!("coffee {name}: {}, {} roast", coffee.name, coffee.roast.word()));
    }
    for (name, palate) in &pack.drinkers {
        line(&mut text, &format!("drinker {name}: {}", capital(&palate.name)));
    }
    for (name, station) in &pack.stations {
        line(&mut text, &format!("station {name}: {}", station.name));
    }
    text
}

/// A number without needless digits.
fn rounded(value: f64) -> String {
    format!("{}", (value * 1000.0).round() / 1000.0)
}

/// Adds a line.
pub(super) fn line(text: &mut String, line: &str) {
    // Writing to memory cannot fail.
    let _written = writeln!(text, "{line}");
}
