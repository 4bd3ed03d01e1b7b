//! From a stated option to the house with the work done.

use super::{Assumption, Choice, OptionSpec, Work};
use crate::error::{Issue, IssueCode, nearest};
use crate::house::{Cell, Change, Field, Fill, House, Scope, Series, Surface};
use crate::source::{Citation, Mark};
use crate::tables::{ACCESS, Access, MATERIALS};

/// Splitting a price by area, where nobody has split it.
const BY_AREA: Citation = Citation::new("judgement", "price shared by area", Mark::Judgement);
const NO_CREDIT: Citation =
    Citation::new("derived", "method, no credit without a test", Mark::Derived);

/// What an option treats, and how large a part of the house that is.
struct Extent {
    treated: Vec<usize>,
    /// Treated surfaces whose batt is taken out.
    emptied: Vec<usize>,
    whole: bool,
    /// Share of the area that is treated.
    share: f64,
    /// Share of the area whose batt is taken out.
    emptied_share: f64,
}

impl Extent {
    fn new(house: &House, spec: &OptionSpec) -> Result<Self, Issue> {
        let treated = treated(house, spec)?;
        let surfaces = house.surfaces();
        let area = |places: &[usize]| -> f64 {
            places.iter().filter_map(|place| surfaces.get(*place)).map(|s| s.area().ip()).sum()
        };
        let all: Vec<usize> = (0..surfaces.len()).collect();
        let goes = |place: &usize| surfaces.get(*place).is_some_and(has_batt_to_remove);
        let emptied: Vec<usize> = match spec.work {
            Work::RemoveAndFill => treated.iter().copied().filter(goes).collect(),
            Work::Nothing | Work::TopUp => Vec::new(),
        };
        if spec.work == Work::RemoveAndFill && emptied.is_empty() {
            let reason = "there is no batt to take out of an enclosed cavity here";
            return Err(Issue::new(IssueCode::Conflict, "work", spec.work.as_str(), reason));
        }
        let whole = treated.len() == surfaces.len();
        let share = if whole { 1.0 } else { area(&treated) / area(&all) };
        let emptied_share = area(&emptied) / area(&all);
        Ok(Self { treated, emptied, whole, share, emptied_share })
    }
}

/// What an option costs, part by part.
struct Price {
    fill: f64,
    repair: f64,
    removal: f64,
}

impl Price {
    /// A price that the option states is the whole price; what else it states comes on top.
    /// Otherwise the fill has its share of the house's price, and the rest a share of that.
    fn new(
        house: &House,
        spec: &OptionSpec,
        extent: &Extent,
        assumptions: &mut Vec<Assumption>,
    ) -> Self {
        if let Some(fill) = spec.stated_price() {
            let [repair, removal] =
                [spec.repair_cost, spec.removal_cost].map(Option::unwrap_or_default);
            return Self { fill, repair, removal };
        }
        let own = house.surfaces().iter().find_map(usual_access);
        let offer = house.offer();
        let fill = offer.installed_cost * extent.share;
        if !extent.whole {
            let what = format!("{:.0} % of the price of the whole, by area", extent.share * 100.0);
            assumptions.push(Assumption { what, amount: Some(fill), citation: BY_AREA });
        }
        let repair = match (spec.repair_cost, spec.access) {
            (Some(cost), _) => cost,
            (None, Some(wanted)) if own != Some(wanted) => {
                let repair = (wanted.repair_share - own.map_or(0.0, |own| own.repair_share)) * fill;
                let what = match own {
                    Some(own) => format!("{}, instead of {}", wanted.label, own.label),
                    None => wanted.label.to_owned(),
                };
                let citation = wanted.citation;
                assumptions.push(Assumption { what, amount: Some(repair), citation });
                repair
            }
            (None, _) => 0.0,
        };
        let removal = match (spec.removal_cost, spec.work) {
            (Some(cost), _) => cost,
            (None, Work::RemoveAndFill) => {
                let access = spec.access.or(own).unwrap_or_else(dearest);
                let share = access.removal_share;
                let removal = share * offer.installed_cost * extent.emptied_share;
                let what = format!(
                    "taking the batt out, {:.0} % of the price of the fill there: {}",
                    share * 100.0,
                    access.label
                );
                let citation = access.citation;
                assumptions.push(Assumption { what, amount: Some(removal), citation });
                removal
            }
            (None, _) => 0.0,
        };
        Self { fill, repair, removal }
    }

    fn sum(&self) -> f64 {
        self.fill + self.repair + self.removal
    }
}

/// The house with the option done to it.
pub(crate) fn prepare(house: &House, spec: &OptionSpec) -> Result<Choice, Vec<Issue>> {
    if spec.work == Work::Nothing {
        return nothing(house, spec);
    }
    let extent = Extent::new(house, spec).map_err(|issue| vec![issue])?;
    let mut assumptions = Vec::new();
    let price = Price::new(house, spec, &extent, &mut assumptions);
    let mut changes = stated_changes(house, spec, &extent.treated)?;
    leave(house, &extent.treated, &mut changes);
    if !extent.whole && !spec.gives(Field::Cfm50After) && house.leakage().after.is_some() {
        let what = "no credit for air: the leakage test after the work was of all of it".to_owned();
        assumptions.push(Assumption { what, amount: None, citation: NO_CREDIT });
        drop_test(&mut changes);
    }
    let cost = Field::InstalledCost.def().ip;
    changes.push(Change { surface: None, name: cost, cell: Cell::Number(price.sum()) });
    let offered = house.offer().rebate;
    if !spec.gives(Field::Rebate) && offered > 0.0 {
        let rebate = (offered * extent.share).min(price.sum());
        let name = Field::Rebate.def().ip;
        changes.push(Change { surface: None, name, cell: Cell::Number(rebate) });
        if !extent.whole {
            let what = format!("{:.0} % of the rebate, by area", extent.share * 100.0);
            assumptions.push(Assumption { what, amount: Some(rebate), citation: BY_AREA });
        }
    }
    let mut done = house.changed(&changes).map_err(|error| error.issues)?;
    for place in &extent.emptied {
        if let Some(surface) = done.surfaces.as_mut_slice().get_mut(*place) {
            surface.batt_removed = true;
        }
    }
    Ok(Choice {
        name: spec.name.clone(),
        work: spec.work,
        house: done,
        treated: extent.treated,
        fill_cost: price.fill,
        repair_cost: price.repair,
        removal_cost: price.removal,
        assumptions,
    })
}

/// The fields that the option states, on each treated surface that can have them. The price is not
/// among them.
fn stated_changes<'s>(
    house: &House,
    spec: &'s OptionSpec,
    treated: &[usize],
) -> Result<Vec<Change<'s>>, Vec<Issue>> {
    let (mut changes, mut faults) = (Vec::new(), Vec::new());
    for (name, kept) in &spec.fields {
        let Some((field, _)) = Field::from_name(name) else { continue };
        if field == Field::InstalledCost {
            continue;
        }
        let cell = kept.cell();
        if field.def().scope == Scope::House {
            changes.push(Change { surface: None, name, cell });
            continue;
        }
        let fits = |place: &usize| house.surfaces().get(*place).is_some_and(|s| belongs(field, s));
        let fitting: Vec<usize> = treated.iter().copied().filter(fits).collect();
        if fitting.is_empty() {
            let reason = "is for none of the surfaces that this option treats";
            faults.push(Issue::new(IssueCode::Misplaced, name, cell.shown(), reason));
        }
        let at = |place| house.lists_surfaces().then_some(place);
        changes.extend(fitting.into_iter().map(|place| Change { surface: at(place), name, cell }));
    }
    if faults.is_empty() { Ok(changes) } else { Err(faults) }
}

/// Nothing is filled, paid or credited.
fn nothing(house: &House, spec: &OptionSpec) -> Result<Choice, Vec<Issue>> {
    if let Some((name, kept)) = spec.fields.first() {
        let reason = "doing nothing has no fields of its own";
        return Err(vec![Issue::new(IssueCode::Conflict, name, kept.cell().shown(), reason)]);
    }
    let extra = [("repair_cost", spec.repair_cost), ("removal_cost", spec.removal_cost)];
    for (name, cost) in extra {
        if let Some(cost) = cost.filter(|cost| *cost > 0.0) {
            let reason = "doing nothing costs nothing";
            return Err(vec![Issue::new(IssueCode::Conflict, name, cost.to_string(), reason)]);
        }
    }
    let mut changes = Vec::new();
    leave(house, &[], &mut changes);
    for field in [Field::InstalledCost, Field::Rebate] {
        changes.push(Change { surface: None, name: field.def().ip, cell: Cell::Number(0.0) });
    }
    drop_test(&mut changes);
    Ok(Choice {
        name: spec.name.clone(),
        work: spec.work,
        house: house.changed(&changes).map_err(|error| error.issues)?,
        treated: Vec::new(),
        fill_cost: 0.0,
        repair_cost: 0.0,
        removal_cost: 0.0,
        assumptions: Vec::new(),
    })
}

/// A surface that is left alone is one that the fill misses altogether.
fn leave(house: &House, treated: &[usize], changes: &mut Vec<Change<'_>>) {
    for place in (0..house.surfaces().len()).filter(|place| !treated.contains(place)) {
        let surface = house.lists_surfaces().then_some(place);
        changes.push(Change { surface, name: Field::Missed.def().ip, cell: Cell::Number(1.0) });
    }
}

/// Without the second test there is no credit for air; without the first one nobody asks for it.
fn drop_test(changes: &mut Vec<Change<'_>>) {
    for field in [Field::Cfm50Before, Field::Cfm50After] {
        changes.push(Change { surface: None, name: field.def().ip, cell: Cell::Blank });
    }
}

/// How a surface is called: its name, or its place counted from 1.
pub(super) fn called(place: usize, surface: &Surface) -> String {
    surface.name().map_or_else(|| format!("{}", place + 1), str::to_owned)
}

fn treated(house: &House, spec: &OptionSpec) -> Result<Vec<usize>, Issue> {
    let surfaces = house.surfaces();
    let Some(wanted) = &spec.surfaces else { return Ok((0..surfaces.len()).collect()) };
    let names: Vec<String> =
        surfaces.iter().enumerate().map(|(place, s)| called(place, s)).collect();
    let mut found = Vec::new();
    for name in wanted {
        let same: Vec<usize> =
            (0..names.len()).filter(|place| names.get(*place) == Some(name)).collect();
        if same.is_empty() {
            let hint = nearest(name, names.iter().map(String::as_str))
                .map(|near| format!("; is {near} meant?"))
                .unwrap_or_default();
            let reason =
                format!("the house has no such surface; it has {}{hint}", names.join(", "));
            return Err(Issue::new(IssueCode::NotAChoice, "surfaces", name, reason));
        }
        // Surfaces of one name belong together.
        found.extend(same);
    }
    found.sort_unstable();
    found.dedup();
    if found.is_empty() && spec.work != Work::Nothing {
        let reason = "an option treats at least one surface";
        return Err(Issue::new(IssueCode::OutOfRange, "surfaces", "", reason));
    }
    Ok(found)
}

pub(super) fn has_batt_to_remove(surface: &Surface) -> bool {
    matches!(surface.fill(), Fill::Packed(_)) && surface.batt().thickness.ip() > 0.0
}

/// Whether a surface can have this field of the work.
fn belongs(field: Field, surface: &Surface) -> bool {
    !matches!(
        (field, surface.fill()),
        (Field::BattCompression, Fill::Open(_))
            | (Field::FillDepth | Field::Settling, Fill::Packed(_))
    )
}

/// How a surface with this cladding is usually worked; `None` where the cladding is not known.
pub(super) fn usual_access(surface: &Surface) -> Option<&'static Access> {
    let Series::Materials([Some(cladding), ..]) = surface.series() else { return None };
    let key = MATERIALS.get(*cladding)?.key;
    ACCESS.iter().find(|access| access.claddings.contains(&key))
}

/// Where nobody knows how the wall is worked, taking the batt out is not made to look cheap.
fn dearest() -> &'static Access {
    let mut dearest = &ACCESS[0];
    for access in ACCESS {
        if access.removal_share > dearest.removal_share {
            dearest = access;
        }
    }
    dearest
}
