//! Keeping what a script tells the advisor: each bag opened becomes a bag of a notebook, each shot a pull of it.

use std::path::Path;

use jiff::tz::TimeZone;
use jiff::{Span, Timestamp};

use crate::advisor::{Case, Shot};
use crate::domain::{
    Bag, BagId, Basket, Drinker, DrinkerId, Flags, Gear, Id, Pull, PullId, Stamp, Station, StationId, Trace,
};
use crate::rules::Packs;
use crate::store::Holder;
use crate::workbench::{Command, NoticeLevel, Refusal, Session, Wanted};

/// Width of the commonest basket, millimetres (common practice, no source); a request does not tell it.
const USUAL_BASKET_MM: f64 = 58.0;

/// A notebook that is written as the requests come in.
pub struct Keep {
    session: Session,
    bag: Option<(BagId, StationId)>,
}

impl Keep {
    /// Opens the notebook in a folder, which is made where there is none.
    ///
    /// # Errors
    /// One sentence when it cannot be opened for writing.
    pub fn open(path: &Path, now: Timestamp) -> Result<Self, String> {
        let today = now.to_zoned_datetime(TimeZone::system()).date();
        let session = Session::open(&Wanted::At(path.to_owned()), now, today, &Holder::here(), None)?;
        match session.bench.read_only() {
            Some(why) => Err(format!("“{}” cannot be written: {why}", path.display())),
            None => Ok(Self { session, bag: None }),
        }
    }

    /// The rules that the notebook hears.
    pub(super) fn packs(&self) -> Packs {
        self.session.bench.packs()
    }

    /// Begins a bag, on the station with this gear, which is made where there is none.
    pub(super) fn begin(&mut self, case: &Case, now: Timestamp) -> Result<(), Refusal> {
        self.bag = None;
        let station = self.station(case, now)?;
        let drinker = self.drinker(now)?;
        let today = now.to_zoned_datetime(TimeZone::system()).date();
        let days = case.bag.days_since_roast.map(|days| days.round() as i64);
        let roasted_on =
            days.and_then(|days| Span::new().try_days(days).ok()).and_then(|age| today.checked_sub(age).ok());
        let name = case.bag.name.trim();
        let bag = Bag {
            id: BagId(Id::fresh(now)),
            stamp: Stamp::new(now),
            name: if name.is_empty() { "Unnamed bag".to_owned() } else { name.to_owned() },
            roaster: String::new(),
            roast: case.bag.roast,
            process: case.bag.process,
            roasted_on,
            opened_on: Some(today),
            mass_g: case.coffee_left_g,
            price: None,
            station,
            drinker,
            start: case.aim.start,
            time_window_s: case.aim.time_window_s,
            keeper: None,
            finished: false,
            note: String::new(),
            pulls: Vec::new(),
        };
        let id = bag.id;
        self.session.bench.apply(Command::SaveBag(Box::new(bag)), now)?;
        self.bag = Some((id, station));
        Ok(())
    }

    /// Records a pull of the bag begun last.
    pub(super) fn pull(&mut self, shot: &Shot, trace: Option<Trace>, now: Timestamp) -> Result<(), Refusal> {
        let Some((bag, station)) = self.bag else { return Err(Refusal::Missing) };
        let pull = Pull {
            id: PullId(Id::fresh(now)),
            stamp: Stamp::new(now),
            pulled_at: now,
            station,
            pulled_by: String::new(),
            plan: shot.plan,
            used: shot.recipe,
            time_s: shot.time_s,
            first_drip_s: shot.first_drip_s,
            tds_pct: shot.tds_pct,
            taste: shot.taste,
            flags: Flags { choked: shot.choked, spurting: shot.spurting, sink: false },
            note: String::new(),
            has_trace: false,
        };
        let id = pull.id;
        self.session.bench.apply(Command::SavePull(bag, Box::new(pull)), now)?;
        if let Some(trace) = trace {
            self.session.bench.attach_trace(bag, id, trace, now)?;
        }
        Ok(())
    }

    /// What went wrong since the last call, each once.
    pub(super) fn trouble(&mut self) -> Vec<String> {
        let notices = self.session.bench.notices_mut();
        let wrong: Vec<(u64, String)> = notices
            .iter()
            .filter(|notice| notice.level == NoticeLevel::Problem)
            .map(|notice| (notice.number, notice.text.clone()))
            .collect();
        wrong
            .into_iter()
            .map(|(number, text)| {
                notices.dismiss(number);
                text
            })
            .collect()
    }

    /// Writes what is still to be written; false when the disk refuses.
    pub(super) fn close(&mut self, now: Timestamp) -> bool {
        let all = !self.session.bench.has_unwritten() || self.session.bench.retry_writing(now).is_ok();
        self.session.bench.tidy();
        all
    }

    fn station(&mut self, case: &Case, now: Timestamp) -> Result<StationId, Refusal> {
        let stations = &self.session.bench.notebook().stations;
        let same = |station: &&Station| {
            station.stamp.is_live() && !station.archived && told(&station.gear) == told(&case.gear)
        };
        if let Some(found) = stations.iter().rfind(same) {
            return Ok(found.id);
        }
        let number = stations.len() + 1;
        let station = Station {
            id: StationId(Id::fresh(now)),
            stamp: Stamp::new(now),
            name: format!("Station {number}"),
            grinder_name: String::new(),
            machine_name: String::new(),
            gear: case.gear,
            basket: Basket { diameter_mm: USUAL_BASKET_MM, stated_dose_g: case.aim.start.dose_g },
            archived: false,
            note: "As told to the advisor by a script.".to_owned(),
        };
        let id = station.id;
        self.session.bench.apply(Command::SaveStation(Box::new(station)), now)?;
        Ok(id)
    }

    /// The drinker of the notebook; one is made where there is none.
    fn drinker(&mut self, now: Timestamp) -> Result<DrinkerId, Refusal> {
        let drinkers = &self.session.bench.notebook().drinkers;
        if let Some(found) = drinkers.iter().find(|drinker| drinker.stamp.is_live() && !drinker.archived) {
            return Ok(found.id);
        }
        let drinker = Drinker {
            id: DrinkerId(Id::fresh(now)),
            stamp: Stamp::new(now),
            name: "The house".to_owned(),
            archived: false,
            note: String::new(),
        };
        let id = drinker.id;
        self.session.bench.apply(Command::SaveDrinker(drinker), now)?;
        Ok(id)
    }
}

/// Gear as far as a request tells of it.
fn told(gear: &Gear) -> Gear {
    let mut told = *gear;
    told.grind.retained_g = 0.0;
    told.grind.stepless = false;
    told
}
