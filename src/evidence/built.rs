//! As built: the evidence takes the place of the assumptions, and the house is assessed again.

use super::density::{Achieved, achieved, missed, promised_density, set_missed};
use super::finding::{Found, ProofFinding};
use super::machine::{MachineChart, checked_in_time, machine_charts};
use super::record::{AsBuilt, JobRecord, surface_label};
use super::scan::{ScanStanding, Tally, standing};
use super::share::{Confidence, Interval};
use crate::house::{Assessment, Field, Fill, House, assess};
use crate::readiness::Weight;

/// The share of a surface that was missed, and what stands behind it.
#[derive(Clone, Debug, PartialEq)]
pub struct MissedShare {
    /// The surface's place in the house.
    pub surface: usize,
    /// Its name.
    pub label: String,
    /// What the promise took.
    pub promised: f64,
    /// What is taken now.
    pub used: f64,
    /// Between what it lies.
    pub range: Interval,
    /// Whether a scan that counts stands behind it.
    pub shown: bool,
}

/// What the missed bays cost.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Missing {
    /// Years by which they raise the simple payback; `None` where one of the two does not exist.
    pub payback_added_years: Option<f64>,
    /// Saved less a year.
    pub annual_savings_lost: f64,
    /// Present value of going back and filling every bay, over the life: the most that it may
    /// cost and still be worth it.
    pub worth_of_going_back: f64,
}

/// What the missed bays of the house cost, and of each surface alone.
#[derive(Clone, Debug, PartialEq)]
pub struct GoingBack {
    /// At the shares that were taken.
    pub whole: Missing,
    /// At the lower ends of their ranges.
    pub low: Missing,
    /// At the upper ends.
    pub high: Missing,
    /// Each surface by itself, with its name.
    pub surfaces: Vec<(String, Missing)>,
}

/// The saving by the bills, valued as the model's is.
#[derive(Clone, Debug)]
pub struct Measured {
    /// At the saving that was measured.
    pub figures: Assessment,
    /// At the lower end of its interval.
    pub low: Option<Assessment>,
    /// At the upper end.
    pub high: Option<Assessment>,
    /// The measured saving over the modelled one, as built where that exists.
    pub share_of_modelled: f64,
}

/// Everything that the evidence comes to.
#[derive(Clone, Debug)]
pub struct Proof {
    /// The house as it was promised.
    pub promised: House,
    /// Its figures.
    pub promised_figures: Assessment,
    /// The house as built; `None` before the work, and where a wall is not packed.
    pub built: Option<House>,
    /// Its figures.
    pub built_figures: Option<Assessment>,
    /// The density of each surface whose bags were counted.
    pub densities: Vec<Achieved>,
    /// Whether the scan counts; `None` where nothing was scanned.
    pub scan: Option<ScanStanding>,
    /// What the scan counted.
    pub tallies: Vec<Tally>,
    /// The share missed of each surface.
    pub missed: Vec<MissedShare>,
    /// The machine's charts.
    pub machines: Vec<MachineChart>,
    /// What missed bays cost; `None` where no figures as built exist.
    pub going_back: Option<GoingBack>,
    /// What the bills said.
    pub measured: Option<Measured>,
    /// What was found, the gravest first.
    pub findings: Vec<Found>,
    /// The confidence of the intervals.
    pub confidence: Confidence,
    /// Bags that were used, where they were counted.
    pub bags_used: Option<f64>,
}

/// Puts the evidence in the place of the assumptions and assesses the house again.
///
/// # Examples
/// ```
/// use studbay::evidence::{Confidence, JobRecord, prove};
/// use studbay::stages::HouseFile;
///
/// let file = HouseFile::from_file("demo-data/house-as-built.toml")?;
/// let proof = prove(&JobRecord::read(&file)?, Confidence::default());
/// let built = proof.built_figures.expect("the walls are packed");
/// // Bays were missed, so it takes longer to pay back than was promised.
/// assert!(built.simple_payback_years > proof.promised_figures.simple_payback_years);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn prove(record: &JobRecord, confidence: Confidence) -> Proof {
    let promised = record.promised.clone();
    let mut proof = Proof {
        promised_figures: assess(&promised),
        built: None,
        built_figures: None,
        densities: Vec::new(),
        scan: None,
        tallies: Vec::new(),
        missed: Vec::new(),
        machines: Vec::new(),
        going_back: None,
        measured: None,
        findings: Vec::new(),
        confidence,
        bags_used: None,
        promised,
    };
    if let Some(as_built) = &record.as_built {
        proof.weigh(as_built);
    }
    match record.follow_up {
        Some(follow_up) => {
            let base = proof.built.as_ref().unwrap_or(&proof.promised);
            proof.measured = measured(base, follow_up.fuel_saved, follow_up.interval);
        }
        None if record.as_built.is_some() => {
            proof.findings.push(Found::new(ProofFinding::NothingMeasured, "", ""));
        }
        None => {}
    }
    proof.findings.sort_by_key(|found| found.finding);
    proof
}

impl Proof {
    /// The gravest weight of the findings; a note where there is none.
    pub fn weight(&self) -> Weight {
        self.findings.iter().map(Found::weight).max().unwrap_or(Weight::Note)
    }

    fn add(&mut self, finding: ProofFinding, place: &str, detail: impl Into<String>) {
        self.findings.push(Found::new(finding, place, detail));
    }

    fn weigh(&mut self, as_built: &AsBuilt) {
        self.machines = machine_charts(&as_built.calibration, None);
        let of_machines: Vec<Found> =
            self.machines.iter().flat_map(MachineChart::findings).collect();
        self.findings.extend(of_machines);
        let in_time = as_built.date.map(|built| checked_in_time(&as_built.calibration, built));
        if as_built.calibration.is_empty() || in_time == Some(false) {
            let machine = as_built.machine.clone().unwrap_or_default();
            self.add(ProofFinding::MachineUnchecked, &machine, "");
        }
        self.count_bays(as_built);
        self.count_bags(as_built);
        if as_built.cfm50_after.is_none() && self.promised.leakage.after.is_none() {
            self.add(ProofFinding::LeakageNotTested, "", "");
        }
        if !as_built.unread.is_empty() {
            self.add(ProofFinding::Unread, "", as_built.unread.join(", "));
        }
        self.build(as_built);
    }

    fn count_bays(&mut self, as_built: &AsBuilt) {
        self.tallies = as_built
            .surfaces
            .iter()
            .filter_map(|record| Tally::new(&self.promised, record, self.confidence))
            .collect();
        let scan = standing(&self.promised, as_built.scan.as_ref());
        if !self.tallies.is_empty() {
            match &scan {
                ScanStanding::Valid => {}
                ScanStanding::Unknown(what) => {
                    self.add(ProofFinding::ScanUnknown, "", what.join(", "));
                }
                ScanStanding::NotValid(why) => {
                    self.add(ProofFinding::ScanNotValid, "", why.join("; "));
                }
            }
        }
        for index in 0..self.promised.surfaces().len() {
            let share = self.missed_of(index, scan == ScanStanding::Valid);
            self.missed.extend(share);
        }
        self.scan = (!self.tallies.is_empty()).then_some(scan);
    }

    fn missed_of(&mut self, index: usize, valid: bool) -> Option<MissedShare> {
        let promised = missed(self.promised.surfaces().get(index)?.fill()).ip();
        let label = surface_label(&self.promised, index);
        let tally = self.tallies.iter().find(|tally| tally.surface == index).cloned();
        let Some(tally) = tally else {
            self.add(ProofFinding::ScanMissing, &label, "");
            let range = Interval { low: promised, high: promised };
            return Some(MissedShare {
                surface: index,
                label,
                promised,
                used: promised,
                range,
                shown: false,
            });
        };
        let (cold, seen) = (tally.cold_after.found(), tally.cold_after.seen());
        if cold > 0 {
            self.add(ProofFinding::BaysMissed, &label, format!("{cold} of {seen} seen"));
        }
        if !tally.complete() {
            let all = match tally.bays {
                Some(bays) => format!("{seen} of {bays} bays seen"),
                None => format!("{seen} bays seen, the bays were not counted"),
            };
            self.add(ProofFinding::ScanPart, &label, all);
        }
        // A scan that does not count may make the figure worse, never better.
        let share = tally.share();
        let used = if valid { share } else { share.max(promised) };
        let range = tally.range();
        Some(MissedShare {
            surface: index,
            label,
            promised,
            used,
            range: Interval { low: range.low.min(used), high: range.high.max(used) },
            shown: valid,
        })
    }

    fn count_bags(&mut self, as_built: &AsBuilt) {
        let weight = as_built.bag_weight.unwrap_or(self.promised.bag_weight);
        let mut used = None;
        for index in 0..self.promised.surfaces().len() {
            let label = surface_label(&self.promised, index);
            let record = as_built.surfaces.iter().find(|record| record.surface == index);
            let Some(bags) = record.and_then(|record| record.bags) else {
                self.add(ProofFinding::BagsMissing, &label, "");
                continue;
            };
            used = Some(used.unwrap_or(0.0) + bags);
            let share = self.missed.iter().find(|share| share.surface == index);
            let share = share.map_or(0.0, |share| share.used);
            if let Some(found) = achieved(&self.promised, index, bags, weight, share) {
                self.findings.extend(found.finding());
                self.densities.push(found);
            }
        }
        self.bags_used = used;
    }

    /// The house as built. A wall that is not packed has no figures: it will not stay as it is.
    fn build(&mut self, as_built: &AsBuilt) {
        let mut house = self.promised.clone();
        if let Some(weight) = as_built.bag_weight {
            house.bag_weight = weight;
            house.given.insert(Field::BagWeight);
        }
        if let Some(cost) = as_built.installed_cost {
            house.offer.installed_cost = cost;
            house.given.insert(Field::InstalledCost);
        }
        if let Some(rebate) = as_built.rebate {
            house.offer.rebate = rebate;
            house.given.insert(Field::Rebate);
        }
        // The reading has seen to it that a rebate given here fits; the promised one may not.
        house.offer.rebate = house.offer.rebate.min(house.offer.installed_cost);
        if let Some(flow) = as_built.cfm50_before {
            house.leakage.before = Some(flow);
            house.given.insert(Field::Cfm50Before);
        }
        if let Some(flow) = as_built.cfm50_after {
            house.leakage.after = Some(flow);
            house.given.insert(Field::Cfm50After);
        }
        for (index, surface) in house.surfaces.as_mut_slice().iter_mut().enumerate() {
            if let Some(share) = self.missed.iter().find(|share| share.surface == index) {
                set_missed(&mut surface.fill, share.used);
                surface.given.insert(Field::Missed);
            }
            let Some(found) = self.densities.iter().find(|found| found.surface == index) else {
                continue;
            };
            if found.usable() {
                match &mut surface.fill {
                    Fill::Packed(fill) => fill.density = found.density,
                    Fill::Open(fill) => fill.settled_density = found.density,
                }
                surface.given.insert(Field::FillDensity);
            } else if !found.open && found.density.ip() < found.most {
                return;
            }
        }
        self.going_back = Some(self.going_back_of(&house));
        self.built_figures = Some(assess(&house));
        self.built = Some(house);
    }

    fn going_back_of(&self, house: &House) -> GoingBack {
        let at = |share: fn(&MissedShare) -> f64, only: Option<usize>| {
            let with = |take: &dyn Fn(&MissedShare) -> f64| {
                let mut house = house.clone();
                for (index, surface) in house.surfaces.as_mut_slice().iter_mut().enumerate() {
                    if let Some(missed) = self.missed.iter().find(|m| m.surface == index) {
                        set_missed(&mut surface.fill, take(missed));
                    }
                }
                assess(&house)
            };
            let now = with(&|missed| share(missed));
            let filled = with(&|missed| match only {
                Some(only) if only != missed.surface => share(missed),
                _ => 0.0,
            });
            Missing {
                payback_added_years: now
                    .simple_payback_years
                    .zip(filled.simple_payback_years)
                    .map(|(now, filled)| now - filled),
                annual_savings_lost: filled.annual_savings - now.annual_savings,
                worth_of_going_back: filled.npv - now.npv,
            }
        };
        GoingBack {
            whole: at(|missed| missed.used, None),
            low: at(|missed| missed.range.low, None),
            high: at(|missed| missed.range.high, None),
            surfaces: self
                .missed
                .iter()
                .map(|missed| (missed.label.clone(), at(|m| m.used, Some(missed.surface))))
                .collect(),
        }
    }
}

/// The house at a saving that was measured: the share of the modelled saving that is realised is
/// set so that the model saves just that. Cooling is left out, since bills for heating say nothing
/// of it; `None` where the model saves nothing that could be scaled.
fn measured(base: &House, fuel_saved: f64, interval: Option<(f64, f64)>) -> Option<Measured> {
    let mut house = base.clone();
    house.plant.billed_heating_fuel = None;
    house.plant.cooling_seer = None;
    house.plant.realization_rate = 1.0;
    let whole = assess(&house).fuel_saved;
    if !(whole.is_finite() && whole > 0.0) {
        return None;
    }
    let at = |saved: f64| {
        let mut house = house.clone();
        house.plant.realization_rate = saved / whole;
        assess(&house)
    };
    let modelled = assess(base).fuel_saved;
    Some(Measured {
        figures: at(fuel_saved),
        low: interval.map(|(low, _)| at(low)),
        high: interval.map(|(_, high)| at(high)),
        share_of_modelled: fuel_saved / modelled,
    })
}

/// The density that a surface was promised and the one that is taken now.
pub(crate) fn density_pair(proof: &Proof, index: usize) -> Option<(f64, Option<f64>)> {
    let promised = promised_density(proof.promised.surfaces().get(index)?.fill()).ip();
    let found = proof.densities.iter().find(|found| found.surface == index);
    Some((promised, found.map(|found| found.density.ip())))
}
