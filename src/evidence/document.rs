//! The evidence and the jobs as documents for programs.

use super::built::{Missing, Proof};
use super::chart::Chart;
use super::finding::Found;
use super::jobs::{JobGroup, JobsReview};
use super::machine::MachineChart;
use super::receipt::{RULE, Receipt};
use super::scan::ScanStanding;
use super::share::{Count, Interval};
use crate::error::Issue;
use crate::house::Assessment;
use crate::readiness::Weight;
use crate::stages::{Change, HouseFile};
use crate::tables::MIN_FILL_DENSITY;
use crate::units::UnitSystem;
use serde_json::{Map, Value, json};

fn found(found: &Found) -> Value {
    let def = found.finding.def();
    json!({
        "code": def.code,
        "weight": def.weight.as_str(),
        "place": found.place,
        "reason": def.reason,
        "detail": found.detail,
        "look": def.look,
        "source": def.citation.map(|citation| citation.to_string()),
    })
}

fn interval(interval: Interval) -> Value {
    json!([interval.low, interval.high])
}

fn missing(cost: Missing) -> Value {
    json!({
        "payback_added_years": cost.payback_added_years,
        "annual_savings_lost": cost.annual_savings_lost,
        "worth_of_going_back": cost.worth_of_going_back,
    })
}

fn figures(assessment: &Assessment, units: UnitSystem) -> Value {
    let named = assessment.results(units).map(|(name, value)| (name.to_owned(), json!(value)));
    Value::Object(named.collect())
}

fn chart(chart: &Chart) -> Map<String, Value> {
    let signals: Vec<Value> =
        chart.signals.iter().map(|(place, signal)| json!([place, signal.as_str()])).collect();
    let mut out = Map::new();
    out.insert("values".to_owned(), json!(chart.values));
    out.insert("ranges".to_owned(), json!(chart.ranges));
    out.insert("signals".to_owned(), Value::Array(signals));
    let limits = chart.limits.map(|limits| {
        json!({
            "centre": limits.centre,
            "low": limits.low,
            "high": limits.high,
            "range_mean": limits.range_mean,
            "range_high": limits.range_high,
            "spread": limits.spread,
            "from": limits.from,
            "firm": limits.firm(),
        })
    });
    out.insert("limits".to_owned(), limits.unwrap_or(Value::Null));
    out
}

fn machine(machine: &MachineChart) -> Value {
    let mut out = chart(&machine.chart);
    let dates: Vec<String> = machine.dates.iter().map(ToString::to_string).collect();
    out.insert("machine".to_owned(), json!(machine.machine));
    out.insert("setting".to_owned(), json!(machine.setting));
    out.insert("dates".to_owned(), json!(dates));
    // What a wall must have, whatever the machine's own limits are.
    let least = (!machine.open()).then_some(MIN_FILL_DENSITY.value);
    out.insert("least_lb_ft3".to_owned(), json!(least));
    out.insert("findings".to_owned(), machine.findings().iter().map(found).collect());
    Value::Object(out)
}

/// A chart for programs: values, ranges, limits, and what stands out by place.
pub fn chart_document(values: &Chart) -> Value {
    Value::Object(chart(values))
}

impl Proof {
    /// Everything in it for programs. Figures of the assessments are in the wanted units; densities
    /// are in lb/ft³, volumes in ft³, masses in lb, as their names say.
    pub fn document(&self, units: UnitSystem) -> Value {
        let scan = self.scan.as_ref().map(|scan| {
            let (counts, why): (Option<bool>, Vec<String>) = match scan {
                ScanStanding::Valid => (Some(true), Vec::new()),
                ScanStanding::Unknown(what) => {
                    (None, what.iter().map(|what| (*what).to_owned()).collect())
                }
                ScanStanding::NotValid(why) => (Some(false), why.clone()),
            };
            json!({ "counts": counts, "why": why })
        });
        json!({
            "house_id": self.promised.house_id(),
            "modelled": true,
            "weight": self.weight().as_str(),
            "stop": self.weight() == Weight::Hold,
            "confidence": self.confidence.share(),
            "promised": figures(&self.promised_figures, units),
            "as_built": self.built_figures.as_ref().map(|built| figures(built, units)),
            "measured": self.measured.as_ref().map(|measured| json!({
                "figures": figures(&measured.figures, units),
                "low": measured.low.as_ref().map(|low| figures(low, units)),
                "high": measured.high.as_ref().map(|high| figures(high, units)),
                "share_of_modelled": measured.share_of_modelled,
            })),
            "table": self.table().iter().map(|row| json!({
                "name": row.name,
                "surface": row.surface,
                "label": row.label,
                "promised": row.promised,
                "as_built": row.built,
                "measured": row.measured,
                "measured_range": row.measured_range.map(|(low, high)| json!([low, high])),
            })).collect::<Vec<Value>>(),
            "densities": self.densities.iter().map(|found| json!({
                "surface": found.label,
                "mass_lb": found.mass.ip(),
                "volume_ft3": found.volume_ft3,
                "density_lb_ft3": found.density.ip(),
                "target_lb_ft3": found.target.ip(),
                "least_lb_ft3": found.least,
                "most_lb_ft3": found.most,
                "open": found.open,
            })).collect::<Vec<Value>>(),
            "scan": scan,
            "tallies": self.tallies.iter().map(|tally| json!({
                "surface": tally.label,
                "bays": tally.bays,
                "bays_scanned": tally.cold_after.seen(),
                "cold_before": tally.cold_before,
                "cold_after": tally.cold_after.found(),
                "share": tally.share(),
                "wilson": interval(tally.wilson),
                "exact": interval(tally.exact),
                "of_all_bays": tally.of_all.map(|(low, high)| json!([low, high])),
                "complete": tally.complete(),
            })).collect::<Vec<Value>>(),
            "missed": self.missed.iter().map(|missed| json!({
                "surface": missed.label,
                "promised": missed.promised,
                "used": missed.used,
                "range": interval(missed.range),
                "shown": missed.shown,
            })).collect::<Vec<Value>>(),
            "going_back": self.going_back.as_ref().map(|back| json!({
                "whole": missing(back.whole),
                "low": missing(back.low),
                "high": missing(back.high),
                "surfaces": back.surfaces.iter().map(|(label, cost)| {
                    json!({ "surface": label, "cost": missing(*cost) })
                }).collect::<Vec<Value>>(),
            })),
            "machines": self.machines.iter().map(machine).collect::<Vec<Value>>(),
            "findings": self.findings.iter().map(found).collect::<Vec<Value>>(),
        })
    }
}

impl Receipt {
    /// The entries for programs, in the wanted units.
    pub fn document(&self, units: UnitSystem) -> Value {
        use crate::units::Quantity::{Area, Length, Mass, Resistance};
        let si = units == UnitSystem::Si;
        let name = |ip: &'static str, of_si: &'static str| if si { of_si } else { ip };
        let parts = self.parts.iter().map(|part| {
            let length = |length: Option<crate::units::Length>| {
                length.map(|length| Length.express(length.ip(), units))
            };
            json!({
                "part": part.part,
                name("coverage_area_ft2", "coverage_area_m2"): Area.express(part.coverage.ip(), units),
                name("initial_thickness_in", "initial_thickness_mm"): length(part.initial_thickness),
                name("settled_thickness_in", "settled_thickness_mm"): length(part.settled_thickness),
                name("r_by_maker", "rsi_by_maker"):
                    part.r_by_maker.map(|r| Resistance.express(r.ip(), units)),
                "bags": part.bags,
                name("mass_lb", "mass_kg"): part.mass.map(|mass| Mass.express(mass.ip(), units)),
            })
        });
        json!({
            "house_id": self.house_id,
            "date": self.date.map(|date| date.to_string()),
            "installer": Value::Null,
            "signature": Value::Null,
            name("bag_weight_lb", "bag_weight_kg"): Mass.express(self.bag_weight.ip(), units),
            "parts": parts.collect::<Vec<Value>>(),
            "missing": self.missing(),
            "rule": RULE.to_string(),
            "check_the_current_rule": true,
        })
    }
}

fn group(group: &JobGroup) -> Value {
    json!({
        "name": group.name,
        "jobs": group.jobs,
        "density_outside": group.density_outside,
        "coverage_outside": group.coverage_outside,
        "not_shown": group.not_shown,
        "mean_density_lb_ft3": group.mean_density_lb_ft3,
        "cold_after": group.cold.map(Count::found),
        "bays_scanned": group.cold.map(Count::seen),
        "missed_share": group.cold.map(Count::share),
        "missed_interval": group.interval.map(interval),
    })
}

fn issue(issue: &Issue) -> Value {
    json!({
        "code": issue.code.as_str(),
        "field": issue.field,
        "value": issue.value,
        "reason": issue.reason,
    })
}

impl JobsReview {
    /// Everything in it for programs.
    pub fn document(&self) -> Value {
        json!({
            "read": self.jobs.len() + self.rejects.len(),
            "jobs": self.jobs.iter().map(|job| json!({
                "row": job.row,
                "house_id": job.house_id,
                "crew": job.crew,
                "machine": job.machine,
                "work_date": job.date.map(|date| date.to_string()),
                "standing": job.standing().as_str(),
                "density_lb_ft3": job.density_lb_ft3,
                "promised_density_lb_ft3": job.promised_density_lb_ft3,
                "cold_after": job.cold.map(Count::found),
                "bays_scanned": job.cold.map(Count::seen),
                "density_outside": job.density_outside,
                "coverage_outside": job.coverage_outside,
                "readiness": job.readiness.as_str(),
                "findings": job.findings.iter().map(found).collect::<Vec<Value>>(),
            })).collect::<Vec<Value>>(),
            "rejects": self.rejects.iter().map(|reject| json!({
                "row": reject.row,
                "house_id": reject.house_id,
                "issues": reject.issues.iter().map(issue).collect::<Vec<Value>>(),
            })).collect::<Vec<Value>>(),
            "crews": self.crews.iter().map(group).collect::<Vec<Value>>(),
            "machines": self.machines.iter().map(group).collect::<Vec<Value>>(),
            "charts": self.charts.iter().map(machine).collect::<Vec<Value>>(),
        })
    }
}

/// The stages of a file and what changed, for programs.
pub fn changes_document(changes: &[Change]) -> Value {
    let each = |change: &Change| json!([change.path, change.before, change.after]);
    changes.iter().map(each).collect()
}

/// The stages of a file with their days.
///
/// # Errors
/// As for [`HouseFile::stages`].
pub fn stages_document(file: &HouseFile) -> Result<Value, crate::error::InputError> {
    let stages = file.stages()?;
    let each = |(stage, date): &(crate::stages::Stage, Option<chrono::NaiveDate>)| {
        json!([stage.as_str(), date.map(|date| date.to_string())])
    };
    Ok(stages.iter().map(each).collect())
}
