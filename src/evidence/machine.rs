//! The machine's log: a box filled and weighed, again and again, on a chart of its own for each
//! machine and setting.

use super::chart::{Chart, Signal};
use super::finding::{Found, ProofFinding};
use super::record::BoxCheck;
use crate::tables::{DENSITY_CHECK_DAYS, MIN_FILL_DENSITY};
use chrono::NaiveDate;

/// The boxes of one machine at one setting.
#[derive(Clone, Debug, PartialEq)]
pub struct MachineChart {
    /// The machine; empty where the log names none.
    pub machine: String,
    /// The setting; empty where the log names none.
    pub setting: String,
    /// The days.
    pub dates: Vec<NaiveDate>,
    /// The densities and what stands out among them, lb/ft³.
    pub chart: Chart,
}

impl MachineChart {
    /// The machine and its setting, as a person says it.
    pub fn label(&self) -> String {
        match (self.machine.as_str(), self.setting.as_str()) {
            ("", "") => "machine".to_owned(),
            (machine, "") => machine.to_owned(),
            ("", setting) => setting.to_owned(),
            (machine, setting) => format!("{machine}, {setting}"),
        }
    }

    /// Whether the setting is for an open attic: it says `open` or `attic`. Its figures are others
    /// than a wall's and are kept apart.
    pub fn open(&self) -> bool {
        let setting = self.setting.to_lowercase();
        setting.contains("open") || setting.contains("attic")
    }

    /// What its last box says about going on.
    pub fn findings(&self) -> Vec<Found> {
        let mut found = Vec::new();
        let Some(last) = self.chart.values.last() else { return found };
        let day = self.dates.last().map(ToString::to_string).unwrap_or_default();
        let mut add = |finding, detail: String| {
            found.push(Found::new(finding, self.label(), detail));
        };
        if !self.open() && *last < MIN_FILL_DENSITY.value {
            add(ProofFinding::MachineLow, format!("{last:.2} lb/ft³ on {day}"));
        }
        let now: Vec<Signal> = self.chart.now().collect();
        // A step back from outside the limits is a machine that was mended.
        let before = self.chart.values.len().checked_sub(2);
        let mended = before.is_some_and(|b| self.chart.signals.contains(&(b, Signal::Outside)));
        let out = now.contains(&Signal::Outside) || (now.contains(&Signal::Jump) && !mended);
        if let (Some(limits), true) = (self.chart.limits, out) {
            let jump = self.chart.ranges.last().copied().unwrap_or_default();
            add(
                ProofFinding::MachineOut,
                format!(
                    "{last:.2} lb/ft³ on {day}; limits {:.2} to {:.2}; step {jump:.2}, limit {:.2}",
                    limits.low, limits.high, limits.range_high
                ),
            );
        }
        if now.iter().any(|s| matches!(s, Signal::OneSide | Signal::Trend)) {
            let centre = self.chart.limits.map(|limits| limits.centre).unwrap_or_default();
            add(
                ProofFinding::MachineDrift,
                format!("{last:.2} lb/ft³ on {day}; centre {centre:.2}"),
            );
        }
        match self.chart.limits {
            Some(limits) if limits.firm() => {}
            _ => {
                let boxes = self.chart.values.len();
                let few = if boxes == 1 { "1 box".to_owned() } else { format!("{boxes} boxes") };
                add(ProofFinding::LimitsProvisional, few);
            }
        }
        found
    }
}

/// The charts of a log, each machine and setting by itself, in the order in which they first
/// appear. The limits come from the first `baseline` boxes of each, or from all.
pub fn machine_charts(log: &[BoxCheck], baseline: Option<usize>) -> Vec<MachineChart> {
    let mut groups: Vec<(String, String, Vec<&BoxCheck>)> = Vec::new();
    for check in log {
        let machine = check.machine.clone().unwrap_or_default();
        let setting = check.setting.clone().unwrap_or_default();
        match groups.iter_mut().find(|(m, s, _)| *m == machine && *s == setting) {
            Some((_, _, checks)) => checks.push(check),
            None => groups.push((machine, setting, vec![check])),
        }
    }
    groups
        .into_iter()
        .map(|(machine, setting, checks)| {
            let values: Vec<f64> = checks.iter().map(|check| check.density_lb_ft3()).collect();
            MachineChart {
                machine,
                setting,
                dates: checks.iter().map(|check| check.date).collect(),
                chart: Chart::new(&values, baseline),
            }
        })
        .collect()
}

/// Whether a box was weighed in the week before the work, or on its day.
pub(crate) fn checked_in_time(log: &[BoxCheck], built: NaiveDate) -> bool {
    log.iter().any(|check| {
        let days = built.signed_duration_since(check.date).num_days();
        days >= 0 && f64::from(i32::try_from(days).unwrap_or(i32::MAX)) <= DENSITY_CHECK_DAYS.value
    })
}
