//! The demo notebook: an invented café, a home user and an evening class, told as pulls that were simulated.
//!
//! The script (`assets/practice/demo.ron`) says what people set and wrote; the simulator says what came of it, so
//! recipe, time, strength, trace and taste agree with one another. Dates hang on an anchor day, so that a first run
//! shows days since roast that make sense. Same anchor and seed, same notebook, byte for byte on one kind of machine.

pub mod instruments;
pub mod scenario;

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use thiserror::Error;

use self::instruments::{read_clock, record, round};
use self::scenario::{Aim, DemoBag, DemoStation, Event, Line, Scenario};
use super::brew::{Brew, Luck, Shot, cup_at};
use super::chance::Chance;
use super::coffee::Coffee;
use super::palate::{Impression, Palate};
use crate::domain::{
    Bag, BagId, Basket, Channel, Drinker, DrinkerId, Flags, GearFault, Id, Keeper, Notebook, Price, Pull,
    PullId, Recipe, Stamp, StartRecipe, Station, StationId, Taste, Tolerance, Trace,
};
use crate::puck::{PuckFault, Settings};

/// The scenario that ships.
const SCENARIO: &str = include_str!("../../../assets/practice/demo.ron");

/// How finely the demo is simulated. Coarser than a shown trace on the bench: a demo is made while a person waits.
const FINENESS: Settings = Settings { cells: 16, tubes: 4, pools: 3, step_s: 0.1 };

/// Longest pull that is waited for, seconds.
const LONGEST_S: f64 = 75.0;

/// Why no demo could be made of a scenario.
#[derive(Debug, Error)]
pub enum DemoFault {
    /// The scenario file does not parse.
    #[error("{}", say!("practice-demo-script", fault = .0))]
    Script(#[from] ron::error::SpannedError),
    /// A station cannot be.
    #[error("{station}: {fault}")]
    Gear {
        /// Which station.
        station: String,
        /// What is wrong.
        fault: GearFault,
    },
    /// A pull lies outside the simulator's range.
    #[error("{bag}: {fault}")]
    Puck {
        /// Which bag.
        bag: String,
        /// What is wrong.
        fault: PuckFault,
    },
    /// A bag names a station or drinker that is not there.
    #[error("{}", say!("practice-demo-missing", bag = bag, what = what, key = key))]
    Missing {
        /// Which bag.
        bag: String,
        /// `station` or `drinker`, as the catalogue chooses by it.
        what: &'static str,
        /// The name it gives.
        key: String,
    },
    /// A date outside the calendar.
    #[error("{}", say!("practice-demo-date", days = days, anchor = anchor))]
    Date {
        /// The anchor.
        anchor: Date,
        /// Days before it.
        days: i32,
    },
}

/// A notebook and the traces of its pulls.
pub type Demo = (Notebook, Vec<(PullId, Trace)>);

/// Makes the demo notebook. `anchor` is the day on which it should look fresh (usually today); the last pulls lie on the
/// morning before.
///
/// # Errors
/// [`DemoFault::Date`] when the anchor lies at the very edge of the calendar; the shipped scenario gives no other.
pub fn notebook(anchor: Date, seed: u64) -> Result<Demo, DemoFault> {
    from_scenario(&ron::from_str(SCENARIO)?, anchor, seed)
}

/// Makes a notebook of any scenario.
///
/// # Errors
/// [`DemoFault`] names what is wrong with it.
pub fn from_scenario(scenario: &Scenario, anchor: Date, seed: u64) -> Result<Demo, DemoFault> {
    let mut maker = Maker { anchor, seed, place: 0 };
    let mut notebook = Notebook { demo: true, ..Notebook::default() };
    let mut traces = Vec::new();
    let long_ago = scenario.stations.iter().map(|station| station.since).max().unwrap_or(0) + 1;
    let mut drinkers = Vec::new();
    for (at, drinker) in scenario.drinkers.iter().enumerate() {
        let made = maker.moment(long_ago, (18, at.min(59) as i8))?;
        let id = DrinkerId(maker.id(made));
        drinkers.push((drinker, id));
        notebook.drinkers.push(Drinker {
            id,
            stamp: Stamp::new(made),
            name: drinker.palate.name.clone(),
            archived: false,
            note: drinker.note.clone(),
        });
    }
    let mut stations = Vec::new();
    for (at, station) in scenario.stations.iter().enumerate() {
        let made = maker.moment(station.since, (9, at.min(59) as i8))?;
        let id = StationId(maker.id(made));
        stations.push((station, id));
        notebook.stations.push(station_of(station, id, made)?);
    }
    for (number, bag) in scenario.bags.iter().enumerate() {
        let missing =
            |what, key: &str| DemoFault::Missing { bag: bag.coffee.name.clone(), what, key: key.to_owned() };
        let Some(&(station, station_id)) = stations.iter().find(|(s, _)| s.key == bag.station) else {
            return Err(missing("station", &bag.station));
        };
        let Some(&(drinker, drinker_id)) = drinkers.iter().find(|(d, _)| d.key == bag.drinker) else {
            return Err(missing("drinker", &bag.drinker));
        };
        let made = maker.moment(bag.bought, (8, 10 + number.min(40) as i8))?;
        let mut page =
            page_of(bag, BagId(maker.id(made)), made, (station_id, drinker_id), maker.day(bag.roasted)?);
        let teller = Teller::new(bag, station, &drinker.palate, station_id)
            .map_err(|fault| DemoFault::Puck { bag: bag.coffee.name.clone(), fault })?;
        teller.tell(&mut maker, &mut page, &mut traces)?;
        notebook.bags.push(page);
    }
    notebook.drinkers.sort_by_key(|drinker| drinker.id);
    notebook.stations.sort_by_key(|station| station.id);
    notebook.bags.sort_by_key(|bag| bag.id);
    traces.sort_by_key(|(id, _)| *id);
    Ok((notebook, traces))
}

/// Dates and identifiers.
struct Maker {
    anchor: Date,
    seed: u64,
    place: u64,
}

impl Maker {
    fn day(&self, days_before: i32) -> Result<Date, DemoFault> {
        let fault = |_out_of_calendar| DemoFault::Date { anchor: self.anchor, days: days_before };
        self.anchor.checked_sub(jiff::Span::new().try_days(days_before).map_err(fault)?).map_err(fault)
    }

    fn moment(&self, days_before: i32, (hour, minute): (i8, i8)) -> Result<Timestamp, DemoFault> {
        let fault = |_out_of_calendar| DemoFault::Date { anchor: self.anchor, days: days_before };
        let time = jiff::civil::Time::new(hour, minute, 0, 0).map_err(fault)?;
        TimeZone::UTC.to_timestamp(self.day(days_before)?.to_datetime(time)).map_err(fault)
    }

    /// The next stream of chance.
    fn chance(&mut self) -> Chance {
        self.place += 1;
        Chance::new(self.seed, self.place)
    }

    fn id(&mut self, at: Timestamp) -> Id {
        Id::from_parts(at, self.chance().bytes())
    }
}

fn station_of(station: &DemoStation, id: StationId, made: Timestamp) -> Result<Station, DemoFault> {
    let gear = station
        .bar
        .gear(&station.grinder)
        .map_err(|fault| DemoFault::Gear { station: station.name.clone(), fault })?;
    Ok(Station {
        id,
        stamp: Stamp::new(made),
        name: station.name.clone(),
        grinder_name: station.grinder.name.clone(),
        machine_name: station.machine.clone(),
        gear,
        basket: Basket {
            diameter_mm: station.bar.basket_mm,
            stated_dose_g: round((station.bar.dose_g.0 + station.bar.dose_g.1) / 2.0, 0),
        },
        archived: false,
        note: station.note.clone(),
    })
}

fn page_of(
    bag: &DemoBag,
    id: BagId,
    made: Timestamp,
    (station, drinker): (StationId, DrinkerId),
    roasted_on: Date,
) -> Bag {
    let (grind, dose_g, yield_g, temperature_c) = bag.start;
    Bag {
        id,
        stamp: Stamp::new(made),
        name: bag.coffee.name.clone(),
        roaster: bag.roaster.clone(),
        roast: Some(bag.coffee.roast),
        process: Some(bag.coffee.process),
        roasted_on: Some(roasted_on),
        opened_on: None,
        mass_g: Some(bag.mass),
        price: Some(Price { amount: bag.price.0, currency: bag.price.1.clone() }),
        station,
        drinker,
        start: StartRecipe { grind, dose_g, yield_g, temperature_c },
        time_window_s: bag.window,
        keeper: None,
        finished: bag.finished,
        note: bag.note.clone(),
        pulls: Vec::new(),
    }
}

/// Tells one bag's story.
struct Teller<'a> {
    bag: &'a DemoBag,
    coffee: Coffee,
    station: &'a DemoStation,
    station_id: StationId,
    palate: &'a Palate,
}

/// A pull of the story, before it is written down.
struct Told {
    plan: Recipe,
    used: Recipe,
    time_s: f64,
    trace: Option<Trace>,
    felt: Impression,
    shot: Shot,
}

impl<'a> Teller<'a> {
    fn new(
        bag: &'a DemoBag,
        station: &'a DemoStation,
        palate: &'a Palate,
        station_id: StationId,
    ) -> Result<Self, PuckFault> {
        let mut coffee = bag.coffee.clone();
        if let Some(aim) = bag.aim {
            coffee.flow = flow_for(&coffee, station, bag.start.3, &aim)?;
        }
        Ok(Self { bag, coffee, station, station_id, palate })
    }

    fn brew(&self, days_before: i32) -> Brew<'_> {
        Brew {
            coffee: &self.coffee,
            grinder: &self.station.grinder,
            bar: &self.station.bar,
            age_days: f64::from(self.bag.roasted - days_before),
        }
    }

    fn tell(
        &self,
        maker: &mut Maker,
        page: &mut Bag,
        traces: &mut Vec<(PullId, Trace)>,
    ) -> Result<(), DemoFault> {
        let (grind, dose_g, yield_g, temperature_c) = self.bag.start;
        let mut plan = Recipe { grind: grind.unwrap_or(0.0), dose_g, yield_g, temperature_c };
        let mut by = String::new();
        for (at, line) in self.bag.pulls.iter().enumerate() {
            let before = plan.grind;
            plan.grind = line.g.unwrap_or(plan.grind);
            plan.dose_g = line.dose.unwrap_or(plan.dose_g);
            plan.yield_g = line.y.unwrap_or(plan.yield_g);
            plan.temperature_c = plan.temperature_c.map(|now| line.c.unwrap_or(now));
            if let Some(who) = &line.by {
                by.clone_from(who);
            }
            let pulled_at = maker.moment(line.d, line.t)?;
            if page.opened_on.is_none() {
                page.opened_on = Some(maker.day(line.d)?);
            }
            let id = PullId(maker.id(pulled_at));
            let mut chance = maker.chance();
            let told = self
                .pull(plan, before, line, &mut chance)
                .map_err(|fault| DemoFault::Puck { bag: self.bag.coffee.name.clone(), fault })?;
            if self.bag.keeper == Some(at + 1) {
                page.keeper = Some(self.keeper(&told, line, id, pulled_at));
            }
            page.pulls.push(self.write_down(&told, (at, line), (id, pulled_at), &by, &mut chance));
            if let Some(trace) = told.trace {
                traces.push((id, trace));
            }
        }
        page.sort_pulls();
        Ok(())
    }

    fn pull(&self, plan: Recipe, before: f64, line: &Line, chance: &mut Chance) -> Result<Told, PuckFault> {
        let luck = luck_for(line, chance);
        let unpurged = line.has(Event::NotPurged).then_some(before);
        let longest_s = line.abandoned_s().unwrap_or(LONGEST_S);
        let shot = self.brew(line.d).pull(&plan, &luck, unpurged, longest_s, &FINENESS)?;
        let water_c = plan.temperature_c.unwrap_or(self.station.bar.usual_c) + luck.temperature_off_c;
        let wants_trace = line.x.iter().any(|event| {
            matches!(event, Event::Trace | Event::Fast | Event::Gap | Event::NoFlow | Event::NoTemperature)
        });
        let trace = wants_trace.then(|| record(&shot, water_c, &self.station.probes, line, chance)).flatten();
        let weighed = trace.as_ref().and_then(|t| t.get(Channel::CupMass)?.last().copied());
        let used = Recipe {
            dose_g: round(shot.used.dose_g, 1),
            yield_g: weighed.unwrap_or_else(|| round(shot.used.yield_g + chance.around(0.05), 1)).max(0.0),
            ..shot.used
        };
        let time_s = match trace.as_ref().and_then(|t| t.time_s().last().copied()) {
            Some(end_s) => end_s,
            None => read_clock(self.station.clock, shot.trace.end_s, chance),
        };
        let felt = Impression::of(&shot.cup);
        Ok(Told { plan, used, time_s, trace, felt, shot })
    }

    fn write_down(
        &self,
        told: &Told,
        (at, line): (usize, &Line),
        (id, pulled_at): (PullId, Timestamp),
        by: &str,
        chance: &mut Chance,
    ) -> Pull {
        let abandoned = line.abandoned_s().is_some();
        let untasted = abandoned || line.has(Event::NotTasted);
        let tasted = self.palate.taste(&told.felt, line.wanted(at), chance);
        let strength_off = chance.around(0.07);
        let drip_seen = told.trace.is_some() || chance.uniform() < 0.5;
        let drip_s = told.shot.trace.first_drip_s.map(|s| read_clock(self.station.clock, s + 0.3, chance));
        let measured = line.has(Event::Strength) && self.station.bar.refractometer && !abandoned;
        Pull {
            id,
            stamp: Stamp::new(pulled_at),
            pulled_at,
            station: self.station_id,
            pulled_by: by.to_owned(),
            plan: Some(told.plan),
            used: told.used,
            time_s: Some(told.time_s),
            first_drip_s: if abandoned && told.used.yield_g < 0.1 {
                None
            } else {
                drip_s.filter(|_| drip_seen)
            },
            tds_pct: measured.then(|| round((told.shot.cup.tds_pct + strength_off).max(0.0), 2)),
            taste: if untasted { Taste::default() } else { tasted },
            flags: Flags {
                choked: abandoned,
                spurting: line.x.iter().any(|event| matches!(event, Event::Spurt(_))),
                sink: abandoned || line.has(Event::Sink),
            },
            note: line.n.clone(),
            has_trace: told.trace.is_some(),
        }
    }

    fn keeper(&self, told: &Told, line: &Line, id: PullId, pulled_at: Timestamp) -> Keeper {
        Keeper {
            recipe: told.plan,
            time_s: Some(round(told.time_s, 0)),
            tolerance: self.tolerance(&told.plan, line),
            kept_at: pulled_at,
            from_pull: Some(id),
        }
    }

    /// How far each thing may wander before this drinker likes the cup half a point less: a parabola through the
    /// simulated liking one step either way of the keeper.
    fn tolerance(&self, keeper: &Recipe, line: &Line) -> Tolerance {
        let brew = self.brew(line.d);
        let at = |recipe: &Recipe, loosen: f64| {
            let luck = Luck { loosen, ..Luck::none() };
            let shot = brew.pull(recipe, &luck, None, 2.0 * LONGEST_S, &FINENESS).ok()?;
            Some((self.palate.liking(&Impression::of(&shot.cup)), shot))
        };
        let Some((here, middle)) = at(keeper, 1.0) else { return Tolerance::default() };
        let reach = |step: f64, up: Option<f64>, down: Option<f64>, most: f64| -> Option<f64> {
            // Both sides count: the worse of the two slopes, with the mean curvature.
            let (up, down) = (here - up?, here - down?);
            let (bend, slope) = (0.5 * (up + down).max(0.0), 0.5 * (up - down).abs());
            let root = if bend > 1e-6 {
                (-slope + (slope * slope + 2.0 * bend).sqrt()) / (2.0 * bend)
            } else {
                0.5 / slope.max(1e-6)
            };
            Some(round((root * step).min(most), 1))
        };
        let liking = |recipe: Recipe| at(&recipe, 1.0).map(|found| found.0);
        let dose = |by: f64| liking(Recipe { dose_g: keeper.dose_g + by, ..*keeper });
        let warm = |by: f64| {
            keeper.temperature_c.and_then(|c| liking(Recipe { temperature_c: Some(c + by), ..*keeper }))
        };
        let (slow, fast) = (at(keeper, 0.85), at(keeper, 1.0 / 0.85));
        let time_step =
            slow.as_ref().zip(fast.as_ref()).map(|(s, f)| 0.5 * (s.1.trace.end_s - f.1.trace.end_s));
        let age = self.coffee.age_marks(brew.age_days);
        let puck = brew.puck(keeper, &Luck::none(), None).ok();
        let drink = |share: f64| {
            let time_s = middle.trace.end_s * share;
            let cup = cup_at(puck.as_ref()?, &middle.trace, time_s, age);
            Some((self.palate.liking(&Impression::of(&cup)), (cup.yield_g - keeper.yield_g).abs()))
        };
        // The pull ends at the keeper's drink, so only the shorter side can be read off it; it stands for both.
        let shorter = drink(0.92);
        Tolerance {
            time_s: time_step.and_then(|step| reach(step, slow.map(|s| s.0), fast.map(|f| f.0), 9.0)),
            dose_g: reach(0.5, dose(0.5), dose(-0.5), 2.0),
            yield_g: shorter.and_then(|(liking, step)| reach(step, Some(liking), Some(liking), 9.0)),
            temperature_c: keeper.temperature_c.and_then(|_settable| reach(2.0, warm(2.0), warm(-2.0), 6.0)),
        }
    }
}

/// Chance and the script's events for one pull.
fn luck_for(line: &Line, chance: &mut Chance) -> Luck {
    let mut luck = Luck::drawn(chance);
    for event in &line.x {
        match *event {
            Event::Spurt(opens_at_s) => {
                luck.care *= 1.6;
                luck.channels.push(crate::puck::Channel {
                    opens_at_s,
                    area_share: 0.010,
                    gain: 40.0,
                    heals_in_s: Some(9.0),
                });
            }
            Event::Sloppy => {
                luck.care *= 2.4;
                luck.loosen *= 1.38;
            }
            Event::Late(by_g) => luck.yield_off_g += by_g,
            Event::Cold(by_c) => luck.temperature_off_c -= by_c,
            Event::Warm(share) => luck.loosen *= 1.0 + share,
            Event::Dose(by_g) => luck.dose_off_g += by_g,
            _ => {}
        }
    }
    luck
}

/// The flow of a coffee that meets an aim on a station: time goes nearly as the inverse, so a few rounds suffice.
fn flow_for(
    coffee: &Coffee,
    station: &DemoStation,
    temperature_c: Option<f64>,
    aim: &Aim,
) -> Result<f64, PuckFault> {
    let mut coffee = Coffee { flow: 1.0, ..coffee.clone() };
    let recipe = Recipe { grind: aim.grind, dose_g: aim.dose, yield_g: aim.drink, temperature_c };
    for _ in 0..5 {
        let brew = Brew { coffee: &coffee, grinder: &station.grinder, bar: &station.bar, age_days: aim.age };
        let shot = brew.pull(&recipe, &Luck::none(), None, 3.0 * LONGEST_S, &FINENESS)?;
        // A pull that never got there is judged by how far it came.
        let share = (shot.trace.yield_g / aim.drink).max(0.02);
        let factor = shot.trace.end_s / share / aim.time;
        coffee.flow = (coffee.flow * factor).clamp(0.05, 20.0);
        if (factor - 1.0).abs() < 0.004 {
            break;
        }
    }
    Ok(coffee.flow)
}
