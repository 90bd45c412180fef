//! What the next pull may be: how far the grinder goes in one move, what the clock and the chokes leave.

use super::answer::Toward;
use super::decide::USUAL_TIME_S;
use super::{Case, facts};
use crate::domain::{Attribute, Gear, Lever, Recipe, Scale};
use crate::infer::{Posterior, Shot};

/// Largest move of the grinder in one go, in ln time: three times faster or slower.
const FARTHEST_MOVE: f64 = 1.1;
/// The same from a pull whose time was usual: half as fast or slow again at most, for the clock asks for no leap.
const FARTHEST_FROM_TIME: f64 = 0.4;

/// How many times more or less drink one move may ask for: by a quarter, for more would be another style of drink (common
/// practice, no source).
const FARTHEST_YIELD: f64 = 1.26;

/// How much more or less coffee one move may ask for, grams: a basket is made for some dose and takes a gram or two beside
/// it (common practice, no source).
const FARTHEST_DOSE_G: f64 = 2.0;

/// How much less coffee to take where even the coarsest setting chokes, grams: half a gram (common practice, no source)
/// less the scatter of a scale.
const LESS_DOSE_G: f64 = 0.4;

/// Time (s) from which a pull runs so slowly that one beside it may well choke.
const NEARLY_CHOKED_S: f64 = 40.0;

/// Whether the choke of pull `at` (from 0) rules its setting out: it does unless a pull as fine and of as much coffee has
/// run well and it alone has choked since; then the preparation explains it better than the grind.
fn rules_out(case: &Case, at: usize) -> bool {
    let Some(choked) = case.shots.get(at) else { return false };
    match last_run_as_fine(&case.shots, choked, &case.gear) {
        None => true,
        Some(ran) => at > ran && case.shots.iter().skip(ran).filter(|s| s.choked).count() > 1,
    }
}

/// Whether a coarser pull has run so fast since the choke of pull `at` (from 0) that one as fine would not choke. `per_unit`
/// is the rise of ln time per unit of the grinder toward finer.
fn is_refuted(case: &Case, at: usize, per_unit: f64) -> bool {
    let Some((choked, since)) = case.shots.get(at..).and_then(<[Shot]>::split_first) else { return false };
    let coarser_by = |s: &Shot| (s.recipe.grind - choked.recipe.grind) * case.gear.grind.finer.coarser_sign();
    let as_fine_s = |s: &Shot| Some(s.ran_s()? * libm::exp(per_unit * coarser_by(s).max(0.0)));
    let fast = |s: &Shot| !s.choked && as_much(s, choked) && as_fine_s(s).is_some_and(|t| t < USUAL_TIME_S.0);
    since.iter().any(fast)
}

/// Whether the last pull choked where others ran, so that it says more of its preparation than of the grind.
pub(super) fn stray_choke(case: &Case) -> bool {
    let last = case.shots.len().saturating_sub(1);
    case.shots.get(last).is_some_and(|shot| shot.choked) && !rules_out(case, last)
}

fn as_much(shot: &Shot, choked: &Shot) -> bool {
    shot.recipe.dose_g > choked.recipe.dose_g - 0.5
}

/// The last of `shots` (from 0) that was as fine as `choked` and of as much coffee, and ran well.
pub(super) fn last_run_as_fine(shots: &[Shot], choked: &Shot, gear: &Gear) -> Option<usize> {
    let coarser = gear.grind.finer.coarser_sign();
    shots.iter().rposition(|s| {
        let as_fine = (choked.recipe.grind - s.recipe.grind) * coarser >= 0.0;
        let ran = s.ran_s().is_some_and(|t| t < NEARLY_CHOKED_S);
        ran && as_fine && as_much(s, choked)
    })
}

/// Pulls after which the clock no longer says which way the grind may go.
const CLOCK_FIRST: usize = 2;

/// Times (s) so far off that the grind must move: a gusher, and so slow a pull that it rarely runs evenly.
pub(super) const FAR_OFF_S: (f64, f64) = (14.0, 45.0);

/// Times (s) wished for: the window that was named, or the usual one.
pub(super) fn window_s(case: &Case) -> (f64, f64) {
    case.aim.time_window_s.unwrap_or(USUAL_TIME_S)
}

/// Whether a pull ran, and faster than wished for.
fn ran_fast(case: &Case, shot: &Shot) -> bool {
    shot.ran_s().is_some_and(|t| t < window_s(case).0)
}

/// Times (s) short of and beyond which the grind must move: those of [`FAR_OFF_S`], but none of a window that was named or near
/// it; and for a style of its own whatever is not near its window.
fn far_off_s(case: &Case) -> (f64, f64) {
    let (from, to) = window_s(case);
    let (short, long) = (FAR_OFF_S.0.min(from), FAR_OFF_S.1.max(to));
    if facts::of_its_own_style(case) {
        return (short.max(from / facts::NEAR_WINDOW), long.min(to * facts::NEAR_WINDOW));
    }
    (short, long)
}

/// Time (s) under which a pull races, whatever it tastes of (common practice, no source).
const RACED_S: f64 = 18.0;

/// Whether a pull ran so fast that no taste asks for a coarser grind, unless so short a time was wished for.
fn raced(case: &Case, shot: &Shot) -> bool {
    ran_fast(case, shot) && shot.ran_s().is_some_and(|t| t < RACED_S)
}

/// Whether a pull choked, or ran slower than wished for.
fn ran_slowly(case: &Case, shot: &Shot) -> bool {
    shot.choked || shot.ran_s().is_some_and(|t| t > window_s(case).1)
}

/// Which way the grind must not be moved against, where the first pulls all ran off the clock on the same side, and
/// whether the last ran so far off that it must move: the time comes before the taste (common practice, no source). Jets
/// say that the clock cannot be trusted, and so does a bed that may have broken.
pub(super) fn off_the_clock(case: &Case, posterior: &Posterior) -> Option<(Toward, bool)> {
    let shots = &case.shots;
    if shots.is_empty() || shots.len() > CLOCK_FIRST || shots.iter().any(Shot::tunnelled) {
        return None;
    }
    if posterior.bed_may_have_broken() {
        return None;
    }
    let (short, long) = far_off_s(case);
    let last = shots.last()?;
    if shots.iter().all(|s| ran_fast(case, s)) {
        return Some((Toward::Finer, last.ran_s().is_some_and(|t| t < short)));
    }
    let far = last.choked || last.ran_s().is_some_and(|t| t > long);
    shots.iter().all(|s| ran_slowly(case, s)).then_some((Toward::Coarser, far))
}

/// Whether the last pull choked, or nobody tasted or measured it and it ran out of the window: only the grind answers such
/// a pull, for all that is known of it is the clock (common practice, no source).
pub(super) fn only_the_clock_spoke(case: &Case) -> bool {
    let Some(last) = case.shots.last() else { return false };
    let untasted = last.taste.is_empty() && last.reading().is_none() && !last.tunnelled();
    last.choked || untasted && (ran_fast(case, last) || ran_slowly(case, last))
}

/// Whether a pull took a usual time, as far as a clock can be trusted.
fn ran_in_time(shot: &Shot) -> bool {
    let (from, to) = USUAL_TIME_S;
    !shot.tunnelled() && shot.ran_s().is_some_and(|t| t > from && t < to)
}

/// The last pull, where it is the first that tunnelled and the bed did not break: it was badly prepared (common practice, no
/// source).
fn first_to_tunnel<'a>(case: &'a Case, posterior: &Posterior) -> Option<&'a Shot> {
    let (last, before) = case.shots.split_last()?;
    let first = last.tunnelled() && !before.iter().any(Shot::tunnelled);
    (first && !posterior.bed_may_have_broken()).then_some(last)
}

/// Whether such a pull ran fast: no coarser grind would slow it.
fn jets_of_a_fast_pull(case: &Case, posterior: &Posterior) -> bool {
    first_to_tunnel(case, posterior).is_some_and(|last| ran_fast(case, last))
}

/// Whether the last pull is to be prepared again with more care before anything moves (common practice, no source): the first
/// that tunnelled, where it was seen to and did not run too slowly, or ran fast; but no gusher.
pub(super) fn to_prepare_again(case: &Case, posterior: &Posterior) -> bool {
    first_to_tunnel(case, posterior).is_some_and(|last| {
        let gushed = last.ran_s().is_some_and(|t| t < FAR_OFF_S.0);
        let seen = last.spurting && !ran_slowly(case, last);
        (seen || ran_fast(case, last)) && !gushed
    })
}

/// How far a cup was marked off; 0 where it was not marked.
fn mark_of(shot: &Shot, of: Attribute) -> i8 {
    shot.taste.mark(of).map_or(0, |mark| mark.value())
}

/// Ways that no lever is moved. Where more than one cup was tasted, few are left: later cups say more than such rules.
#[derive(Debug, Clone, Copy, Default)]
struct Unwanted {
    finer: bool,
    coarser: bool,
    hotter: bool,
    cooler: bool,
    more_drink: bool,
    less_drink: bool,
    more_dose: bool,
    less_dose: bool,
}

impl Unwanted {
    /// Whether no lower, and no higher, setting of the grinder is wanted.
    fn on_the_scale_of(&self, gear: &Gear) -> (bool, bool) {
        match gear.grind.finer.coarser_sign() > 0.0 {
            true => (self.finer, self.coarser),
            false => (self.coarser, self.finer),
        }
    }

    /// Whatever earlier cups told: a sour cup asks for more to be taken out and a bitter one for less (sourness falls and
    /// bitterness rises with extraction: Frost, Ristenpart and Guinard, J. Food Sci. 85:2530, 2020), so that a sour one is
    /// not answered by less heat, nor, if not weak, by less drink, and a bitter one not by more heat, nor, if not strong,
    /// by more drink. A weak cup that is not sour, or a far too weak one, is not answered by more drink from its coffee
    /// and a strong one not by less, nor a weak one by less coffee or a strong one by more (definition of strength); a pull
    /// that ran fast not by less coffee, which would let it run faster still (common practice, no source). A sour cup is
    /// not answered by a coarser grind unless it ran slowly, nor a bitter one by a finer unless it ran fast; a pull that
    /// raced not by a coarser, nor one that ran slowly, with jets or without, by a finer. Else, where jets or a bed that
    /// may have broken put the blame on the bed, the grind is free. No choke is answered by a finer grind or more coffee,
    /// whatever ran before it.
    fn after_newest_cup(case: &Case, posterior: &Posterior) -> Self {
        let Some(last) = case.shots.last() else { return Self::default() };
        if last.choked {
            return Self { finer: true, more_dose: true, ..Self::default() };
        }
        let [sour, bitter, strong] =
            [Attribute::Sourness, Attribute::Bitterness, Attribute::Strength].map(|of| mark_of(last, of));
        let (bitter, sour) = (bitter > 0 && sour <= 0, sour > 0 && bitter <= 0);
        let whole = !posterior.bed_may_have_broken();
        let even = whole && !last.tunnelled();
        Self {
            finer: even && bitter && !ran_fast(case, last)
                || whole && (even || last.spurting) && ran_slowly(case, last),
            coarser: even && (sour && !ran_slowly(case, last) || raced(case, last)),
            hotter: bitter,
            cooler: sour,
            more_drink: strong <= -2 || strong < 0 && !sour || bitter && strong <= 0,
            less_drink: strong > 0 || sour && strong >= 0,
            more_dose: strong > 0,
            less_dose: strong < 0 || ran_fast(case, last),
        }
    }

    /// What a first cup tells besides: in good time, by the usual clock and by the one wished for (`on_time`), a drying one is
    /// not answered by a finer grind or more drink (common practice, no source), nor a sour one by less drink, weak or not;
    /// one that is weak or thin, and did not run fast, not by more drink, which makes it thinner still (definition of
    /// strength).
    fn after_first_cup(case: &Case, on_time: bool) -> Self {
        let mut tasted = case.shots.iter().filter(|s| !s.taste.is_empty());
        let (Some(only), None) = (tasted.next(), tasted.next()) else { return Self::default() };
        let mark = |of: Attribute| mark_of(only, of);
        let [sour, bitter, strong] =
            [Attribute::Sourness, Attribute::Bitterness, Attribute::Strength].map(mark);
        let thin = strong < 0 || strong == 0 && mark(Attribute::Body) < 0;
        let (fast, _) = USUAL_TIME_S;
        let newest = case.shots.last().is_some_and(|last| !last.taste.is_empty());
        let in_time = on_time && newest && ran_in_time(only);
        let drying = in_time && mark(Attribute::Astringency) > 0 && sour <= 0;
        Self {
            finer: drying,
            more_drink: thin && sour <= 0 && only.ran_s().is_some_and(|t| t > fast) || drying,
            less_drink: in_time && sour > 0 && bitter <= 0,
            ..Self::default()
        }
    }
}

/// What the next pull may be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Reach {
    /// Grinder settings, lowest and highest, within the scale.
    pub grind: (f64, f64),
    /// Dose, least and most, grams.
    pub dose_g: (f64, f64),
    /// Yield, least and most, grams.
    pub yield_g: (f64, f64),
    /// Drink over dose, least and most.
    pub ratio: (f64, f64),
    /// Temperature, least and most, °C.
    pub temperature_c: (f64, f64),
}

/// All there is of a quantity.
const ANY: (f64, f64) = (f64::NEG_INFINITY, f64::INFINITY);

/// What is left of a quantity that may not become less, or more, than it is.
fn within(now: Option<f64>, not_less: bool, not_more: bool) -> (f64, f64) {
    let Some(now) = now else { return ANY };
    (if not_less { now } else { ANY.0 }, if not_more { now } else { ANY.1 })
}

/// What lies within both.
fn narrower(a: (f64, f64), b: (f64, f64)) -> (f64, f64) {
    (a.0.max(b.0), a.1.min(b.1))
}

fn holds((least, most): (f64, f64), value: f64) -> bool {
    (least - 1e-9..=most + 1e-9).contains(&value)
}

/// How far the grinder may be moved in one go from `current`, in ln time: out of a choke as far as it takes to be in time, and
/// into the middle of the window of a style of its own.
fn farthest_move(case: &Case, posterior: &Posterior, current: &Recipe) -> f64 {
    match case.shots.last() {
        Some(last) if last.choked => {
            let times = posterior.times(&posterior.frame.point(current, last.days_since_roast));
            FARTHEST_MOVE.max(posterior.mean(&times) - libm::log(USUAL_TIME_S.1))
        }
        Some(last) if ran_in_time(last) => {
            let middle = |(from, to): (f64, f64)| 0.5 * (libm::log(from.max(1.0)) + libm::log(to.max(1.0)));
            let wished = facts::own_style_s(case).map(middle).zip(last.ran_s());
            wished.map_or(0.0, |(middle, ran_s)| (middle - libm::log(ran_s)).abs()).max(FARTHEST_FROM_TIME)
        }
        _ => FARTHEST_MOVE,
    }
}

impl Reach {
    /// All that the gear can do.
    pub fn all(gear: &Gear) -> Self {
        let whole = |scale: &Scale| (scale.min(), scale.max());
        Self {
            grind: whole(&gear.grind.scale),
            dose_g: ANY,
            yield_g: whole(&gear.yield_g),
            ratio: ANY,
            temperature_c: ANY,
        }
    }

    /// What the newest cup leaves; one may always go back to what was better liked.
    fn left_by_newest_cup(case: &Case, posterior: &Posterior, current: &Recipe) -> Self {
        let unwanted = Unwanted::after_newest_cup(case, posterior);
        let liking = case.shots.last().and_then(|s| s.taste.liking());
        let better = case.shots.iter().filter(|s| liking.is_some() && s.taste.liking() > liking);
        let known: Vec<Recipe> = better.map(|s| s.recipe).chain([*current]).collect();
        let left = |of: fn(&Recipe) -> Option<f64>, not_less, not_more| {
            let values = || known.iter().filter_map(of);
            let least = within(values().reduce(f64::min), not_less, false).0;
            (least, within(values().reduce(f64::max), false, not_more).1)
        };
        let (not_lower, not_higher) = unwanted.on_the_scale_of(&case.gear);
        Self {
            grind: left(|r| Some(r.grind), not_lower, not_higher),
            dose_g: left(|r| Some(r.dose_g), unwanted.less_dose, unwanted.more_dose),
            yield_g: ANY,
            ratio: left(Recipe::ratio, unwanted.less_drink, unwanted.more_drink),
            temperature_c: left(|r| r.temperature_c, unwanted.cooler, unwanted.hotter),
        }
    }

    /// What lies within one move. The grind: not farther than [`farthest_move`] says, unless a pull has run there, not away
    /// from the clock at first, and coarser than what has choked; where the scale ends there, less coffee. The dose: not
    /// more than [`FARTHEST_DOSE_G`] away, and never more than is left. The drink: not much more or less at once. No lever
    /// goes against what the first cup told, nor against the newest.
    pub fn of_one_move(case: &Case, posterior: &Posterior, current: &Recipe) -> Self {
        let Gear { grind, dose_g, .. } = &case.gear;
        let farthest = farthest_move(case, posterior, current);
        let per_unit = facts::per_unit(|u| posterior.belief(u).0);
        let most = (farthest / per_unit).max(grind.scale.step());
        let (mut low, mut high) = (current.grind - most, current.grind + most);
        let (mut least_g, mut most_g) = (current.yield_g / FARTHEST_YIELD, current.yield_g * FARTHEST_YIELD);
        let (mut least_dose_g, mut most_dose_g) =
            (current.dose_g - FARTHEST_DOSE_G, current.dose_g + FARTHEST_DOSE_G);
        // Where a pull has run, one may go back to at once.
        for shot in case.shots.iter().filter(|s| !s.choked) {
            (low, high) = (low.min(shot.recipe.grind), high.max(shot.recipe.grind));
            (least_g, most_g) = (least_g.min(shot.recipe.yield_g), most_g.max(shot.recipe.yield_g));
            least_dose_g = least_dose_g.min(shot.recipe.dose_g);
            most_dose_g = most_dose_g.max(shot.recipe.dose_g);
        }
        let off = off_the_clock(case, posterior);
        let mut unwanted = Unwanted::after_first_cup(case, off.is_none());
        unwanted.coarser |= jets_of_a_fast_pull(case, posterior);
        let newest = Self::left_by_newest_cup(case, posterior, current);
        (least_dose_g, most_dose_g) = narrower((least_dose_g, most_dose_g), newest.dose_g);
        let (not_lower, not_higher) = unwanted.on_the_scale_of(&case.gear);
        let told = narrower(newest.grind, within(Some(current.grind), not_lower, not_higher));
        (low, high) = narrower((low, high), told);
        if let Some((toward, far)) = off {
            let steps = if far { 1 } else { 0 };
            let up = (toward == Toward::Coarser) == (grind.finer.coarser_sign() > 0.0);
            let least =
                grind.coarser_by(current.grind, if toward == Toward::Coarser { steps } else { -steps });
            if up { low = low.max(least) } else { high = high.min(least) }
        }
        // The next pull takes no more than what is left of the bag.
        let left_g = case.coffee_left_g.filter(|left| *left >= current.dose_g);
        most_dose_g = most_dose_g.min(left_g.unwrap_or(f64::INFINITY));
        let bars = |at: usize| rules_out(case, at) && !is_refuted(case, at, per_unit);
        let choked = case.shots.iter().enumerate().filter(|(at, s)| s.choked && bars(*at));
        for (_, shot) in choked {
            let next = grind.coarser_by(shot.recipe.grind, 1);
            match grind.finer.coarser_sign() > 0.0 {
                true => (low, high) = (low.max(next), high.max(next)),
                false => (low, high) = (low.min(next), high.min(next)),
            }
            let less = shot.recipe.dose_g - LESS_DOSE_G;
            let is_coarsest = grind.steps_coarser(shot.recipe.grind, next) == 0;
            if is_coarsest && less >= dose_g.min() {
                most_dose_g = most_dose_g.min(less);
            }
        }
        Self {
            grind: (grind.scale.snap(low), grind.scale.snap(high)),
            // The way out of a choke comes before what the newest cup told.
            dose_g: (least_dose_g.min(most_dose_g), most_dose_g),
            yield_g: (least_g, most_g),
            ratio: narrower(newest.ratio, within(current.ratio(), unwanted.less_drink, unwanted.more_drink)),
            temperature_c: narrower(
                newest.temperature_c,
                within(current.temperature_c, unwanted.cooler, unwanted.hotter),
            ),
        }
    }

    /// Whether the grind is left where it is.
    pub fn leaves_the_grind(&self) -> bool {
        self.grind.0 >= self.grind.1
    }

    /// Whether neither grinder nor dose can be moved within it from `current`: nothing else opens a bed that chokes.
    pub fn leaves_nothing_against_a_choke(&self, gear: &Gear, current: &Recipe) -> bool {
        let moves = |lever: Lever| {
            let Some((scale, value)) = gear.scale(lever).zip(current.get(lever)) else { return false };
            let at = scale.index_of(value);
            let beside = [at.checked_sub(1), Some(at + 1).filter(|next| *next < scale.count())];
            beside.into_iter().flatten().any(|next| self.holds(&current.with(lever, scale.at(next))))
        };
        !moves(Lever::Grind) && !moves(Lever::Dose)
    }

    /// Whether a recipe lies within it.
    pub fn holds(&self, recipe: &Recipe) -> bool {
        (self.grind.0..=self.grind.1).contains(&recipe.grind)
            && holds(self.dose_g, recipe.dose_g)
            && (self.yield_g.0..=self.yield_g.1).contains(&recipe.yield_g)
            && recipe.ratio().is_none_or(|ratio| holds(self.ratio, ratio))
            && recipe.temperature_c.is_none_or(|t| holds(self.temperature_c, t))
    }
}
