//! The practice bench as it stands in front of a person: what was moved, what it was before, a real pull beside it, and
//! the long work (a fit, a sweep, a study) that runs off the drawing thread.

mod classroom;
pub mod drawing;
pub mod own;
mod real;
mod seat;

use std::sync::Arc;

use super::{Desk, Task};
use crate::practice::sitting::GRID;
use crate::practice::{
    Bench, BenchFit, BenchPull, Coffee, FitFault, Handle, Pack, Palate, StudyRun, Sweep, drive_as, fit_to,
    presets, sweep,
};
use crate::puck::Run;
use crate::units::{Quantity, rounded};

use super::view::practice::sweeps::{COUNT, run_study};
pub use classroom::Classroom;
pub use drawing::{Line, Stroke};
pub use real::{Beside, beside, stands_as};
pub use seat::{EngineRun, Seat, play};

/// Wakes whoever watches when long work is done.
pub type Wake = Arc<dyn Fn() + Send + Sync>;

/// A bench and what came of pulling it.
#[derive(Debug, Clone, PartialEq)]
pub struct Stand {
    /// As it was set.
    pub bench: Bench,
    /// The pull, or one sentence that says what lies outside the simulator's range.
    pub pull: Result<BenchPull, String>,
}

/// What was moved last; moves of one thing belong together.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Touched {
    Handle(Handle),
    Line(Line),
}

/// What a task leaves: the bench, or a sentence that says why not and what to do.
pub type Fitted = Result<BenchFit, String>;

/// Steps that can be taken back.
const MOST_STEPS: usize = 100;

/// The practice bench.
pub struct PracticeBench {
    pack: Arc<Pack>,
    coffee: String,
    now: Stand,
    before: Option<Stand>,
    held: bool,
    run: Run,
    back: Vec<(Bench, String)>,
    ahead: Vec<(Bench, String)>,
    touched: Option<Touched>,
    revision: u64,
    beside: Option<Beside>,
    fitting: Option<(Task<Fitted>, String)>,
    said: Option<Result<String, String>>,
    wake: Wake,
    sweeps: Desk<(Bench, Handle), Swept>,
    wants: Option<(Bench, Handle)>,
    studies: Desk<(Arc<Pack>, String), Studied>,
    study: Option<String>,
}

/// A swept handle, or a sentence that says why not.
pub type Swept = Result<Sweep, String>;
/// A study that was run, with its name.
pub type Studied = (String, Result<StudyRun, String>);

impl PracticeBench {
    /// A bench with the usual coffee. `wake` is called when long work is done.
    #[must_use]
    pub fn new(pack: Pack, wake: Wake) -> Self {
        let mut run = Run::default();
        let now = stand(Bench::default(), &mut run);
        let woken = |wake: &Wake| {
            let wake = Arc::clone(wake);
            Box::new(move || wake()) as Box<dyn Fn() + Send>
        };
        let over = |(bench, handle): (Bench, Handle)| {
            let (low, high, _) = bench.marks(handle);
            sweep(&bench, handle, (low, high), COUNT, &Palate::default()).map_err(|fault| fault.to_string())
        };
        let sweeps = Desk::start("sweeps", over, woken(&wake));
        let ask = |(pack, name): (Arc<Pack>, String)| {
            let run = run_study(&pack, &name).map(|(_, run)| run);
            (name, run)
        };
        let studies = Desk::start("studies", ask, woken(&wake));
        Self {
            pack: Arc::new(pack),
            coffee: Bench::default().coffee.name,
            now,
            before: None,
            held: false,
            run,
            back: Vec::new(),
            ahead: Vec::new(),
            touched: None,
            revision: 0,
            beside: None,
            fitting: None,
            said: None,
            wake,
            sweeps,
            wants: None,
            studies,
            study: None,
        }
    }

    /// Coffees, drinkers, stations, studies and exercises at hand.
    #[must_use]
    pub fn pack(&self) -> &Pack {
        &self.pack
    }

    /// Takes other files in place of the known ones; the bench stays as it is, and a coffee that is the same in all but
    /// its name is called as they call it.
    pub fn set_pack(&mut self, pack: Pack) {
        if *self.pack != pack {
            let old = Arc::clone(&self.pack);
            let say_as = |bench: &mut Bench| {
                let known = old.coffees.iter().find(|(_, coffee)| coffee.name == bench.coffee.name);
                if let Some(new) = known.and_then(|(key, _)| pack.coffees.get(key)) {
                    bench.coffee.say_as(new);
                }
            };
            let renamed = |name: &mut String| {
                let known = old.coffees.iter().find(|(_, coffee)| coffee.name == *name);
                let new = known.and_then(|(key, coffee)| Some((coffee, pack.coffees.get(key)?)));
                if let Some((_, new)) = new.filter(|(coffee, new)| (*coffee).clone().say_as(new)) {
                    name.clone_from(&new.name);
                }
            };
            let stands = std::iter::once(&mut self.now).chain(&mut self.before).map(|stand| &mut stand.bench);
            let steps = self.back.iter_mut().chain(&mut self.ahead);
            let (benches, names): (Vec<_>, Vec<_>) = steps.map(|(bench, name)| (bench, name)).unzip();
            stands.chain(benches).for_each(say_as);
            names.into_iter().chain([&mut self.coffee]).for_each(renamed);
            self.pack = Arc::new(pack);
            self.study = None;
            self.studies.clear();
            self.revision += 1;
        }
    }

    /// Counts changes of what is shown.
    #[must_use]
    pub fn revision(&self) -> u64 {
        self.revision
    }

    /// The bench as it stands.
    #[must_use]
    pub fn now(&self) -> &Stand {
        &self.now
    }

    /// The bench before the last thing was moved, or as it was held.
    #[must_use]
    pub fn before(&self) -> Option<&Stand> {
        self.before.as_ref()
    }

    /// Whether "before" is held.
    #[must_use]
    pub fn is_held(&self) -> bool {
        self.held
    }

    /// Holds the bench as it stands as "before", or lets it go.
    pub fn hold(&mut self) {
        self.held = !self.held;
        self.before = self.held.then(|| self.now.clone());
        self.touched = None;
        self.revision += 1;
    }

    /// What the coffee on the bench is called.
    #[must_use]
    pub fn coffee_name(&self) -> &str {
        &self.coffee
    }

    /// Coffees that can be put on the bench, by name: the usual one first.
    #[must_use]
    pub fn coffees(&self) -> Vec<Coffee> {
        std::iter::once(Bench::default().coffee).chain(self.pack.coffees.values().cloned()).collect()
    }

    /// The usual drinker.
    #[must_use]
    pub fn palate(&self) -> Palate {
        Palate::default()
    }

    /// Moves a handle.
    pub fn set(&mut self, handle: Handle, value: f64) {
        self.change(Some(Touched::Handle(handle)), None, |bench| bench.set(handle, value));
    }

    /// Changes a drawn line.
    pub fn draw(&mut self, line: Line, stroke: Stroke) {
        self.change(Some(Touched::Line(line)), None, |bench| line.change(bench, stroke));
    }

    /// Draws what a line does now, so that it can be changed.
    pub fn begin_line(&mut self, line: Line) {
        self.change(None, None, |bench| line.begin(bench));
    }

    /// Gives a line back to the machine.
    pub fn let_go(&mut self, line: Line) {
        self.change(None, None, |bench| line.let_go(bench));
    }

    /// Puts one of [`presets`] on the machine.
    pub fn preset(&mut self, at: usize) {
        if let Some(preset) = presets().into_iter().nth(at) {
            self.change(None, None, |bench| bench.drawn = preset.drawn);
        }
    }

    /// Which preset is on the machine, if one is.
    #[must_use]
    pub fn preset_at(&self) -> Option<usize> {
        presets().iter().position(|preset| preset.drawn == self.now.bench.drawn)
    }

    /// Puts one of [`PracticeBench::coffees`] on the bench; its grinder and machine stay.
    pub fn put_coffee(&mut self, at: usize) {
        if let Some(coffee) = self.coffees().into_iter().nth(at) {
            let name = coffee.name.clone();
            self.change(None, Some(name), |bench| bench.coffee = coffee);
        }
    }

    /// All as at the beginning.
    pub fn reset(&mut self) {
        let usual = Bench::default();
        let name = usual.coffee.name.clone();
        self.change(None, Some(name), |bench| *bench = usual);
        self.said = None;
    }

    /// Puts another bench in place of this one.
    pub fn put(&mut self, bench: Bench, name: &str) {
        self.change(None, Some(name.to_owned()), |old| *old = bench);
    }

    fn change(&mut self, touched: Option<Touched>, coffee: Option<String>, change: impl FnOnce(&mut Bench)) {
        let mut bench = self.now.bench.clone();
        change(&mut bench);
        let coffee = coffee.unwrap_or_else(|| self.coffee.clone());
        if bench == self.now.bench && coffee == self.coffee {
            return;
        }
        if touched.is_none() || self.touched != touched {
            self.back.push((self.now.bench.clone(), self.coffee.clone()));
            if self.back.len() > MOST_STEPS {
                self.back.remove(0);
            }
            if !self.held {
                self.before = Some(self.now.clone());
            }
        }
        self.ahead.clear();
        self.touched = touched;
        self.coffee = coffee;
        self.show(bench);
    }

    fn show(&mut self, bench: Bench) {
        self.now = stand(bench, &mut self.run);
        self.revision += 1;
    }

    /// Takes the last move back. False when there is none.
    pub fn undo(&mut self) -> bool {
        let Some((bench, coffee)) = self.back.pop() else { return false };
        self.ahead.push((self.now.bench.clone(), std::mem::replace(&mut self.coffee, coffee)));
        self.step_to(bench);
        true
    }

    /// Whether there is something to take back.
    #[must_use]
    pub fn can_undo(&self) -> bool {
        !self.back.is_empty()
    }

    /// Whether there is something to do again.
    #[must_use]
    pub fn can_redo(&self) -> bool {
        !self.ahead.is_empty()
    }

    /// Does it again. False when there is nothing.
    pub fn redo(&mut self) -> bool {
        let Some((bench, coffee)) = self.ahead.pop() else { return false };
        self.back.push((self.now.bench.clone(), std::mem::replace(&mut self.coffee, coffee)));
        self.step_to(bench);
        true
    }

    fn step_to(&mut self, bench: Bench) {
        let was = self.now.clone();
        self.touched = None;
        self.show(bench);
        if !self.held {
            self.before = Some(was);
        }
    }

    /// Lays a real pull beside, or takes it away.
    pub fn lay_beside(&mut self, real: Option<Beside>) {
        self.beside = real;
        self.said = None;
        self.revision += 1;
    }

    /// The real pull that lies beside.
    #[must_use]
    pub fn beside(&self) -> Option<&Beside> {
        self.beside.as_ref()
    }

    /// Has the bench pull as the real one beside it was pulled: its recipe, its age, its recorded pressure and temperature.
    /// The coffee, the grinder and how it was prepared stay, so that what was fitted to one pull foretells another.
    pub fn pull_as_beside(&mut self) {
        let Some(real) = self.beside.clone() else { return };
        self.change(None, None, |bench| {
            bench.recipe = real.setting.recipe;
            bench.age_days = real.setting.age_days;
            drive_as(bench, &real.trace);
        });
    }

    /// Makes the bench behave like the real pull beside it: off the drawing thread, until [`PracticeBench::poll`] takes
    /// the answer in. Nothing happens without such a pull or while a fit runs.
    pub fn fit(&mut self) {
        let Some(real) = self.beside.clone().filter(|_| self.fitting.is_none()) else { return };
        let wake = Arc::clone(&self.wake);
        let name = real.name.clone();
        let bench = real.stands(&self.now.bench);
        let work = move |progress: &super::Progress| {
            let heard = |share: f64| progress.step((share * 100.0) as usize, 100);
            judged(fit_to(&bench, &real.trace, heard))
        };
        self.said = None;
        self.fitting = Some((
            Task::start(word!("work-practice-fitting-the-bench"), work, Box::new(move || wake())),
            name,
        ));
    }

    /// Asks the fit to stop.
    pub fn stop(&mut self) {
        if let Some((task, _)) = &self.fitting {
            task.stop();
        }
    }

    /// Part of the running fit that is done, 0–1; `None` when none runs.
    #[must_use]
    pub fn fitting(&self) -> Option<f32> {
        self.fitting.as_ref().map(|(task, _)| task.part().unwrap_or(0.0))
    }

    /// Sweeps a handle over its whole range, all else as the bench stands: off the drawing thread, asked again whenever
    /// something has moved. The last sweep stays until the next one is there; `None` before the first.
    pub fn swept(&mut self, handle: Handle) -> Option<&Swept> {
        let mut bench = self.now.bench.clone();
        // Where the handle itself stands makes no difference.
        bench.set(handle, bench.marks(handle).0);
        let wants = Some((bench, handle));
        if self.wants != wants {
            if self.wants.as_ref().is_some_and(|(_, other)| *other != handle) {
                self.sweeps.clear();
            }
            self.wants = wants;
            if let Some(wants) = self.wants.clone() {
                self.sweeps.ask(wants);
            }
        }
        self.sweeps.poll();
        match self.sweeps.latest()? {
            Ok(Ok(swept)) if swept.handle != handle => None,
            Ok(swept) => Some(swept),
            Err(_) => None,
        }
    }

    /// Runs a study by name: off the drawing thread. `None` until it is done.
    pub fn studied(&mut self, name: &str) -> Option<&Result<StudyRun, String>> {
        if self.study.as_deref() != Some(name) {
            self.study = Some(name.to_owned());
            self.studies.ask((Arc::clone(&self.pack), name.to_owned()));
        }
        self.studies.poll();
        match self.studies.latest()? {
            Ok((known, run)) if known == name => Some(run),
            _ => None,
        }
    }

    /// Forgets sweeps and studies, so that they are worked out anew in the language in use.
    pub fn say_again(&mut self) {
        (self.wants, self.study) = (None, None);
        self.sweeps.clear();
        self.studies.clear();
    }

    /// Whether anything is being worked out off the drawing thread.
    #[must_use]
    pub fn is_busy(&self) -> bool {
        self.fitting.is_some() || self.sweeps.is_busy() || self.studies.is_busy()
    }

    /// Takes in what long work has finished. A fit that failed or was stopped changes nothing and says what to do.
    pub fn poll(&mut self) {
        self.sweeps.poll();
        self.studies.poll();
        let Some((task, name)) = &mut self.fitting else { return };
        let Some(answer) = task.poll() else { return };
        let name = name.clone();
        self.fitting = None;
        match answer.and_then(|fitted| fitted) {
            Ok(fit) => {
                let sentence = fit.sentence();
                self.change(None, Some(say!("work-practice-as", name = name)), |bench| *bench = fit.bench);
                self.said = Some(Ok(sentence));
            }
            Err(sentence) => self.said = Some(Err(sentence)),
        }
        self.revision += 1;
    }

    /// What the last fit has to say.
    #[must_use]
    pub fn said(&self) -> Option<&Result<String, String>> {
        self.said.as_ref()
    }
}

fn stand(bench: Bench, run: &mut Run) -> Stand {
    let pull = bench.pull_in(run, &GRID).map_err(|fault| fault.to_string());
    Stand { bench, pull }
}

/// A fit that is good enough to stand on, or what to do.
fn judged(fit: Result<BenchFit, FitFault>) -> Fitted {
    let fit = fit.map_err(|fault| match fault {
        FitFault::Stopped => word!("work-practice-stopped-the-bench-is-as-it").to_owned(),
        FitFault::NoMass => word!("work-practice-this-trace-has-no-cup-mass").to_owned(),
        FitFault::TooFew(n) => say!("work-practice-this-trace-has-samples-with-more", n = n),
        FitFault::Puck(fault) => {
            say!("work-practice-correct-the-pull-on-the-bags", fault = fault)
        }
    })?;
    if !fit.is_good() {
        return Err(say!(
            "work-practice-the-simulated-cup-stays-g-off",
            rms = rounded(Quantity::Yield, fit.rms_g, 1),
            last = rounded(Quantity::Yield, fit.last_g(), 0)
        ));
    }
    Ok(fit)
}

#[cfg(test)]
mod tests {
    use std::time::{Duration, Instant};

    use super::*;
    use crate::domain::{Channel, Trace};

    fn bench() -> PracticeBench {
        PracticeBench::new(Pack::shipped(), Arc::new(|| ()))
    }

    #[test]
    fn the_coffee_on_the_bench_is_called_as_the_language_calls_it() {
        let mut bench = bench();
        let at =
            bench.coffees().iter().position(|coffee| coffee.name == bench.pack().coffees["two-winters"].name);
        bench.put_coffee(at.unwrap());
        bench.set(Handle::Dose, 17.0);
        let before = bench.now().clone();
        let mut other = Pack::shipped();
        other.coffees.get_mut("two-winters").unwrap().name = "Twee winters".to_owned();
        bench.set_pack(other.clone());
        assert_eq!(bench.coffee_name(), "Twee winters");
        assert_eq!(bench.now().bench.coffee, other.coffees["two-winters"]);
        assert_eq!(bench.now().pull, before.pull);
        assert!(bench.undo());
        assert_eq!(bench.coffee_name(), "Twee winters");
        // Another coffee of the same file is not the one on the bench.
        let changed = other.coffees.get_mut("two-winters").unwrap();
        (changed.name, changed.flow) = ("Drie winters".to_owned(), 2.0);
        bench.set_pack(other);
        assert_eq!(bench.coffee_name(), "Twee winters");
    }

    fn wait(bench: &mut PracticeBench) {
        let until = Instant::now() + Duration::from_secs(60);
        while bench.fitting().is_some() && Instant::now() < until {
            std::thread::sleep(Duration::from_millis(2));
            bench.poll();
        }
    }

    #[test]
    fn moves_of_one_handle_are_one_step_and_before_stays() {
        let mut bench = bench();
        let start = bench.now().clone();
        for grind in [21.0, 20.0, 19.0] {
            bench.set(Handle::Grind, grind);
        }
        assert_eq!(bench.before(), Some(&start));
        let finer = bench.now().clone();
        bench.set(Handle::Dose, 18.5);
        assert_eq!(bench.before(), Some(&finer));
        assert!(bench.undo() && bench.now() == &finer);
        assert!(bench.undo() && bench.now() == &start);
        assert!(!bench.undo());
        assert!(bench.redo() && bench.now() == &finer);
        bench.hold();
        bench.set(Handle::Yield, 40.0);
        bench.set(Handle::Care, 2.0);
        assert_eq!(bench.before(), Some(&finer), "held");
        bench.hold();
        assert_eq!(bench.before(), None);
    }

    fn real(trace: Trace) -> Beside {
        let usual = Bench::default();
        Beside { name: "Two Lakes 3".to_owned(), trace: Arc::new(trace), setting: usual }
    }

    #[test]
    fn a_fit_lands_on_the_record_and_a_failed_or_stopped_one_changes_nothing() {
        let mut bench = bench();
        let truth = Bench { coffee: bench.pack().coffees["two-winters"].clone(), ..Bench::default() };
        let pull = truth.pull(&GRID).unwrap();
        let mass = (Channel::CupMass, pull.trace.cup_g.clone());
        let pressure = (Channel::Pressure, pull.trace.head_bar.clone());
        let trace = Trace::new(pull.trace.time_s.clone(), [mass, pressure]).unwrap();
        bench.lay_beside(Some(real(trace.clone())));
        let start = bench.now().clone();
        bench.fit();
        bench.stop();
        wait(&mut bench);
        assert_eq!(bench.now(), &start);
        assert!(matches!(bench.said(), Some(Err(why)) if why.contains("Stopped")), "{:?}", bench.said());
        bench.fit();
        wait(&mut bench);
        assert!(matches!(bench.said(), Some(Ok(how)) if how.contains("off by")), "{:?}", bench.said());
        let now = bench.now().pull.as_ref().unwrap().trace.end_s;
        assert!((now - pull.trace.end_s).abs() < 1.5, "{now} {}", pull.trace.end_s);
        assert_eq!(bench.before(), Some(&start));
        // No cup mass; and a scale that cannot be a pull.
        let fitted = bench.now().clone();
        let time: Vec<f64> = (0..60).map(|k| f64::from(k) * 0.5).collect();
        let dry = Trace::new(time.clone(), [(Channel::Pressure, vec![9.0; 60])]).unwrap();
        let odd = (0..60).map(|k| if k % 2 == 0 { 2.0 } else { 90.0 }).collect();
        let odd = Trace::new(time, [(Channel::CupMass, odd)]).unwrap();
        for (trace, part) in [(dry, "no cup mass"), (odd, "g off the recorded")] {
            bench.lay_beside(Some(real(trace)));
            bench.fit();
            wait(&mut bench);
            assert!(matches!(bench.said(), Some(Err(why)) if why.contains(part)), "{:?}", bench.said());
            assert_eq!(bench.now(), &fitted);
        }
    }
}
