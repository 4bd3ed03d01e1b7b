//! The options that a house has when its file names none.

use super::prepare::{called, has_batt_to_remove};
use super::{OptionSpec, Work};
use crate::house::{House, SurfaceKind};

/// What the whole fill is called: of an empty house, and over what is there.
const FILL: [&str; 2] = ["fill", "fill over what is there"];

/// Whether an option is called as the whole fill is where nobody has named it.
#[cfg(feature = "live")]
pub(crate) fn usual_fill(name: &str) -> bool {
    FILL.contains(&name)
}

/// Leave it, fill it, one part before the others, and take the batt out first where there is one.
pub fn usual(house: &House) -> Vec<OptionSpec> {
    let surfaces = house.surfaces();
    let any_batt = surfaces.iter().any(|surface| surface.batt().thickness.ip() > 0.0);
    let mut options = vec![OptionSpec::new("leave it as it is", Work::Nothing)];
    let named = |wanted: &dyn Fn(SurfaceKind) -> bool| -> Vec<String> {
        let all = surfaces.iter().enumerate();
        all.filter(|(_, s)| wanted(s.kind())).map(|(place, s)| called(place, s)).collect()
    };
    let attic = named(&|kind| kind == SurfaceKind::AtticFloor);
    let rest = named(&|kind| kind != SurfaceKind::AtticFloor);
    if !attic.is_empty() && !rest.is_empty() {
        for (name, part) in [("the attic floor alone", attic), ("all but the attic floor", rest)] {
            options.push(OptionSpec::new(name, Work::TopUp).on(part));
        }
    }
    let fill = FILL[usize::from(any_batt)];
    options.push(OptionSpec::new(fill, Work::TopUp));
    if surfaces.iter().any(has_batt_to_remove) {
        options.push(OptionSpec::new("take the batt out and fill", Work::RemoveAndFill));
    }
    options
}
