//! Many proofs at once: the bills of many houses before and after, and a comparison group of those
//! that were not treated.

use super::finding::Finding;
use super::many::{Climate, Climates, MeterRows, Workers, each, fit_meter};
use super::proof::{Group, prove_beside};
use super::{Fit, Options, Promise, Proof, Verdict};
use crate::error::{InputError, Issue, IssueCode};
use crate::house::Fuel;
use std::collections::HashMap;

/// What is found in the proof of a treated house alone: one that was not treated is not expected to
/// save.
const OF_TREATED: [&str; 2] = ["no_comparison", "saving_not_told_from_nothing"];

/// What is known of a house beside its bills.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct HouseNote {
    /// The name of its weather.
    pub weather: Option<String>,
    /// Whether it was not treated: it is of the comparison group.
    pub untreated: bool,
    /// Fuel saved a year that was promised.
    pub promised: Option<Promise>,
}

/// The bills of one house and fuel before and after.
#[derive(Clone, Debug, PartialEq)]
pub struct MeterPair {
    /// The user's own name for the house; it names the random numbers.
    pub house_id: String,
    /// The fuel.
    pub fuel: Fuel,
    /// Before.
    pub before: Option<MeterRows>,
    /// After.
    pub after: Option<MeterRows>,
    /// What else is known.
    pub note: HouseNote,
}

/// What became of a pair.
#[derive(Clone, Debug, PartialEq)]
pub struct PairResult {
    /// The user's own name for the house.
    pub house_id: String,
    /// The fuel.
    pub fuel: Fuel,
    /// Whether it is of the comparison group.
    pub untreated: bool,
    /// The proof, without its fits' draws, or every fault.
    pub proof: Result<Proof, InputError>,
}

impl MeterPair {
    /// Lays meters before and after side by side, by house and fuel, in the order of their first
    /// rows. A meter that has only one side stays, and will be told as a fault.
    pub fn of(
        before: Vec<MeterRows>,
        after: Vec<MeterRows>,
        notes: &HashMap<String, HouseNote>,
    ) -> Vec<Self> {
        let mut places: HashMap<(String, &'static str), usize> = HashMap::new();
        let mut pairs: Vec<Self> = Vec::with_capacity(before.len());
        let sides = before.into_iter().map(|meter| (meter, false));
        for (meter, is_after) in sides.chain(after.into_iter().map(|meter| (meter, true))) {
            let key = (meter.house_id.clone(), meter.fuel.row().key);
            let place = *places.entry(key).or_insert_with(|| {
                pairs.push(Self {
                    house_id: meter.house_id.clone(),
                    fuel: meter.fuel,
                    before: None,
                    after: None,
                    note: notes.get(&meter.house_id).cloned().unwrap_or_default(),
                });
                pairs.len() - 1
            });
            if let Some(pair) = pairs.get_mut(place) {
                *(if is_after { &mut pair.after } else { &mut pair.before }) = Some(meter);
            }
        }
        pairs
    }

    fn fitted<'c>(
        &self,
        climates: &'c Climates,
        options: &Options,
    ) -> Result<(Fit, Fit, &'c Climate), InputError> {
        let side = |meter: &Option<MeterRows>, when: &str| match meter {
            Some(meter) => fit_meter(meter, climates, options).map_err(|error| InputError {
                issues: error.issues.into_iter().map(|issue| issue.within(when)).collect(),
            }),
            None => {
                let reason = "the house has no readings of this fuel on this side";
                Err(Issue::new(IssueCode::Missing, when, "", reason).into())
            }
        };
        match (side(&self.before, "before"), side(&self.after, "after")) {
            (Ok((before, climate)), Ok((after, _))) => Ok((before, after, climate)),
            (before, after) => {
                let faults = [before.err(), after.err()].into_iter().flatten();
                Err(InputError { issues: faults.flat_map(|error| error.issues).collect() })
            }
        }
    }
}

/// Proves what each house saved; what comes out is in their order.
///
/// Houses not treated are the comparison group of their fuel; their own change is given with
/// nothing taken out. A house of the group whose fit is unusable, before or after, is left out of
/// it, and told so.
///
/// # Errors
/// [`InputError`] for a comparison group without use.
pub fn prove_meters(
    pairs: &[MeterPair],
    climates: &Climates,
    options: &Options,
    workers: &Workers,
) -> Result<Vec<PairResult>, InputError> {
    let fits = each(workers, pairs, |pair| pair.fitted(climates, options));
    let usable = |fit: &Fit| Verdict::of(&fit.findings) != Verdict::Unusable;
    let mut fuels: HashMap<&'static str, Vec<_>> = HashMap::new();
    for (pair, fit) in pairs.iter().zip(&fits) {
        if let (true, Ok((before, after, climate))) = (pair.note.untreated, fit)
            && usable(before)
            && usable(after)
        {
            let group = fuels.entry(pair.fuel.row().key).or_default();
            group.push((before, after, &climate.normal));
        }
    }
    let count = usize::try_from(options.resamples).unwrap_or(0);
    let mut groups: HashMap<&str, Group> = HashMap::new();
    for (fuel, group) in fuels {
        let stream = format!("{fuel}/comparison");
        if let Some(group) = Group::new(&group, count, options.seed, &stream)? {
            groups.insert(fuel, group);
        }
    }
    let both: Vec<_> = pairs.iter().zip(fits).collect();
    Ok(each(workers, &both, |(pair, fits)| {
        let proof = fits.clone().map(|(before, after, climate)| {
            let untreated = pair.note.untreated;
            let out = untreated && !(usable(&before) && usable(&after));
            let group = groups.get(pair.fuel.row().key).filter(|_| !untreated);
            let mut proof = prove_beside(before, after, &climate.normal, pair.note.promised, group);
            if untreated {
                proof.findings.retain(|finding| !OF_TREATED.contains(&finding.code));
            }
            if out {
                let text = "Its bills cannot be used: left out of the comparison group.";
                proof.findings.push(Finding::doubt("left_out_of_comparison", text));
            }
            proof.before.draws = Vec::new();
            proof.after.draws = Vec::new();
            proof
        });
        PairResult {
            house_id: pair.house_id.clone(),
            fuel: pair.fuel,
            untreated: pair.note.untreated,
            proof,
        }
    }))
}
