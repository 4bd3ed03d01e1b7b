//! What a job costs by the user's own rates: labour, material, access and repair, fixed cost,
//! overhead, margin; and a quoted price against it.

mod document;
mod rates;
mod words;

pub use rates::{RATES, Rate, RateDef, Rates, Used};

use crate::error::{InputError, Issue, IssueCode};
use crate::house::{Access, Assessment, House, assess};
use crate::jobsheet::{CrewDays, JobSheet, SurfaceSheet, job_sheet};
use crate::tables::QUOTE_TOLERANCE;

/// What part of the price a line belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Part {
    /// People and their machine.
    Labour,
    /// Fibre and plugs.
    Material,
    /// Getting in and making good.
    AccessAndRepair,
    /// Whatever the size of the job.
    Fixed,
    /// Share of what stands above.
    Overhead,
    /// Share of the price.
    Margin,
}

impl Part {
    /// Every part, in the order of the build-up.
    pub const ALL: [Self; 6] = [
        Self::Labour,
        Self::Material,
        Self::AccessAndRepair,
        Self::Fixed,
        Self::Overhead,
        Self::Margin,
    ];

    /// Its name for programs.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Labour => "labour",
            Self::Material => "material",
            Self::AccessAndRepair => "access_and_repair",
            Self::Fixed => "fixed",
            Self::Overhead => "overhead",
            Self::Margin => "margin",
        }
    }
}

/// A line of the build-up: so many of something, at a rate.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// What part of the price.
    pub part: Part,
    /// What is counted, in words; of which surface, where it is one's own.
    pub what: String,
    /// How many.
    pub quantity: f64,
    /// Of what.
    pub unit: &'static str,
    /// The rate.
    pub rate: Used,
    /// Quantity times rate.
    pub amount: f64,
}

/// Something about the price that somebody should look at.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum CostFinding {
    /// The quoted price is far above the build-up.
    QuoteFarAbove,
    /// The quoted price is far below the build-up.
    QuoteFarBelow,
    /// The quoted price does not cover cost and overhead.
    QuoteBelowCost,
    /// The rebate is larger than the build-up.
    RebateAboveBuildUp,
    /// The days rest on common practice.
    DaysByPractice,
    /// An attic floor takes no time in the days.
    AtticDaysLeftOut,
    /// Access of some surface goes by its area.
    AccessByArea,
    /// Clearing what holds the work is not in the price.
    HoldNotPriced,
}

impl CostFinding {
    /// Its code, stable for programs.
    pub const fn code(self) -> &'static str {
        match self {
            Self::QuoteFarAbove => "quote_far_above",
            Self::QuoteFarBelow => "quote_far_below",
            Self::QuoteBelowCost => "quote_below_cost",
            Self::RebateAboveBuildUp => "rebate_above_build_up",
            Self::DaysByPractice => "days_by_practice",
            Self::AtticDaysLeftOut => "attic_days_left_out",
            Self::AccessByArea => "access_by_area",
            Self::HoldNotPriced => "hold_not_priced",
        }
    }

    /// What it means and what to do.
    pub const fn words(self) -> &'static str {
        match self {
            Self::QuoteFarAbove => {
                "The quoted price is far above the build-up: look for work that the build-up does \
                 not know, or ask again"
            }
            Self::QuoteFarBelow => {
                "The quoted price is far below the build-up: look at area, access and days again \
                 before it is promised"
            }
            Self::QuoteBelowCost => "The quoted price does not cover cost and overhead",
            Self::RebateAboveBuildUp => {
                "The rebate is larger than the build-up: there is no payback to give at that price"
            }
            Self::DaysByPractice => {
                "The days rest on common practice, no source: give packed_ft2_per_crew_day of your \
                 own crews"
            }
            Self::AtticDaysLeftOut => {
                "The attic floor takes no time in the days: give attic_ft2_per_crew_day"
            }
            Self::AccessByArea => {
                "Access goes by area where the openings are not counted: give stud_spacing_in and \
                 wall_height_ft in [job]"
            }
            Self::HoldNotPriced => {
                "The work is on hold: clearing what holds it is not in this price"
            }
        }
    }
}

/// A price and its parts.
#[derive(Clone, Debug)]
pub struct BuildUp {
    /// The house.
    pub house_id: String,
    /// What is counted, in the order of the parts; overhead and margin are parts of their own.
    pub lines: Vec<Line>,
    /// Labour, material, access and repair, fixed cost.
    pub direct: f64,
    /// Overhead.
    pub overhead: f64,
    /// The share that makes it, and the one that makes the margin.
    pub shares: [Used; 2],
    /// Margin.
    pub margin: f64,
    /// The price: the sum of the parts.
    pub installed_cost: f64,
    /// The price that the house file quotes; `None` where it is 0, which quotes nothing.
    pub quoted: Option<f64>,
    /// How long the crew takes.
    pub days: CrewDays,
    /// What somebody should look at.
    pub findings: Vec<CostFinding>,
    /// The assessment at the quoted price.
    pub at_quote: Assessment,
    /// The assessment at the price built up; `None` where the rebate is larger.
    pub at_build_up: Option<Assessment>,
}

impl BuildUp {
    /// What a part comes to.
    pub fn part(&self, part: Part) -> f64 {
        match part {
            Part::Overhead => self.overhead,
            Part::Margin => self.margin,
            _ => self.lines.iter().filter(|line| line.part == part).map(|line| line.amount).sum(),
        }
    }
}

impl House {
    /// The same house at another price.
    ///
    /// # Errors
    /// [`InputError`] where the price is below nothing or not finite, or the rebate larger than it.
    pub fn priced(&self, installed_cost: f64) -> Result<Self, InputError> {
        let fault = |reason: String| {
            let value = format!("{installed_cost}");
            Err(Issue::new(IssueCode::OutOfRange, "installed_cost", value, reason).into())
        };
        if !installed_cost.is_finite() || installed_cost < 0.0 {
            return fault("allowed is 0 or more".to_owned());
        }
        if self.offer.rebate > installed_cost {
            return fault(format!("must not be less than the rebate, {}", self.offer.rebate));
        }
        let mut house = self.clone();
        house.offer.installed_cost = installed_cost;
        Ok(house)
    }
}

/// Collects lines and what is missing for them.
struct Counter<'r> {
    rates: &'r Rates,
    lines: Vec<Line>,
    issues: Vec<Issue>,
}

impl Counter<'_> {
    fn add(&mut self, part: Part, what: impl Into<String>, count: (f64, &'static str), rate: Used) {
        let (quantity, unit) = count;
        let amount = quantity * rate.value;
        self.lines.push(Line { part, what: what.into(), quantity, unit, rate, amount });
    }

    /// A line that the job cannot do without.
    fn need(
        &mut self,
        part: Part,
        what: impl Into<String>,
        count: (f64, &'static str),
        rate: Rate,
        why: &str,
    ) {
        if let Some(used) = self.rates.need(rate, why, &mut self.issues) {
            self.add(part, what, count, used);
        }
    }

    /// A line that is there only where its rate is given.
    fn may(&mut self, part: Part, what: &str, count: (f64, &'static str), rate: Rate) {
        if let Some(used) = self.rates.get(rate) {
            self.add(part, what, count, used);
        }
    }

    fn access(&mut self, surface: &SurfaceSheet) -> bool {
        let label = &surface.label;
        let part = Part::AccessAndRepair;
        let (Some(way), Some(bays)) = (surface.way_in, surface.bays) else {
            let area = (surface.area.ip(), "ft²");
            let why = "since the openings are not counted here";
            self.need(part, format!("{label}, by area"), area, Rate::AccessByArea, why);
            return true;
        };
        match way.access {
            Access::RemoveCourse => {
                let feet = (bays.run_ft * bays.bands, "ft");
                let why = "since courses come off";
                self.need(part, format!("{label}, courses off and on"), feet, Rate::Course, why);
                if way.repaint {
                    let why = "since nail holes are painted";
                    self.need(part, format!("{label}, painted"), feet, Rate::Repaint, why);
                }
            }
            Access::DrillOutside => {
                let holes = (bays.openings, "openings");
                let why = "since it is drilled from outside";
                self.need(part, format!("{label}, from outside"), holes, Rate::DrillOutside, why);
            }
            Access::FromInside => {
                let holes = (bays.openings, "openings");
                let why = "since it is drilled from inside";
                self.need(part, format!("{label}, from inside"), holes, Rate::FromInside, why);
            }
        }
        let why = "since every opening is plugged";
        let plugs = (bays.openings, "plugs");
        self.need(Part::Material, format!("{label}, plugs"), plugs, Rate::Plug, why);
        false
    }
}

/// Builds the price of a job up by the user's own rates, and compares the quoted one with it.
///
/// # Errors
/// [`InputError`] with every rate that this job needs and the file does not give.
pub fn build_up(house: &House, rates: &Rates) -> Result<BuildUp, InputError> {
    let sheet = job_sheet(house, &rates.production());
    let mut counter = Counter { rates, lines: Vec::new(), issues: Vec::new() };
    let by_area = count(&mut counter, &sheet);
    let shares =
        [(Rate::Overhead, "0 where there is none"), (Rate::Margin, "0 where there is none")]
            .map(|(rate, why)| rates.need(rate, why, &mut counter.issues));
    let (true, [Some(overhead_share), Some(margin_share)]) = (counter.issues.is_empty(), shares)
    else {
        return Err(InputError { issues: counter.issues });
    };
    let mut lines = counter.lines;
    lines.sort_by_key(|line| line.part as u8);
    let direct: f64 = lines.iter().map(|line| line.amount).sum();
    let overhead = direct * overhead_share.value;
    let margin = (direct + overhead) * (margin_share.value / (1.0 - margin_share.value));
    let installed_cost = direct + overhead + margin;

    let quoted = Some(house.offer().installed_cost).filter(|quoted| *quoted > 0.0);
    let at_build_up = house.priced(installed_cost).ok().map(|house| assess(&house));
    let mut findings = Vec::new();
    let mut add = |holds: bool, finding| {
        if holds {
            findings.push(finding);
        }
    };
    let tolerance = QUOTE_TOLERANCE.value;
    let quoted_is = |test: &dyn Fn(f64) -> bool| quoted.is_some_and(test);
    add(
        quoted_is(&|quoted| quoted > installed_cost * (1.0 + tolerance)),
        CostFinding::QuoteFarAbove,
    );
    add(
        quoted_is(&|quoted| quoted < installed_cost * (1.0 - tolerance)),
        CostFinding::QuoteFarBelow,
    );
    add(quoted_is(&|quoted| quoted < direct + overhead), CostFinding::QuoteBelowCost);
    add(at_build_up.is_none(), CostFinding::RebateAboveBuildUp);
    let packed = sheet.surfaces.iter().any(|surface| !surface.open());
    add(packed && !sheet.days.own, CostFinding::DaysByPractice);
    add(sheet.days.attic_left_out, CostFinding::AtticDaysLeftOut);
    add(by_area, CostFinding::AccessByArea);
    add(sheet.walk.readiness == crate::readiness::Readiness::Hold, CostFinding::HoldNotPriced);
    Ok(BuildUp {
        house_id: house.house_id().to_owned(),
        lines,
        direct,
        overhead,
        shares: [overhead_share, margin_share],
        margin,
        installed_cost,
        quoted,
        days: sheet.days,
        findings,
        at_quote: assess(house),
        at_build_up,
    })
}

/// Counts everything; whether some access goes by area.
fn count(counter: &mut Counter<'_>, sheet: &JobSheet) -> bool {
    let rates = counter.rates;
    let hours = rates.need(Rate::HoursPerDay, "for the crew's hours", &mut counter.issues);
    let people = rates.need(Rate::CrewSize, "for the crew's hours", &mut counter.issues);
    let days = sheet.days.middle();
    let person_hours = match (hours, people) {
        (Some(hours), Some(people)) => days * hours.value * people.value,
        _ => 0.0,
    };
    counter.need(
        Part::Labour,
        "crew",
        (person_hours, "person-hours"),
        Rate::Wage,
        "for the crew's hours",
    );
    counter.may(Part::Labour, "machine, hoses, lorry", (days, "days"), Rate::Machine);
    counter.need(
        Part::Material,
        "fibre, the spare with it",
        (sheet.bags_to_bring, "bags"),
        Rate::Bag,
        "for the fibre",
    );
    let mut by_area = false;
    for surface in sheet.surfaces.iter().filter(|surface| !surface.open()) {
        by_area |= counter.access(surface);
    }
    counter.may(Part::Fixed, "for each job", (1.0, "job"), Rate::Fixed);
    counter.may(Part::Fixed, "tests and scans", (1.0, "job"), Rate::Tests);
    by_area
}
