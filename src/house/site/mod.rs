//! What a house file says beside the house itself: how the job is to be done, and who has looked at
//! what.

mod clearance;
pub(crate) mod form;
mod plan;
mod question;
mod role;
mod standing;

pub use clearance::{Clearance, Place};
pub use plan::{Access, FillBy, JobPlan, SurfacePlan};
pub use question::{QUESTIONS, Question, QuestionDef, Raises, Reach, SitePoint};
pub use role::{Requirement, Role, requirement};
pub use standing::Standing;

use super::{House, Raw};
use crate::error::{InputError, Issue, IssueCode};
use crate::readiness::FindingSet;
use chrono::NaiveDate;
use clearance::{Draft, MOST_CLEARANCES};
use standing::{changes, standings};

/// The table of the plan in a house file.
pub(crate) const JOB: &str = "job";
/// The list of looks in a house file.
pub(crate) const CLEARANCES: &str = "clearances";
/// The table of the survey in a house file; here only its date is read.
pub(crate) const SURVEY: &str = "survey";

/// The plan and the looks of a house, checked against it.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Site {
    pub(crate) plan: JobPlan,
    pub(crate) clearances: Vec<Clearance>,
    /// Findings that the looks take away.
    pub(crate) cleared: FindingSet,
    /// Findings that the looks add.
    pub(crate) raised: FindingSet,
}

/// The plan and the looks as they are read, before there is a house to check them against.
#[derive(Default)]
pub(crate) struct SiteDraft {
    plan: Option<JobPlan>,
    clearances: Vec<Draft>,
    surveyed: Option<NaiveDate>,
    pub(crate) issues: Vec<Issue>,
}

impl SiteDraft {
    /// Whether a key of a house file belongs here.
    pub(crate) fn takes(key: &str) -> bool {
        [JOB, CLEARANCES, SURVEY].contains(&key)
    }

    /// Takes in one of the keys.
    pub(crate) fn read(&mut self, key: &str, raw: &Raw) {
        match (key, raw) {
            (_, Raw::Null) => {}
            (JOB, raw) => match JobPlan::read(raw) {
                Ok(plan) if self.plan.is_none() => self.plan = Some(plan),
                Ok(_) => {
                    self.issues.push(Issue::new(IssueCode::GivenTwice, JOB, "", "given twice"));
                }
                Err(issues) => self.issues.extend(issues.into_iter().map(|i| i.within(JOB))),
            },
            (CLEARANCES, Raw::List(items)) if items.len() <= MOST_CLEARANCES => {
                for (index, item) in items.iter().enumerate() {
                    match Draft::read(item) {
                        Ok(draft) => self.clearances.push(draft),
                        Err(issues) => {
                            let path = format!("{CLEARANCES}[{index}]");
                            self.issues.extend(issues.into_iter().map(|i| i.within(&path)));
                        }
                    }
                }
            }
            (CLEARANCES, Raw::List(items)) => {
                let reason = format!("a house has at most {MOST_CLEARANCES} of them");
                let value = format!("{} entries", items.len());
                self.issues.push(Issue::new(IssueCode::OutOfRange, CLEARANCES, value, reason));
            }
            (SURVEY, Raw::Table(entries)) => {
                let date = entries.iter().find(|(key, _)| key == "date").map(|(_, raw)| raw);
                self.surveyed = match date {
                    Some(Raw::Text(text)) => form::day(text),
                    _ => None,
                };
                if date.is_some_and(|date| *date != Raw::Null) && self.surveyed.is_none() {
                    let reason = "must be a day of the calendar written as in 2026-03-02";
                    let issue = Issue::new(IssueCode::WrongType, "date", "", reason);
                    self.issues.push(issue.within(SURVEY));
                }
            }
            (key, other) => {
                let wanted = if key == CLEARANCES { "a list of tables" } else { "a table" };
                let reason = format!("must be {wanted}, this is {}", other.sort());
                self.issues.push(Issue::new(IssueCode::WrongType, key, "", reason));
            }
        }
    }

    /// Checks all of it against the house and hands it over to it.
    pub(crate) fn join(self, house: &mut House) -> Result<(), InputError> {
        let Self { plan, clearances: drafts, surveyed, .. } = self;
        if plan.is_none() && drafts.is_empty() {
            return Ok(());
        }
        let plan = plan.unwrap_or_default();
        let mut issues: Vec<Issue> =
            plan.check(house).into_iter().map(|issue| issue.within(JOB)).collect();
        let mut clearances = Vec::with_capacity(drafts.len());
        for (index, draft) in drafts.into_iter().enumerate() {
            match draft.resolve(house, surveyed) {
                Ok(clearance) => clearances.push(clearance),
                Err(faults) => {
                    let path = format!("{CLEARANCES}[{index}]");
                    issues.extend(faults.into_iter().map(|issue| issue.within(&path)));
                }
            }
        }
        if !issues.is_empty() {
            return Err(InputError { issues });
        }
        let (cleared, raised) = changes(house, &clearances);
        house.site = Some(Box::new(Site { plan, clearances, cleared, raised }));
        Ok(())
    }
}

impl House {
    /// How the job is to be done, where the house file says so.
    pub fn job_plan(&self) -> Option<&JobPlan> {
        self.site.as_deref().map(|site| &site.plan)
    }

    /// The looks that the house file holds, in its order.
    pub fn clearances(&self) -> &[Clearance] {
        self.site.as_deref().map_or(&[], |site| &site.clearances)
    }

    /// How every point of the walk stands: for the house, then surface by surface.
    pub fn standings(&self) -> Vec<Standing> {
        standings(self, self.clearances())
    }
}
