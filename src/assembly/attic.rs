//! An open attic floor: fibre blown over what is there, at the density it settles to.
//!
//! Nothing is enclosed, so there is no air space, no packing and no squeezed batt. The fibre
//! levels off: where the old insulation is missing it lies deeper. It also covers the joists once
//! it stands higher than they do.

use super::{GAP_CORRECTION, PARALLEL_PATHS, SurfaceOutcome};
use crate::numeric::{Calc, Label, Num};
use crate::units::Quantity::{Length, Resistance, Transmittance};

/// What the arithmetic needs of an attic floor, in inch-pound units.
#[derive(Clone, Copy, Debug)]
pub(crate) struct OpenAttic<N> {
    pub(crate) framing_fraction: N,
    pub(crate) joist_height_in: N,
    pub(crate) framing_r_per_in: N,
    /// The ceiling's layers and both films.
    pub(crate) series_r: N,
    pub(crate) batt_thickness_in: N,
    pub(crate) batt_r_per_in: N,
    pub(crate) batt_missing_fraction: N,
    /// Btu/h·ft²·°F.
    pub(crate) gap_delta_u: N,
    /// After settling.
    pub(crate) fill_depth_in: N,
    pub(crate) fill_r_per_in: N,
    pub(crate) missed_fraction: N,
}

static COVER: Label =
    Label::new("joist_cover_before_in", "old insulation above the joists", Length);
static FILL_COVER: Label = Label::new("joist_cover_fill_in", "fill above the joists", Length);
static R_JOIST: Label =
    Label::new("r_joist", "resistance through the joists now", Resistance).cite(PARALLEL_PATHS);
static R_BATT: Label = Label::new("r_batt", "resistance of the old insulation", Resistance);
static R_BAY: Label = Label::new("r_bay", "resistance through the old insulation now", Resistance)
    .cite(PARALLEL_PATHS);
static U_BAY: Label = Label::new("u_bay", "transmittance through it, gaps counted", Transmittance)
    .cite(GAP_CORRECTION);
static U_BEFORE: Label =
    Label::new("u_before", "transmittance of the surface now", Transmittance).cite(PARALLEL_PATHS);
static R_JOIST_AFTER: Label =
    Label::new("r_joist_after", "resistance through the joists after", Resistance);
static R_BAY_AFTER: Label =
    Label::new("r_bay_after", "resistance through old insulation and fill", Resistance);
static R_VOID_AFTER: Label =
    Label::new("r_void_after", "resistance where the fill lies alone", Resistance);
static U_BLOWN: Label =
    Label::new("u_blown", "transmittance of the part that is blown", Transmittance)
        .cite(PARALLEL_PATHS);
static U_SAVED: Label =
    Label::new("u_saved", "transmittance saved: the missed part stays as it was", Transmittance);
static U_AFTER: Label = Label::new("u_after", "transmittance of the surface after", Transmittance);
static MEAN_FILL_DEPTH: Label =
    Label::new("mean_fill_depth_in", "settled depth of fibre spread over the whole area", Length);

/// Resistances from air to air before the work, h·ft²·°F/Btu. Where nothing lies, it is `series_r`.
#[derive(Clone, Copy, Debug)]
pub(crate) struct AtticPathsBefore<N> {
    pub(crate) joist: N,
    pub(crate) bay: N,
    /// Of the old insulation alone.
    pub(crate) r_batt: N,
}

#[inline]
pub(crate) fn attic_paths_before<C: Calc>(cx: &C, s: &OpenAttic<C::N>) -> AtticPathsBefore<C::N> {
    let cover = (s.batt_thickness_in - s.joist_height_in).greater(cx.lit(0.0));
    let cover = cx.named(&COVER, cover);
    let joist = cx.named(
        &R_JOIST,
        s.series_r + s.joist_height_in * s.framing_r_per_in + cover * s.batt_r_per_in,
    );
    let r_batt = cx.named(&R_BATT, s.batt_thickness_in * s.batt_r_per_in);
    let bay = cx.named(&R_BAY, s.series_r + r_batt);
    AtticPathsBefore { joist, bay, r_batt }
}

/// Transmittance before and after, and the fibre it takes.
#[inline]
pub(crate) fn open_attic<C: Calc>(cx: &C, s: &OpenAttic<C::N>) -> SurfaceOutcome<C::N> {
    let (zero, one) = (cx.lit(0.0), cx.lit(1.0));
    let (phi, m, x) = (s.framing_fraction, s.batt_missing_fraction, s.missed_fraction);

    let AtticPathsBefore { joist: r_joist, bay: r_bay, r_batt } = attic_paths_before(cx, s);
    let share = r_batt / r_bay;
    let u_bay = cx.named(&U_BAY, one / r_bay + s.gap_delta_u * (share * share));
    let u_before =
        cx.named(&U_BEFORE, phi / r_joist + (one - phi) * ((one - m) * u_bay + m / s.series_r));

    let top = s.batt_thickness_in + s.fill_depth_in;
    let fill_cover =
        cx.named(&FILL_COVER, (top - s.joist_height_in).greater(zero).lesser(s.fill_depth_in));
    let r_joist_after = cx.named(&R_JOIST_AFTER, r_joist + fill_cover * s.fill_r_per_in);
    let r_bay_after = cx.named(&R_BAY_AFTER, r_bay + s.fill_depth_in * s.fill_r_per_in);
    let r_void_after = cx.named(&R_VOID_AFTER, s.series_r + top * s.fill_r_per_in);
    let u_blown = cx.named(
        &U_BLOWN,
        phi / r_joist_after + (one - phi) * ((one - m) / r_bay_after + m / r_void_after),
    );
    let u_saved = cx.named(&U_SAVED, (one - x) * (u_before - u_blown));
    let u_after = cx.named(&U_AFTER, u_before - u_saved);

    let mean_fill_depth = cx.named(
        &MEAN_FILL_DEPTH,
        (one - x) * ((one - phi) * ((one - m) * s.fill_depth_in + m * top) + phi * fill_cover),
    );
    SurfaceOutcome { u_before, u_saved, u_after, mean_fill_depth }
}
