//! From a stated option to the house with the work done.

use super::spec::Kept;
use super::{Assumption, Choice, OptionSpec, Work};
use crate::error::{Issue, IssueCode, nearest};
use crate::house::{Cell, Change, Field, Fill, House, Scope, Series, Surface};
use crate::source::{Citation, Mark};
use crate::tables::{ACCESS, Access, MATERIALS};

/// Splitting a price by area, where nobody has split it.
const BY_AREA: Citation = Citation::new("judgement", "price shared by area", Mark::Judgement);
const NO_CREDIT: Citation = Citation::new("derived", "method, no credit without a test", Mark::Derived);

/// The house with the option done to it.
pub(super) fn prepare(house: &House, spec: &OptionSpec) -> Result<Choice, Vec<Issue>> {
    let treated = treated(house, spec).map_err(|issue| vec![issue])?;
    let surfaces = house.surfaces();
    let mut assumptions = Vec::new();
    let area = |places: &[usize]| -> f64 {
        places.iter().filter_map(|place| surfaces.get(*place)).map(|s| s.area().ip()).sum()
    };
    let all: Vec<usize> = (0..surfaces.len()).collect();
    let whole = treated.len() == surfaces.len();
    let share = if whole { 1.0 } else { area(&treated) / area(&all) };
    let emptied = |place: &usize| surfaces.get(*place).is_some_and(has_batt_to_remove);
    if spec.work == Work::RemoveAndFill && !treated.iter().any(emptied) {
        let reason = "there is no batt to take out of an enclosed cavity here";
        return Err(vec![Issue::new(IssueCode::Conflict, "work", spec.work.as_str(), reason)]);
    }
    if spec.work == Work::Nothing {
        return nothing(house, spec);
    }

    let stated = spec.gives(Field::InstalledCost);
    let offer = house.offer();
    let own = surfaces.iter().find_map(usual_access);
    let access = spec.access.or(own);
    // The price of the house is for all of it; a part takes its share by area.
    let part = offer.installed_cost * share;
    if !stated && !whole {
        let what = format!("{:.0} % of the price of the whole, by area", share * 100.0);
        assumptions.push(Assumption { what, amount: Some(part), citation: BY_AREA });
    }
    let repair = match (spec.repair_cost, spec.access, own) {
        (Some(cost), ..) => cost,
        (None, Some(wanted), own) if !stated => {
            let repair = (wanted.repair_share - own.map_or(0.0, |own| own.repair_share)) * part;
            let what = match own {
                Some(own) if own == wanted => String::new(),
                Some(own) => format!("{}, instead of {}", wanted.label, own.label),
                None => wanted.label.to_owned(),
            };
            if !what.is_empty() {
                let citation = wanted.citation;
                assumptions.push(Assumption { what, amount: Some(repair), citation });
            }
            repair
        }
        _ => 0.0,
    };
    let removal = match (spec.removal_cost, spec.work) {
        (Some(cost), _) => cost,
        (None, Work::RemoveAndFill) if !stated => {
            let access = access.unwrap_or_else(dearest);
            let walls: Vec<usize> = treated.iter().copied().filter(|p| emptied(p)).collect();
            let base = offer.installed_cost * area(&walls) / area(&all);
            let removal = access.removal_share * base;
            let what = format!(
                "taking the batt out, {:.0} % of the price of the fill there: {}",
                access.removal_share * 100.0,
                access.label
            );
            let citation = access.citation;
            assumptions.push(Assumption { what, amount: Some(removal), citation });
            removal
        }
        _ => 0.0,
    };

    let mut changes: Vec<Change<'_>> = Vec::new();
    let mut fault = Vec::new();
    for (name, kept) in &spec.fields {
        let Some((field, _)) = Field::from_name(name) else { continue };
        if field.def().scope == Scope::House {
            changes.push(Change { surface: None, name, cell: kept.cell() });
            continue;
        }
        let fitting: Vec<usize> = treated
            .iter()
            .copied()
            .filter(|place| surfaces.get(*place).is_some_and(|s| belongs(field, s)))
            .collect();
        if fitting.is_empty() {
            let reason = "is for none of the surfaces that this option treats";
            fault.push(Issue::new(IssueCode::Misplaced, name, kept.cell().shown(), reason));
        }
        let at = |place| house.lists_surfaces().then_some(place);
        changes.extend(
            fitting.into_iter().map(|place| Change { surface: at(place), name, cell: kept.cell() }),
        );
    }
    if !fault.is_empty() {
        return Err(fault);
    }
    leave(house, &treated, &mut changes);
    if !whole && !spec.gives(Field::Cfm50After) && house.leakage().after.is_some() {
        let what = "no credit for air: the leakage test after the work was of all of it".to_owned();
        assumptions.push(Assumption { what, amount: None, citation: NO_CREDIT });
        drop_test(&mut changes);
    }
    let fill_cost = match spec.fields.iter().find(|(name, _)| name == Field::InstalledCost.def().ip)
    {
        Some((_, Kept::Number(cost))) => *cost,
        Some((_, Kept::Text(text))) => text.trim().parse().unwrap_or(f64::NAN),
        _ => part,
    };
    let price = fill_cost + repair + removal;
    let cost = Field::InstalledCost.def().ip;
    changes.retain(|change| change.name != cost);
    changes.push(Change { surface: None, name: cost, cell: Cell::Number(price) });
    if !spec.gives(Field::Rebate) && offer.rebate > 0.0 {
        let rebate = (offer.rebate * share).min(price);
        let name = Field::Rebate.def().ip;
        changes.push(Change { surface: None, name, cell: Cell::Number(rebate) });
        if !whole {
            let what = format!("{:.0} % of the rebate, by area", share * 100.0);
            assumptions.push(Assumption { what, amount: Some(rebate), citation: BY_AREA });
        }
    }
    let mut done = house.changed(&changes).map_err(|error| error.issues)?;
    if spec.work == Work::RemoveAndFill {
        for place in treated.iter().filter(|place| emptied(place)) {
            if let Some(surface) = done.surfaces.as_mut_slice().get_mut(*place) {
                surface.batt_removed = true;
            }
        }
    }
    Ok(Choice {
        name: spec.name.clone(),
        work: spec.work,
        house: done,
        treated,
        fill_cost,
        repair_cost: repair,
        removal_cost: removal,
        assumptions,
    })
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
            let reason = format!("the house has no such surface; it has {}{hint}", names.join(", "));
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
    match (field, surface.fill()) {
        (Field::BattCompression, Fill::Open(_)) => false,
        (Field::FillDepth | Field::Settling, Fill::Packed(_)) => false,
        _ => true,
    }
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
