//! From layers to transmittance: the packed cavity, the open attic floor, and any layered assembly.

mod air_space;
mod attic;
mod layered;
mod packed;
mod wood;

pub(crate) use air_space::HeatFlow;
pub(crate) use attic::{OpenAttic, attic_paths_after, attic_paths_before, open_attic};
pub use layered::{Assembly, AssemblyFault, Zone};
pub(crate) use packed::{PackedCavity, fill_resistivity, packed_cavity, paths_after, paths_before};
pub use wood::{wood_conductivity_si, wood_resistivity_ip};

use crate::source::{Citation, Mark};

/// Where the parallel-path sum comes from.
pub(crate) const PARALLEL_PATHS: Citation =
    Citation::new("ashrae_hof", "overall thermal resistance, parallel-path method", Mark::Memory);
/// Where the correction for gaps round a batt comes from.
pub(crate) const GAP_CORRECTION: Citation =
    Citation::new("iso_6946", "annex, correction for air voids", Mark::Memory);
/// Where the resistance of a squeezed batt comes from.
pub(crate) const BATT_COMPRESSION: Citation =
    Citation::new("batt_compression_chart", "fitted curve k(x)", Mark::Derived);

/// What a surface loses before and after, and what fibre it takes.
#[derive(Clone, Copy, Debug)]
pub(crate) struct SurfaceOutcome<N> {
    /// Btu/h·ft²·°F.
    pub(crate) u_before: N,
    /// Btu/h·ft²·°F.
    pub(crate) u_saved: N,
    /// Btu/h·ft²·°F.
    pub(crate) u_after: N,
    /// Depth of fibre spread over the whole area, in.
    pub(crate) mean_fill_depth: N,
}
