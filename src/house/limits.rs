//! A surface as a layered assembly: what lies outside its cavity, and the limits of its value.

use super::surface::Surface;
use super::terms::{Body, Terms};
use crate::assembly::{Assembly, AssemblyFault, Zone, attic_paths_before, paths_before};
use crate::numeric::Plain;
use crate::units::RValue;

impl Surface {
    /// Resistance of everything outside the cavity, films included.
    pub fn series_r(&self) -> RValue {
        RValue::checked(match Terms::read(&Plain, self).body {
            Body::Packed(terms) => terms.series_r,
            Body::Open(terms) => terms.series_r,
        })
    }

    /// The surface as paths through layers, before the work and without the correction for gaps:
    /// for the upper, lower and combined value of ISO 6946.
    ///
    /// # Errors
    /// [`AssemblyFault`] when a path has no resistance; a validated surface has always some.
    pub fn assembly_before(&self) -> Result<Assembly, AssemblyFault> {
        let phi = self.framing.fraction.ip();
        let m = self.batt.missing.ip();
        let (series_r, paths) = match Terms::read(&Plain, self).body {
            Body::Packed(terms) => {
                let paths = paths_before(&Plain, &terms);
                (terms.series_r, [paths.frame, paths.batt, paths.void])
            }
            Body::Open(terms) => {
                let paths = attic_paths_before(&Plain, &terms);
                (terms.series_r, [paths.joist, paths.bay, terms.series_r])
            }
        };
        Assembly::new(
            vec![phi, (1.0 - phi) * (1.0 - m), (1.0 - phi) * m],
            vec![
                Zone::Uniform(RValue::checked(series_r)),
                Zone::Mixed(paths.map(|r| RValue::checked(r - series_r)).to_vec()),
            ],
        )
    }
}
