//! How the job is to be done: the table `[job]` of a house file.

use super::form::{Convert, Form, NumberDef};
use crate::error::{Issue, IssueCode};
use crate::house::{House, Raw};
use crate::units::Quantity;
use crate::units::factor::M_PER_FT;

/// How the fibre reaches a cavity.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Access {
    /// A course of the cladding is taken off and put back.
    RemoveCourse,
    /// Through holes in the cladding, plugged and made good.
    DrillOutside,
    /// Through holes in the interior finish, plugged and made good.
    FromInside,
}

impl Access {
    pub(crate) const ALL: [Self; 3] = [Self::RemoveCourse, Self::DrillOutside, Self::FromInside];
    pub(crate) const KEYS: [&'static str; 3] = ["remove_course", "drill_outside", "from_inside"];

    /// The word that a user writes.
    pub const fn key(self) -> &'static str {
        Self::KEYS[self as usize]
    }
}

/// What the fibre is blown through.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FillBy {
    /// A tube pushed up and down the cavity and drawn back as it packs.
    Tube,
    /// A short hose held at the opening.
    ShortHose,
}

impl FillBy {
    pub(crate) const ALL: [Self; 2] = [Self::Tube, Self::ShortHose];
    pub(crate) const KEYS: [&'static str; 2] = ["tube", "short_hose"];

    /// The word that a user writes.
    pub const fn key(self) -> &'static str {
        Self::KEYS[self as usize]
    }
}

/// What the plan says of a surface, or of every surface that says nothing itself.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct SurfacePlan {
    /// How the fibre reaches the cavity; by the cladding where it is not said.
    pub access: Option<Access>,
    /// Tube or short hose.
    pub fill_by: Option<FillBy>,
    /// From the middle of a stud to the middle of the next, in.
    pub stud_spacing_in: Option<f64>,
    /// Height of the studs from plate to plate, ft.
    pub wall_height_ft: Option<f64>,
    /// Rows of blocking or fire stops across the cavities.
    pub blocking_rows: Option<u8>,
}

impl SurfacePlan {
    /// This plan, and what it does not say from another.
    fn or(self, other: Self) -> Self {
        Self {
            access: self.access.or(other.access),
            fill_by: self.fill_by.or(other.fill_by),
            stud_spacing_in: self.stud_spacing_in.or(other.stud_spacing_in),
            wall_height_ft: self.wall_height_ft.or(other.wall_height_ft),
            blocking_rows: self.blocking_rows.or(other.blocking_rows),
        }
    }
}

/// How the job is to be done.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct JobPlan {
    /// File of rates, by its path from the house file.
    pub rates: Option<String>,
    /// Fibre brought beyond what the job takes, as a share of it.
    pub spare_fraction: Option<f64>,
    /// For every surface that says nothing itself.
    pub whole: SurfacePlan,
    /// For single surfaces, by name.
    surfaces: Vec<(String, SurfacePlan)>,
    /// Names in `[job]` that the job sheet does not read.
    pub unread: Vec<String>,
}

const SPARE: NumberDef = NumberDef::new("spare_fraction", 0.0, 1.0);
const SPACING: NumberDef = NumberDef::new("stud_spacing_in", 8.0, 48.0)
    .si("stud_spacing_mm", Convert::By(Quantity::Length));
const HEIGHT: NumberDef =
    NumberDef::new("wall_height_ft", 1.0, 60.0).si("wall_height_m", Convert::Times(1.0 / M_PER_FT));
const BLOCKING: NumberDef = NumberDef::new("blocking_rows", 0.0, 20.0).whole();

fn surface_plan(form: &mut Form<'_>) -> SurfacePlan {
    let access = form.word("access", &Access::KEYS);
    let fill_by = form.word("fill_by", &FillBy::KEYS);
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "the form bounds the rows to whole numbers from 0 to 20"
    )]
    SurfacePlan {
        access: access.and_then(|place| Access::ALL.get(place).copied()),
        fill_by: fill_by.and_then(|place| FillBy::ALL.get(place).copied()),
        stud_spacing_in: form.number(&SPACING),
        wall_height_ft: form.number(&HEIGHT),
        blocking_rows: form.number(&BLOCKING).map(|rows| rows as u8),
    }
}

impl JobPlan {
    /// Reads the table `[job]`.
    pub(crate) fn read(raw: &Raw) -> Result<Self, Vec<Issue>> {
        let mut form = Form::new(raw);
        // The day of the job, of the same table, is not the plan's.
        form.leave("date");
        let rates = form.text("rates", 500);
        let spare_fraction = form.number(&SPARE);
        let whole = surface_plan(&mut form);
        let mut surfaces = Vec::new();
        let mut deeper = Vec::new();
        for (index, item) in form.list("surfaces").iter().enumerate() {
            let mut inner = Form::new(item);
            let name = inner.text("name", 200);
            let plan = surface_plan(&mut inner);
            if name.is_none() && inner.issues.is_empty() {
                let reason = "must be given: the name of a surface of the house";
                inner.fault(IssueCode::Missing, "name", "", reason);
            }
            let (issues, _) = inner.finish(true);
            deeper.extend(issues.into_iter().map(|i| i.within(&format!("surfaces[{index}]"))));
            surfaces.extend(name.map(|name| (name, plan)));
        }
        let (mut issues, unread) = form.finish(false);
        issues.extend(deeper);
        if issues.is_empty() {
            Ok(Self { rates, spare_fraction, whole, surfaces, unread })
        } else {
            Err(issues)
        }
    }

    /// Whether every surface that is named is one of the house.
    pub(crate) fn check(&self, house: &House) -> Vec<Issue> {
        let labels: Vec<String> =
            (0..house.surfaces().len()).map(|index| house.surface_label(index)).collect();
        let mut issues = Vec::new();
        for (index, (name, _)) in self.surfaces.iter().enumerate() {
            let path = format!("surfaces[{index}].name");
            let count = labels.iter().filter(|label| label.eq_ignore_ascii_case(name)).count();
            if count == 0 {
                let reason = format!(
                    "no surface of the house has this name; known are {}",
                    labels.join(", ")
                );
                issues.push(Issue::new(IssueCode::NotAChoice, path, name, reason));
            } else if count > 1 {
                let reason = "more than one surface has this name: give each its own";
                issues.push(Issue::new(IssueCode::Conflict, path, name, reason));
            } else if self.surfaces.iter().take(index).any(|(n, _)| n.eq_ignore_ascii_case(name)) {
                issues.push(Issue::new(IssueCode::GivenTwice, path, name, "given twice"));
            }
        }
        issues
    }

    /// The plan for a surface.
    pub fn surface(&self, label: &str) -> SurfacePlan {
        let own = self.surfaces.iter().find(|(name, _)| name.eq_ignore_ascii_case(label));
        own.map_or(self.whole, |(_, plan)| plan.or(self.whole))
    }
}
