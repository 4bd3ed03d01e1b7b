//! The proof: bills before and after, both brought to the same usual year.

use super::bootstrap::{below, generator};
use super::finding::Finding;
use super::fit::{Fit, Form, Params};
use super::judge::Verdict;
use super::normal::NormalYear;
use super::stats;
use crate::doubt::{Figure, Sampling, doubt};
use crate::error::{InputError, Issue, IssueCode};
use crate::house::{Fuel, House, assess};

/// Fewer houses than this say little about what changed for everyone (judgement).
const LEAST_COMPARED: usize = 10;

/// A figure with the ends of its interval; `None` where nothing was drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ranged {
    /// The figure.
    pub value: f64,
    /// Low and high end at the level of the fit.
    pub interval: Option<(f64, f64)>,
}

impl Ranged {
    pub(super) const fn new(value: f64, interval: Option<(f64, f64)>) -> Self {
        Self { value, interval }
    }

    /// Both ends and the figure divided by the same number.
    fn over(self, divisor: f64) -> Self {
        let (one, other) = match self.interval {
            None => return Self::new(self.value / divisor, None),
            Some((low, high)) => (low / divisor, high / divisor),
        };
        Self::new(self.value / divisor, Some((one.min(other), one.max(other))))
    }
}

/// What was promised: fuel saved a year, in the fuel's unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Promise {
    /// The lower end.
    pub low: f64,
    /// The figure.
    pub value: f64,
    /// The upper end.
    pub high: f64,
}

impl Promise {
    /// A promise with its range.
    ///
    /// # Errors
    /// [`InputError`] unless 0 ≤ low ≤ value ≤ high.
    pub fn new(low: f64, value: f64, high: f64) -> Result<Self, InputError> {
        if value > 0.0
            && value.is_finite()
            && low >= 0.0
            && low <= value
            && value <= high
            && high.is_finite()
        {
            return Ok(Self { low, value, high });
        }
        let given = format!("{low}, {value}, {high}");
        let reason =
            "must be a low end, a figure above 0 and a high end, in rising order".to_owned();
        Err(Issue::new(IssueCode::OutOfRange, "promised", given, reason).into())
    }

    /// What the model of a house promises: its `fuel_saved`, and the tenth and the ninetieth of a
    /// hundred draws of all that may be off, as for the payback. The range holds the figure itself.
    ///
    /// # Errors
    /// [`InputError`] where the bills are of another fuel than the house's.
    pub fn of(house: &House, fuel: Fuel) -> Result<Self, InputError> {
        let burnt = house.plant().fuel;
        if burnt != fuel {
            let reason = format!("the bills are of it, the house burns {}", burnt.row().key);
            return Err(Issue::new(IssueCode::Conflict, "fuel", fuel.row().key, reason).into());
        }
        let value = assess(house).fuel_saved;
        let band = doubt(house, &Sampling::default()).band(Figure::FuelSaved);
        Ok(Self {
            low: band.p10.map_or(value, |low| low.min(value)),
            value,
            high: band.p90.map_or(value, |high| high.max(value)),
        })
    }
}

/// Houses that were not treated, over the same time: what changed for everyone.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Comparison {
    /// How many.
    pub houses: usize,
    /// Their use of a usual year after over that before.
    pub ratio: Ranged,
}

/// Bills before and after. Use is in the fuel's unit.
#[derive(Clone, Debug, PartialEq)]
pub struct Proof {
    /// The fits.
    pub before: Fit,
    /// After the work.
    pub after: Fit,
    /// Use of a usual year before.
    pub use_before: Ranged,
    /// After.
    pub use_after: Ranged,
    /// What the use is less by, the change of the comparison group taken out.
    pub saved: Ranged,
    /// That over the use before.
    pub saved_share: Ranged,
    /// What heating alone is less by; no figure for straight lines. Nothing is taken out of it.
    pub heating_saved: Option<Ranged>,
    /// The comparison group.
    pub comparison: Option<Comparison>,
    /// What was promised.
    pub promised: Option<Promise>,
    /// What came of it: `saved` over the promised figure.
    pub realised: Option<Ranged>,
    /// What the reader must know.
    pub findings: Vec<Finding>,
}

/// Compares the bills before and after.
///
/// The draws of the two fits are independent of each other, so is what is drawn of the comparison
/// group: its houses anew, and of each one draw.
///
/// # Errors
/// [`InputError`] where fuel, form or level of the fits differ, and for a comparison group without
/// use.
pub fn prove(
    before: Fit,
    after: Fit,
    normal: &NormalYear,
    promised: Option<Promise>,
    group: &[(Fit, Fit)],
) -> Result<Proof, InputError> {
    alike(&before, &after, "after")?;
    for (place, (one, other)) in group.iter().enumerate() {
        alike(&before, one, &format!("comparison[{place}]"))?;
        alike(&before, other, &format!("comparison[{place}]"))?;
    }
    let pairs: Vec<(&Fit, &Fit, &NormalYear)> =
        group.iter().map(|(one, other)| (one, other, normal)).collect();
    let count = before.draws.len().min(after.draws.len());
    let stream = format!("{}/comparison", before.options.stream);
    let group = Group::new(&pairs, count, before.options.seed, &stream)?;
    Ok(prove_beside(before, after, normal, promised, group.as_ref()))
}

fn total(normal: &NormalYear, fit: &Fit, params: &Params) -> f64 {
    normal.annual(fit.options.form, params).total
}

/// What a comparison group did, drawn once for all that are laid beside it.
#[derive(Clone, Debug)]
pub(super) struct Group {
    houses: usize,
    ratio: f64,
    draws: Vec<f64>,
}

impl Group {
    /// `None` for no houses.
    pub(super) fn new(
        group: &[(&Fit, &Fit, &NormalYear)],
        count: usize,
        seed: u64,
        stream: &str,
    ) -> Result<Option<Self>, InputError> {
        if group.is_empty() {
            return Ok(None);
        }
        let years: Vec<(f64, f64)> = group
            .iter()
            .map(|(one, other, normal)| {
                (total(normal, one, &one.params), total(normal, other, &other.params))
            })
            .collect();
        let ratio = ratio_of(&mut years.iter().copied());
        if !(ratio.is_finite() && ratio > 0.0) {
            let reason = "the houses of the comparison group have no use".to_owned();
            return Err(Issue::new(IssueCode::OutOfRange, "comparison", "", reason).into());
        }
        let mut rng = generator(seed, stream);
        let mut draws = Vec::with_capacity(count);
        for _ in 0..count {
            let mut pairs = (0..group.len()).map(|_| {
                let house = below(&mut rng, group.len());
                let (one, other, normal) = group[house];
                let mut any = |fit: &Fit, year: f64| {
                    if fit.draws.is_empty() {
                        return year;
                    }
                    let place = below(&mut rng, fit.draws.len());
                    fit.draws.get(place).map_or(year, |params| total(normal, fit, params))
                };
                let (first, second) = years[house];
                (any(one, first), any(other, second))
            });
            draws.push(ratio_of(&mut pairs));
        }
        Ok(Some(Self { houses: group.len(), ratio, draws }))
    }
}

fn ratio_of(pairs: &mut dyn Iterator<Item = (f64, f64)>) -> f64 {
    let (mut first, mut second) = (0.0, 0.0);
    for (one, other) in pairs {
        first += one;
        second += other;
    }
    second / first
}

/// As `prove`, of fits that are alike, beside a group that was drawn before.
pub(super) fn prove_beside(
    before: Fit,
    after: Fit,
    normal: &NormalYear,
    promised: Option<Promise>,
    group: Option<&Group>,
) -> Proof {
    let total = |fit: &Fit, params: &Params| total(normal, fit, params);
    let year =
        |fit: &Fit| Ranged::new(total(fit, &fit.params), fit.interval(|params| total(fit, params)));
    let (use_before, use_after) = (year(&before), year(&after));
    let ratio = group.map_or(1.0, |group| group.ratio);
    let mut count = before.draws.len().min(after.draws.len());
    if let Some(group) = group {
        count = count.min(group.draws.len());
    }
    let ratios = group.map_or_else(|| vec![1.0; count], |group| group.draws.clone());
    let dof = before.degrees_of_freedom().min(after.degrees_of_freedom());
    let interval =
        |values: &[f64]| stats::interval(values.iter().copied(), before.options.level, dof);
    // Fits of one seed and name drew the same places; half a turn apart they are independent.
    let pair = |of: &dyn Fn(&Params, &Params, f64) -> f64| -> Vec<f64> {
        (0..count)
            .map(|place| {
                let other = (place + count / 2) % count;
                of(&before.draws[place], &after.draws[other], ratios[place])
            })
            .collect()
    };
    let saved_draws = pair(&|one, other, ratio| ratio * total(&before, one) - total(&after, other));
    let saved = Ranged::new(ratio * use_before.value - use_after.value, interval(&saved_draws));
    let share_draws = pair(&|one, other, ratio| ratio - total(&after, other) / total(&before, one));
    let saved_share =
        Ranged::new(ratio - use_after.value / use_before.value, interval(&share_draws));
    let heating_saved = (before.options.form != Form::Straight).then(|| {
        let heating = |fit: &Fit, params: &Params| normal.annual(fit.options.form, params).heating;
        let draws = pair(&|one, other, _| heating(&before, one) - heating(&after, other));
        let value = heating(&before, &before.params) - heating(&after, &after.params);
        Ranged::new(value, interval(&draws))
    });
    let comparison = group.map(|group| Comparison {
        houses: group.houses,
        ratio: Ranged::new(ratio, interval(&ratios)),
    });
    let mut proof = Proof {
        use_before,
        use_after,
        saved,
        saved_share,
        heating_saved,
        comparison,
        promised,
        realised: promised
            .filter(|promised| promised.value > 0.0)
            .map(|promised| saved.over(promised.value)),
        findings: Vec::new(),
        before,
        after,
    };
    proof.findings = findings(&proof, normal);
    proof
}

fn alike(one: &Fit, other: &Fit, field: &str) -> Result<(), InputError> {
    let conflict = |value: &str, reason: String| {
        Err(Issue::new(IssueCode::Conflict, field, value, reason).into())
    };
    if one.fuel != other.fuel {
        let reason = format!(
            "the bills before are of {}; use of different fuels is not compared",
            one.fuel.row().key
        );
        return conflict(other.fuel.row().key, reason);
    }
    if (one.options.form == Form::Straight) != (other.options.form == Form::Straight) {
        let reason = format!("the bills before were fitted as {}", one.options.form.as_str());
        return conflict(other.options.form.as_str(), reason);
    }
    if one.options.level.to_bits() != other.options.level.to_bits() {
        let reason = format!("the intervals before are at {}", one.options.level);
        return conflict(&other.options.level.to_string(), reason);
    }
    Ok(())
}

fn findings(proof: &Proof, normal: &NormalYear) -> Vec<Finding> {
    let mut found = Vec::new();
    for (fit, when) in [(&proof.before, "before"), (&proof.after, "after")] {
        match fit.verdict() {
            Verdict::Sound => {}
            Verdict::Doubtful => found.push(Finding::doubt(
                "fit_doubtful",
                format!("The fit of the bills {when} is doubtful; see its findings."),
            )),
            Verdict::Unusable => found.push(Finding::refuse(
                "fit_unusable",
                format!("The fit of the bills {when} must not be used; see its findings."),
            )),
        }
    }
    if let Some((low, high)) = proof.saved.interval
        && low <= 0.0
        && high >= 0.0
    {
        found.push(Finding::doubt(
            "saving_not_told_from_nothing",
            "The interval of the saving holds 0: it cannot be told from no saving at all.",
        ));
    }
    if let (Some(promise), Some((low, high))) = (proof.promised, proof.saved.interval) {
        if high < promise.low {
            found.push(Finding::note(
                "below_promise",
                "All of the interval lies below the promised range.",
            ));
        } else if low > promise.high {
            found.push(Finding::note(
                "above_promise",
                "All of the interval lies above the promised range: did something else change too?",
            ));
        }
    }
    if proof.before.options.form != Form::Straight {
        let base = |fit: &Fit| normal.annual(fit.options.form, &fit.params).base;
        let fall = base(&proof.before) - base(&proof.after);
        if fall.abs() > 0.5 * proof.saved.value.abs() {
            found.push(Finding::doubt(
                "base_load_changed",
                format!(
                    "The base load changed by {:.0} {} a year, which no wall does: hot water, cooking or \
                     the number of people changed, or the split of base and heating is not held.",
                    -fall,
                    proof.before.fuel.row().unit
                ),
            ));
        }
    }
    match &proof.comparison {
        None => found.push(Finding::note(
            "no_comparison",
            "No comparison group: what changed for everyone (prices, thermostats, an odd winter) is \
             still in the saving.",
        )),
        Some(group) if group.houses < LEAST_COMPARED => found.push(Finding::doubt(
            "small_comparison",
            format!("A comparison group of {} says little; 10 or more are wanted.", group.houses),
        )),
        Some(_) => {}
    }
    found
}

impl Proof {
    /// Share by which the use of a day at this temperature is less.
    pub fn saved_share_at(&self, temperature_f: f64) -> f64 {
        let at = |fit: &Fit| fit.params.at(fit.options.form, temperature_f);
        1.0 - at(&self.after) / at(&self.before)
    }
}
