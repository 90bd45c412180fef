//! Looking inside the puck while it is extracted: pictures of every streamtube by depth.
//!
//! A [`Picture`] is taken with [`Run::picture`] at any moment of a run, or at chosen times with [`simulate_filmed`]. The
//! time loop knows nothing of it, so a pull that is not filmed costs what it always did.

use super::bed::Puck;
use super::drive::Drive;
use super::fault::{PuckFault, misshapen, within};
use super::outcome::PullTrace;
use super::run::{Run, Settings};
use serde::Serialize;

/// Most pictures in one film.
pub const MOST_PICTURES: usize = 6000;

/// One streamtube at one moment.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct TubePicture {
    /// Share of the bed's area, 0–1; the sum over all tubes is 1.
    pub area_share: f64,
    /// Permeability against the mean of the bed, by the spread alone.
    pub conductance: f64,
    /// Which of the puck's channels it is, if any.
    pub channel: Option<usize>,
    /// Factor on its permeability by an open channel at this moment, 1 where there is none or it is still closed.
    pub opening: f64,
    /// Depth of the wetting front over the depth of the bed, 0–1; 1 once it drips.
    pub front: f64,
    /// Its share of all the water that entered the bed during the last time step, 0–1; 0 for all while nothing flows.
    pub flow_share: f64,
    /// Darcy flux during the last time step, mm/s.
    pub flux_mm_s: f64,
    /// Share of all solubles that has left its grains, 0–1.
    pub dissolved: f64,
}

/// The inside of the puck at one moment. Arrays by depth are flat with the shape (class, tube, cell), cell 0 at the top
/// where the water enters; read them with [`Picture::liquid`] and [`Picture::left`], or through [`Picture::strength`].
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Picture {
    /// Time since the pump started, s.
    pub time_s: f64,
    /// Cells in depth, all of one height: the bed's depth over their number.
    pub cells: usize,
    /// Names of the classes of solubles, length (class).
    pub classes: Vec<String>,
    /// Solubles in the dose, g, length (class).
    pub start_g: Vec<f64>,
    /// Liquid that fills the bed, mL.
    pub pore_ml: f64,
    /// The streamtubes, by rising conductance, length (tube).
    pub tubes: Vec<TubePicture>,
    /// Dissolved matter in the pore water, kg/m³, shape (class, tube, cell). 0 below the wetting front.
    pub liquid_kg_m3: Vec<f64>,
    /// What is left in the grains, share of the start, shape (class, tube, cell). Grains that take solubles back from strong
    /// liquor may hold a little more than 1.
    pub remaining: Vec<f64>,
    /// Dissolved matter between the last cell and the cup, g, length (class): less than one cell's worth of liquid, and below
    /// zero by a trace when the cup is computed half a parcel ahead.
    pub leaving_g: Vec<f64>,
    /// Dissolved matter in the cup, g, length (class).
    pub cup_g: Vec<f64>,
    /// Temperature of the puck by depth, °C, from the top down; the number of cells is its own, and all tubes share it.
    pub temperature_c: Vec<f64>,
}

impl Picture {
    fn part<'a>(&self, all: &'a [f64], class: usize, tube: usize) -> &'a [f64] {
        if tube >= self.tubes.len() {
            return &[];
        }
        let from = (class * self.tubes.len() + tube) * self.cells;
        all.get(from..from + self.cells).unwrap_or(&[])
    }

    /// Concentration by depth of one class in one tube, kg/m³; empty if there is no such class or tube.
    pub fn liquid(&self, class: usize, tube: usize) -> &[f64] {
        self.part(&self.liquid_kg_m3, class, tube)
    }

    /// What is left by depth of one class in one tube, share of the start; empty if there is no such class or tube.
    pub fn left(&self, class: usize, tube: usize) -> &[f64] {
        self.part(&self.remaining, class, tube)
    }

    /// All classes together in the pore water of one cell, kg/m³ (about ten times the strength in %).
    pub fn strength(&self, tube: usize, cell: usize) -> f64 {
        (0..self.classes.len()).filter_map(|l| self.liquid(l, tube).get(cell)).sum()
    }

    /// All classes together left in the grains of one cell, share of the start.
    pub fn left_in_all(&self, tube: usize, cell: usize) -> f64 {
        let start: f64 = self.start_g.iter().sum();
        if start <= 0.0 {
            return 0.0;
        }
        let left = |(l, start_g): (usize, &f64)| Some(start_g * self.left(l, tube).get(cell)?);
        self.start_g.iter().enumerate().filter_map(left).sum::<f64>() / start
    }

    /// Share of a cell's pores that is wet, 0–1.
    pub fn wet(&self, tube: usize, cell: usize) -> f64 {
        self.tubes.get(tube).map_or(0.0, |t| (t.front * self.cells as f64 - cell as f64).clamp(0.0, 1.0))
    }

    /// True when the tube is a channel that lets more water through than the bed around it.
    pub fn is_open_channel(&self, tube: usize) -> bool {
        self.tubes.get(tube).is_some_and(|t| t.channel.is_some() && t.opening > 1.0)
    }

    /// Where one class is, g: in the grains, in the liquid of the puck, in the cup. Adds up to [`Picture::start_g`].
    pub fn masses_g(&self, class: usize) -> (f64, f64, f64) {
        let get = |v: &[f64]| v.get(class).copied().unwrap_or(0.0);
        let (mut grains, mut liquid) = (0.0, get(&self.leaving_g));
        let cells = self.cells.max(1) as f64;
        for (t, tube) in self.tubes.iter().enumerate() {
            let share = tube.area_share / cells;
            grains += share * get(&self.start_g) * self.left(class, t).iter().sum::<f64>();
            liquid += share * self.pore_ml * 1e-3 * self.liquid(class, t).iter().sum::<f64>();
        }
        (grains, liquid, get(&self.cup_g))
    }
}

/// Pictures of one pull, times rising.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Film {
    /// The pictures.
    pub pictures: Vec<Picture>,
}

impl Film {
    /// The last picture taken no later than a time; the first one before that.
    pub fn at(&self, time_s: f64) -> Option<&Picture> {
        let after = self.pictures.partition_point(|p| p.time_s <= time_s + 1e-9);
        self.pictures.get(after.saturating_sub(1))
    }
}

/// Simulates a pull and takes a picture at the end of the first time step that reaches each of `times_s` (rising; time 0 is
/// the dry puck). Times after the end of the pull give no picture.
///
/// # Errors
/// Settings out of range; more than [`MOST_PICTURES`] times, times that run backwards or lie outside 0–600 s.
pub fn simulate_filmed(
    puck: &Puck,
    drive: &Drive,
    settings: &Settings,
    times_s: &[f64],
) -> Result<(PullTrace, Film), PuckFault> {
    if times_s.len() > MOST_PICTURES {
        return misshapen(
            "film.times_s",
            say!("puck-film-pictures", n = times_s.len(), most = MOST_PICTURES),
        );
    }
    let mut before = 0.0;
    for t in times_s {
        within("film.times_s", *t, before, 600.0)?;
        before = *t;
    }
    let mut run = Run::default();
    run.begin(puck, drive, settings)?;
    let mut film = Film { pictures: Vec::with_capacity(times_s.len()) };
    let mut waiting = times_s.iter().peekable();
    loop {
        while waiting.next_if(|t| **t <= run.time_s() + 1e-9).is_some() {
            film.pictures.push(run.picture(puck));
        }
        let before_s = run.time_s();
        if !run.step(puck, drive) && run.time_s() <= before_s {
            break;
        }
    }
    Ok((run.finish(puck), film))
}
