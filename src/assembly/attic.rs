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
    /// Transmittance through the old insulation, gaps counted, Btu/h·ft²·°F.
    pub(crate) u_bay: N,
}

/// Resistances from air to air of the part that is blown, h·ft²·°F/Btu.
#[derive(Clone, Copy, Debug)]
pub(crate) struct AtticPathsAfter<N> {
    pub(crate) joist: N,
    pub(crate) bay: N,
    pub(crate) void: N,
    /// Fill over the joists, in.
    pub(crate) fill_cover: N,
    /// Old insulation and fill together, in.
    pub(crate) top: N,
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
    let share = r_batt / bay;
    let u_bay = cx.named(&U_BAY, cx.lit(1.0) / bay + s.gap_delta_u * (share * share));
    AtticPathsBefore { joist, bay, u_bay }
}

#[inline]
pub(crate) fn attic_paths_after<C: Calc>(
    cx: &C,
    s: &OpenAttic<C::N>,
    before: &AtticPathsBefore<C::N>,
) -> AtticPathsAfter<C::N> {
    let top = s.batt_thickness_in + s.fill_depth_in;
    let fill_cover = (top - s.joist_height_in).greater(cx.lit(0.0)).lesser(s.fill_depth_in);
    let fill_cover = cx.named(&FILL_COVER, fill_cover);
    let joist = cx.named(&R_JOIST_AFTER, before.joist + fill_cover * s.fill_r_per_in);
    let bay = cx.named(&R_BAY_AFTER, before.bay + s.fill_depth_in * s.fill_r_per_in);
    let void = cx.named(&R_VOID_AFTER, s.series_r + top * s.fill_r_per_in);
    AtticPathsAfter { joist, bay, void, fill_cover, top }
}

/// Transmittance before and after, and the fibre it takes.
#[inline]
pub(crate) fn open_attic<C: Calc>(cx: &C, s: &OpenAttic<C::N>) -> SurfaceOutcome<C::N> {
    let one = cx.lit(1.0);
    let (phi, m, x) = (s.framing_fraction, s.batt_missing_fraction, s.missed_fraction);

    let before = attic_paths_before(cx, s);
    let AtticPathsBefore { joist: r_joist, u_bay, .. } = before;
    let u_before =
        cx.named(&U_BEFORE, phi / r_joist + (one - phi) * ((one - m) * u_bay + m / s.series_r));

    let AtticPathsAfter {
        joist: r_joist_after,
        bay: r_bay_after,
        void: r_void_after,
        fill_cover,
        top,
    } = attic_paths_after(cx, s, &before);
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
