//! What pulls say about the unknowns: likelihoods with heavy tails, per pull (a spoiled pull is spoiled in all its
//! numbers) and per mark (a slip of the finger).

use super::{Frame, Latent, Point, UNKNOWNS, Unknown, WORLD_UNKNOWNS};
use crate::domain::{Attribute, Recipe, Taste};
use crate::maths::real::Real;
use crate::maths::{fast, normal};
use crate::trace::Gist;

/// One pulled shot as the advisor sees it.
#[derive(Debug, Clone, PartialEq)]
pub struct Shot {
    /// Number used when reasons name it, counted from 1.
    pub label: u32,
    /// What was planned, where a plan stood.
    pub plan: Option<Recipe>,
    /// What was really used.
    pub recipe: Recipe,
    /// Pump on to cup away, seconds.
    pub time_s: Option<f64>,
    /// Pump on to first drip, seconds.
    pub first_drip_s: Option<f64>,
    /// Strength, % by mass.
    pub tds_pct: Option<f64>,
    /// Marks and liking.
    pub taste: Taste,
    /// No flow; abandoned.
    pub choked: bool,
    /// Visible jets.
    pub spurting: bool,
    /// Age of the bag, days since the roast, where known.
    pub days_since_roast: Option<f64>,
    /// What its trace says, where one was recorded.
    pub gist: Option<Gist>,
}

impl Shot {
    /// A pull of which nothing is known but what was used.
    #[must_use]
    pub fn new(label: u32, recipe: Recipe) -> Self {
        Self {
            label,
            plan: None,
            recipe,
            time_s: None,
            first_drip_s: None,
            tds_pct: None,
            taste: Taste::default(),
            choked: false,
            spurting: false,
            days_since_roast: None,
            gist: None,
        }
    }

    /// Whether it says anything beside what was used: a time or a first drip, a reading, a taste, jets, a choke.
    #[must_use]
    pub fn tells(&self) -> bool {
        let run = self.timed().is_some() || self.dripped_s().is_some() || self.spurting || self.choked;
        run || self.reading().is_some() || !self.taste.is_empty()
    }

    /// How long it took, seconds, and how many times wider than usual the error of that is: as it was timed, else as its
    /// trace shows.
    fn timed(&self) -> Option<(f64, f64)> {
        let by_hand = self.time_s.filter(may_be_a_time).map(|t| (t, 1.0));
        by_hand.or_else(|| Some((self.gist?.time_s.filter(may_be_a_time)?, READ_OFF)))
    }

    /// Pump on to cup away, seconds, of a pull that ran: as it was timed, else as its trace shows.
    #[must_use]
    pub fn ran_s(&self) -> Option<f64> {
        self.timed().map(|(time_s, _)| time_s).filter(|_| !self.choked)
    }

    /// Pump on to first drip, seconds, of a pull that ran: as it was timed, else as its trace shows.
    #[must_use]
    pub fn dripped_s(&self) -> Option<f64> {
        let by_hand = self.first_drip_s.filter(may_be_a_time);
        by_hand.or_else(|| self.gist?.first_drip_s.filter(may_be_a_time)).filter(|_| !self.choked)
    }

    /// The recipe that the cup came from, had it been finished: see [`Recipe::meant`].
    #[must_use]
    pub fn meant(&self, usual_yield_g: f64) -> Recipe {
        self.recipe.meant(self.plan, self.choked, usual_yield_g)
    }

    /// The recipe that was aimed at: see [`Recipe::aimed`].
    #[must_use]
    pub fn aimed(&self, usual_yield_g: f64) -> Recipe {
        self.meant(usual_yield_g).aimed(self.plan)
    }

    /// Whether what was used is a recipe, but for slips of the hand.
    #[must_use]
    pub fn aims_at(&self, plan: &Recipe) -> bool {
        !self.choked && self.recipe.aimed(Some(*plan)) == *plan
    }

    /// The plan whose drink it missed by accident, where it did: see [`Recipe::ran_past`]. A choke is none.
    #[must_use]
    pub fn missed_plan(&self) -> Option<Recipe> {
        self.plan.filter(|plan| !self.choked && self.recipe.ran_past(plan))
    }

    /// The plan of whose recipe it had another dose alone, by more than a slip, where it had: by mistake or by choice. A
    /// choke, or a pull that missed the drink, is none.
    #[must_use]
    pub fn other_dose(&self) -> Option<Recipe> {
        self.plan.filter(|plan| !self.choked && self.recipe.has_another_dose(plan))
    }

    /// Extraction that its reading of strength amounts to, %.
    #[must_use]
    pub fn extraction_pct(&self) -> Option<f64> {
        self.tds_pct.map(|s| s * self.recipe.yield_g / self.recipe.dose_g)
    }

    /// Strength and extraction, %, of a finished pull whose reading may be true: more than a coffee holds cannot be, nor next
    /// to nothing; such a reading is left out (a guard says so).
    #[must_use]
    pub fn reading(&self) -> Option<(f64, f64)> {
        let (strength, extraction) = self.tds_pct.zip(self.extraction_pct())?;
        let may_be = strength.is_finite() && strength > 0.3 && strength < 30.0;
        let may_be = may_be && (LEAST_EXTRACTION_PCT..=MOST_EXTRACTION_PCT).contains(&extraction);
        (may_be && !self.choked).then_some((strength, extraction))
    }

    /// How sure the trace is that a channel opened, 0…1; 0 without a trace.
    #[must_use]
    pub fn channel(&self) -> f64 {
        let sure = self.gist.and_then(|gist| gist.channel).map_or(0.0, |(_, sure)| sure);
        if sure.is_finite() { sure.clamp(0.0, 1.0) } else { 0.0 }
    }

    /// Whether water tunnelled, as seen by eye or, more likely than not, by the trace.
    #[must_use]
    pub fn tunnelled(&self) -> bool {
        self.spurting || self.channel() > 0.5
    }
}

/// Whether a pull may have taken so long, seconds, or its first drip.
fn may_be_a_time(time_s: &f64) -> bool {
    time_s.is_finite() && *time_s > 0.5 && *time_s < 600.0
}

/// A kind of evidence, for saying what moved an answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// Time, where nobody took it the first drip, choking, jets.
    Time,
    /// Strength reading.
    Strength,
    /// Just-about-right marks.
    Marks,
    /// Liking.
    Liking,
}

impl Kind {
    /// All kinds.
    pub const ALL: [Self; 4] = [Self::Time, Self::Strength, Self::Marks, Self::Liking];
}

/// How exact the evidence is, the model's own error included.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Noise {
    /// Standard deviation of ln time.
    pub ln_time: f64,
    /// Standard deviation of a strength reading, %.
    pub strength_pct: f64,
    /// Standard deviation of a mark before rounding.
    pub mark: f64,
    /// Standard deviation of liking before rounding.
    pub liking: f64,
}

impl Default for Noise {
    fn default() -> Self {
        Self { ln_time: 0.075, strength_pct: 0.28, mark: 0.65, liking: 0.85 }
    }
}

/// A pull, reduced to what enters the likelihood.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Observed {
    /// Where it lies in the frame.
    pub point: Point,
    /// ln time and how many times wider than usual its error is.
    pub ln_time: Option<(f64, f64)>,
    /// No flow at all.
    pub choked: bool,
    /// Strength, %.
    pub strength_pct: Option<f64>,
    /// Marks in the order of [`Attribute::ALL`].
    pub marks: [Option<i8>; 6],
    /// Liking.
    pub liking: Option<u8>,
    /// Visible jets from a pull that ran.
    pub spurting: bool,
    /// Chance, before looking at the numbers, that the pull was badly prepared.
    pub spoiled: f64,
    /// Days between this pull and the newest one.
    pub days_ago: f64,
}

/// Extraction, %, below and above which a reading of strength cannot be true of an espresso: coffee holds some 30 %
/// (from memory, no source at hand), and even a gusher brings several.
pub const LEAST_EXTRACTION_PCT: f64 = 4.0;
/// The upper end.
pub const MOST_EXTRACTION_PCT: f64 = 30.0;

/// Chance that a pull without any sign of trouble was badly prepared.
const SPOILED: f64 = 0.05;
/// The same with a certain channel in the trace, which may open late and heal, and how many times wider the error of its
/// time is even then (common practice, no source).
const SPOILED_CHANNEL: f64 = 0.5;
const WIDER_CHANNEL: f64 = 1.5;
/// Jets: the chance that a person sees them from a bed that is all uneven, how soon they come as it turns so, and the
/// chances of them from a badly prepared puck and from an even one (common practice, no source). They speak of too fine
/// a grind as well as of bad preparation.
const JETS_SEEN: f64 = 0.5;
const JETS_SOON: f64 = 2.0;
const JETS_SPOILED: f64 = 0.35;
const JETS_EVEN: f64 = 0.005;
/// What a badly prepared puck does to a pull, beside what was expected, and the scatter of that: water finds a short way,
/// so that the pull runs a third faster, thinner, under-extracted and harsh (common practice, no source; sizes assumed).
const BAD_LN_TIME: (f64, f64) = (-0.3, 0.3);
const BAD_STRENGTH_PCT: (f64, f64) = (-0.8, 1.0);
const BAD_LIKING: (f64, f64) = (-2.0, 1.5);
/// Its marks, in the order of [`Attribute::ALL`]: sour and dry; bitter for the water's short way and less so for what it
/// left behind; weak.
const BAD_MARKS: [f64; 6] = [1.2, 0.3, -0.6, 0.0, 0.8, 0.0];
const BAD_MARK_SD: f64 = 1.3;
/// How many times wider the error of a time is that nobody took, read off a trace (pump off is not cup away).
const READ_OFF: f64 = 1.3;
/// Share of a pull before its first drip (6–7 s of 27; trade), very loosely: how many times wider the error of a time is
/// that is told from it.
pub const DRIP_SHARE: f64 = 0.24;
const BY_DRIP: f64 = 5.0;
/// Chance of a mark or a liking given by slip.
const SLIP: f64 = 0.03;
/// ln of the time beyond which people give up on a pull, and its scatter.
const LN_GIVE_UP: (f64, f64) = (4.25, 0.25);

impl Observed {
    /// Reduces a shot; `newest_day` is the age at the newest pull.
    #[must_use]
    pub fn new(shot: &Shot, frame: &Frame, newest_day: Option<f64>) -> Self {
        let point = frame.point(&shot.meant(frame.yield_g), shot.days_since_roast);
        let by_drip = || Some((shot.dripped_s()? / DRIP_SHARE, BY_DRIP));
        let ln_time = shot.timed().or_else(by_drip).map(|(time_s, wider)| (fast::ln(time_s), wider));
        let mut marks = [None; 6];
        for (slot, attribute) in marks.iter_mut().zip(Attribute::ALL) {
            *slot = shot.taste.mark(attribute).map(|m| m.value());
        }
        let healed = 1.0 + shot.channel() * (WIDER_CHANNEL - 1.0);
        let days_ago = match (newest_day, shot.days_since_roast) {
            (Some(new), Some(day)) => (new - day).clamp(0.0, 400.0),
            _ => 0.0,
        };
        Self {
            point,
            ln_time: ln_time.filter(|_| !shot.choked).map(|(ln_time, wider)| (ln_time, wider * healed)),
            choked: shot.choked,
            strength_pct: shot.reading().map(|(strength_pct, _)| strength_pct),
            marks: if shot.choked { [None; 6] } else { marks },
            liking: if shot.choked { None } else { shot.taste.liking() },
            spurting: shot.spurting && !shot.choked,
            spoiled: SPOILED + shot.channel() * (SPOILED_CHANNEL - SPOILED),
            days_ago,
        }
    }

    /// Error of this pull's time and taste, wider the longer ago it was (bags drift in ways no line describes).
    fn widened(&self, noise: &Noise) -> Noise {
        let days = self.days_ago.min(60.0);
        Noise {
            ln_time: libm::sqrt(noise.ln_time * noise.ln_time + 0.015 * 0.015 * days),
            strength_pct: libm::sqrt(noise.strength_pct * noise.strength_pct + 0.05 * 0.05 * days),
            mark: noise.mark,
            liking: libm::sqrt(noise.liking * noise.liking + 0.08 * 0.08 * days),
        }
    }
}

/// Logarithm of a likelihood with its first derivative and the (non-negative) curvature used for the fit.
#[derive(Debug, Clone, Copy)]
pub(super) struct Site<T> {
    pub log: T,
    pub slope: T,
    pub curvature: T,
}

impl<T: Real> Site<T> {
    /// Says the same whatever the unknowns.
    #[inline]
    fn constant(log: f64) -> Self {
        let zero = T::constant(0.0);
        Self { log: T::constant(log), slope: zero, curvature: zero }
    }
}

/// Normal error.
#[inline]
fn gaussian<T: Real>(observed: f64, predicted: T, sd: f64) -> Site<T> {
    let each = 1.0 / sd;
    let z = (-predicted + observed) * each;
    Site {
        log: z * z * -0.5 - (fast::ln(sd) + normal::LN_SQRT_2PI),
        slope: z * each,
        curvature: T::constant(each * each),
    }
}

/// One of the answers of an ordered scale lies between two limits before rounding, where there are such; a slip is
/// possible.
#[inline]
fn ordinal<T: Real>(limits: (Option<f64>, Option<f64>), predicted: T, sd: f64, answers: f64) -> Site<T> {
    let each = 1.0 / sd;
    // Distribution function, density and density times distance at a limit.
    let at = |limit: Option<f64>, beyond: f64| {
        let nothing = T::constant(0.0);
        limit.map_or((T::constant(beyond), nothing, nothing), |limit| {
            let x = (-predicted + limit) * each;
            let density = x.normal_pdf();
            (x.normal_cdf(), density, x * density)
        })
    };
    let (below, fa, ma) = at(limits.0, 0.0);
    let (upto, fb, mb) = at(limits.1, 1.0);
    let total = (upto - below).at_least(0.0) * (1.0 - SLIP) + SLIP / answers;
    let share = T::constant(1.0 - SLIP) / total;
    let slope = share * (fa - fb) * each;
    let bend = share * (ma - mb) * (each * each) - slope * slope;
    Site { log: total.ln(), slope, curvature: (-bend).at_least(0.0) }
}

/// How a person marks: their unknowns, with what all marks share worked out once.
pub(super) struct Marking<'a, T> {
    theta: &'a [T],
    gain_s: T,
    gain_b: T,
}

/// Predicted mark and its derivatives against (strength_off, balance_off, uneven) and the marking unknowns touched.
pub(super) struct MarkForm<T> {
    pub value: T,
    pub by_strength: T,
    pub by_balance: T,
    pub by_uneven: f64,
    pub own: [(usize, T); 6],
}

impl<'a, T: Real> Marking<'a, T> {
    #[inline]
    pub fn new(theta: &'a [T]) -> Self {
        let gain = |of: Unknown| theta.get(of.at()).copied().unwrap_or(T::constant(0.0)).exp();
        Self { theta, gain_s: gain(Unknown::LnStrengthGain), gain_b: gain(Unknown::LnBalanceGain) }
    }

    /// The linear reading of one attribute of a cup. `index` is the place in [`Attribute::ALL`].
    #[inline]
    pub fn form(&self, index: usize, cup: &Latent<T>) -> MarkForm<T> {
        use Unknown as U;
        let zero = T::constant(0.0);
        let get = |which: Unknown| self.theta.get(which.at()).copied().unwrap_or(zero);
        let (gain_s, gain_b) = (self.gain_s, self.gain_b);
        let (u, v) = (gain_s * cup.strength_off, gain_b * cup.balance_off);
        let spare = U::LnStrengthGain.at();
        let linear = |s: Result<Unknown, f64>, b: Result<Unknown, f64>, habit: Unknown, w: f64| {
            let slope = |of: Result<Unknown, f64>| of.map_or_else(T::constant, get);
            let (ks, kb) = (slope(s), slope(b));
            MarkForm {
                value: get(habit) + ks * u + kb * v + cup.uneven * w,
                by_strength: ks * gain_s,
                by_balance: kb * gain_b,
                by_uneven: w,
                own: [
                    (habit.at(), T::constant(1.0)),
                    (U::LnStrengthGain.at(), ks * u),
                    (U::LnBalanceGain.at(), kb * v),
                    s.map_or((spare, zero), |s| (s.at(), u)),
                    b.map_or((spare, zero), |b| (b.at(), v)),
                    (spare, zero),
                ],
            }
        };
        match index {
            0 => linear(Ok(U::SourStrength), Ok(U::SourBalance), U::SourHabit, 0.6),
            1 => linear(Ok(U::BitterStrength), Ok(U::BitterBalance), U::BitterHabit, 1.2),
            2 => linear(Err(1.0), Err(0.1), U::StrengthHabit, 0.0),
            3 => linear(Ok(U::BodyStrength), Ok(U::BodyBalance), U::BodyHabit, 0.0),
            4 => linear(Ok(U::DryStrength), Ok(U::DryBalance), U::DryHabit, 2.0),
            _ => {
                let (ks, kb, kd) = (get(U::SweetStrength), get(U::SweetBalance), get(U::SweetDistance));
                let root = (v * v + 1.0).sqrt();
                let bent = kb - kd * v / root;
                MarkForm {
                    value: get(U::SweetHabit) + ks * u + kb * v - kd * (root - 1.0) + cup.uneven * -0.8,
                    by_strength: ks * gain_s,
                    by_balance: bent * gain_b,
                    by_uneven: -0.8,
                    own: [
                        (U::SweetHabit.at(), T::constant(1.0)),
                        (U::LnStrengthGain.at(), ks * u),
                        (U::LnBalanceGain.at(), bent * v),
                        (U::SweetStrength.at(), u),
                        (U::SweetBalance.at(), v),
                        (U::SweetDistance.at(), -root + 1.0),
                    ],
                }
            }
        }
    }

    /// Predicted marks of a cup, in the order of [`Attribute::ALL`].
    #[inline]
    pub fn values(&self, cup: &Latent<T>) -> [T; 6] {
        std::array::from_fn(|index| self.form(index, cup).value)
    }
}

/// Jets seen from a bed of this unevenness.
#[inline]
fn jets<T: Real>(uneven: T) -> Site<T> {
    let calm = (uneven * -JETS_SOON).exp();
    let chance = (-calm + 1.0) * JETS_SEEN + JETS_EVEN;
    let slope = calm * (JETS_SEEN * JETS_SOON) / chance;
    Site { log: chance.ln(), slope, curvature: slope * slope }
}

/// What one piece of evidence says if its pull was soundly prepared, and if it was not.
#[derive(Clone, Copy)]
pub(super) struct Either<T> {
    pub sound: Site<T>,
    pub spoiled: Site<T>,
}

impl<T: Real> Either<T> {
    /// Evidence that is missing.
    #[inline]
    fn silent() -> Self {
        Self { sound: Site::constant(0.0), spoiled: Site::constant(0.0) }
    }

    /// Slope and curvature where the pull was sound with this chance.
    pub fn mixed(&self, sound: T) -> (T, T) {
        let mix = |a: T, b: T| sound * a + (-sound + 1.0) * b;
        (mix(self.sound.slope, self.spoiled.slope), mix(self.sound.curvature, self.spoiled.curvature))
    }
}

/// Sites of all evidence of one pull, with the log-likelihood split by kind.
pub(super) struct PullSites<T> {
    pub time: Either<T>,
    pub strength: Either<T>,
    pub marks: [Either<T>; 6],
    pub liking: Either<T>,
    pub jets: Either<T>,
    pub by_kind: [T; 4],
    pub good: T,
    pub bad: T,
}

/// Limits of the latent answer for an ordered answer on `low_end..=high_end`; none at the ends.
fn cell(answer: f64, low_end: f64, high_end: f64) -> (Option<f64>, Option<f64>) {
    ((answer > low_end).then_some(answer - 0.5), (answer < high_end).then_some(answer + 0.5))
}

/// All sites of one pull at one setting of the unknowns.
#[inline]
pub(super) fn sites<T: Real>(
    observed: &Observed,
    latent: &Latent<T>,
    predicted_marks: &[T; 6],
    noise: &Noise,
) -> PullSites<T> {
    let noise = observed.widened(noise);
    let zero = T::constant(0.0);
    let mut out = PullSites {
        time: Either::silent(),
        strength: Either::silent(),
        marks: [Either::silent(); 6],
        liking: Either::silent(),
        jets: Either::silent(),
        by_kind: [zero; 4],
        good: zero,
        bad: zero,
    };
    if observed.choked {
        let (limit, sd) = LN_GIVE_UP;
        let z = (latent.ln_time - limit) * (1.0 / sd);
        let log = z.normal_log_cdf();
        let hazard = (z * z * -0.5 - normal::LN_SQRT_2PI - log).exp();
        out.time.sound =
            Site { log, slope: hazard * (1.0 / sd), curvature: hazard * (hazard + z) * (1.0 / (sd * sd)) };
        // Bad preparation makes pulls fast far more often than it stops them.
        out.time.spoiled = Site::constant(-5.0);
    }
    if let Some((ln_time, wider)) = observed.ln_time {
        let (shift, sd) = BAD_LN_TIME;
        out.time.sound = gaussian(ln_time, latent.ln_time, noise.ln_time * wider);
        out.time.spoiled = gaussian(ln_time, latent.ln_time + shift, sd.hypot(noise.ln_time * wider));
    }
    if let Some(strength) = observed.strength_pct {
        let predicted = latent.ln_strength.exp();
        let chained = |site: Site<T>| Site {
            log: site.log,
            slope: site.slope * predicted,
            curvature: site.curvature * predicted * predicted,
        };
        let (shift, sd) = BAD_STRENGTH_PCT;
        let exact = noise.strength_pct.hypot(0.015 * strength);
        out.strength.sound = chained(gaussian(strength, predicted, exact));
        out.strength.spoiled = chained(gaussian(strength, predicted + shift, sd));
    }
    let marks = out.marks.iter_mut().zip(observed.marks).zip(predicted_marks.iter().zip(BAD_MARKS));
    for ((slot, mark), (predicted, shift)) in marks {
        if let Some(mark) = mark {
            let limits = cell(f64::from(mark), -2.0, 2.0);
            slot.sound = ordinal(limits, *predicted, noise.mark, 5.0);
            slot.spoiled = ordinal(limits, *predicted + shift, BAD_MARK_SD, 5.0);
        }
    }
    if let Some(liking) = observed.liking {
        let limits = cell(f64::from(liking), 1.0, 9.0);
        let (shift, sd) = BAD_LIKING;
        out.liking.sound = ordinal(limits, latent.liking, noise.liking, 9.0);
        out.liking.spoiled = ordinal(limits, latent.liking + shift, sd, 9.0);
    }
    // No word of jets says nothing: a spouted holder hides them.
    if observed.spurting {
        out.jets.sound = jets(latent.uneven);
        out.jets.spoiled = Site::constant(fast::ln(JETS_SPOILED));
    }
    let marks = out.marks.iter().fold(zero, |sum, site| sum + site.sound.log);
    let run = out.time.sound.log + out.jets.sound.log;
    out.by_kind = [run, out.strength.sound.log, marks, out.liking.sound.log];
    out.good = out.by_kind.iter().fold(zero, |sum, log| sum + *log);
    let others = [&out.time, &out.strength, &out.liking, &out.jets];
    out.bad = others.into_iter().chain(&out.marks).fold(zero, |sum, site| sum + site.spoiled.log);
    out
}

impl<T: Real> PullSites<T> {
    /// Log-likelihood of the pull and the chance that it was soundly prepared.
    #[inline]
    pub fn mixture(&self, spoiled: f64) -> (T, T) {
        if spoiled <= 0.0 {
            return (self.good, T::constant(1.0));
        }
        let good = self.good + libm::log1p(-spoiled);
        let bad = self.bad + fast::ln(spoiled);
        let total = good + (bad - good).softplus();
        (total, (good - total).exp())
    }
}

/// Fits and worlds rely on it that the unknowns of the marks follow those of the world.
const _: () =
    assert!(Unknown::BalanceAge.at() + 1 == WORLD_UNKNOWNS && Unknown::SweetHabit.at() + 1 == UNKNOWNS);

#[cfg(test)]
mod tests {
    use super::*;

    const PREDICTED: [f64; 7] = [-3.1, -1.2, 0.0, 0.4, 2.6, 5.3, 9.7];

    /// The answers of a scale are given with chances that add up to one, wherever the answer is expected.
    #[test]
    fn the_answers_of_a_scale_add_up_to_one() {
        for (low, high, sd) in [(-2, 2, 0.65), (1, 9, 0.85), (1, 9, 1.7)] {
            for predicted in PREDICTED {
                let answers = f64::from(high - low + 1);
                let site = |answer: i32| {
                    let limits = cell(f64::from(answer), f64::from(low), f64::from(high));
                    ordinal(limits, predicted, sd, answers)
                };
                let total: f64 = (low..=high).map(|answer| site(answer).log.exp()).sum();
                assert!((total - 1.0).abs() < 1e-6, "{low} {high} {predicted}: {total}");
            }
        }
    }

    /// The slope of every kind of evidence is that of its logarithm, by central differences; the curvature of a normal error,
    /// and of an answer where it is not cut off at nothing, is that of minus the logarithm.
    #[test]
    fn slopes_are_those_of_the_logarithms() {
        let check = |what: &str, x: f64, curved: bool, of: &dyn Fn(f64) -> Site<f64>| {
            let here = of(x);
            let slope = (of(x + 1e-4).log - of(x - 1e-4).log) / 2e-4;
            assert!(
                (here.slope - slope).abs() < 1e-4 * (1.0 + slope.abs()),
                "{what} {x}: {} {slope}",
                here.slope
            );
            let curvature = -(of(x + 1e-3).log - 2.0 * here.log + of(x - 1e-3).log) / 1e-6;
            if curved && curvature > 1e-3 {
                let off = (here.curvature - curvature).abs();
                assert!(off < 1e-2 * (1.0 + curvature), "{what} {x}: {} {curvature}", here.curvature);
            }
        };
        for x in PREDICTED {
            check("time", x, true, &|x| gaussian(3.3, x, 0.5));
            for liking in [1.0, 2.0, 5.0, 9.0] {
                check("liking", x, true, &|x| ordinal(cell(liking, 1.0, 9.0), x, 0.85, 9.0));
            }
            for mark in [-2.0, 0.0, 2.0] {
                check("mark", x, true, &|x| ordinal(cell(mark, -2.0, 2.0), x, 0.65, 5.0));
            }
        }
        for uneven in [0.05, 0.2, 1.0, 3.0] {
            check("jets", uneven, false, &jets);
        }
    }
}
