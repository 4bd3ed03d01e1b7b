//! A framed cavity, packed with fibre round whatever batt is there.

use super::{BATT_COMPRESSION, GAP_CORRECTION, HeatFlow, PARALLEL_PATHS, SurfaceOutcome};
use crate::numeric::{Calc, Function, Label, Num};
use crate::source::{Citation, Mark};
use crate::tables::{
    BATT_K_CONSTANT, BATT_K_INVERSE, BATT_K_LINEAR, FILL_DENSITY_REFERENCE,
    FILL_R_PER_IN_REFERENCE, FILL_R_SLOPE,
};
use crate::units::Quantity::{Length, Number, Resistance, Resistivity, Transmittance};

/// What the arithmetic needs of a packed surface, in inch-pound units.
#[derive(Clone, Copy, Debug)]
pub(crate) struct PackedCavity<N: Num> {
    pub(crate) heat_flow: HeatFlow,
    pub(crate) framing_fraction: N,
    pub(crate) depth_in: N,
    pub(crate) framing_r_per_in: N,
    /// All layers outside the cavity and both films.
    pub(crate) series_r: N,
    pub(crate) batt_thickness_in: N,
    pub(crate) batt_r_per_in: N,
    pub(crate) batt_missing_fraction: N,
    /// Btu/h·ft²·°F.
    pub(crate) gap_delta_u: N,
    /// Whether the resistance of the air in the cavity was given.
    pub(crate) air_r_given: N::Mask,
    pub(crate) air_r: N,
    pub(crate) fill_r_per_in: N,
    pub(crate) batt_compression: N,
    pub(crate) missed_fraction: N,
}

static R_FRAME: Label =
    Label::new("r_frame", "resistance through the framing", Resistance).cite(PARALLEL_PATHS);
static AIR_GAP: Label = Label::new("air_gap_in", "air space left beside the batt", Length);
static R_BATT: Label = Label::new("r_batt", "resistance of the batt as it is", Resistance);
static R_BATT_PATH: Label =
    Label::new("r_batt_path", "resistance through batt and air space", Resistance)
        .cite(PARALLEL_PATHS);
static R_VOID_PATH: Label =
    Label::new("r_void_path", "resistance where there is no batt", Resistance).cite(PARALLEL_PATHS);
static U_BATT_PATH: Label =
    Label::new("u_batt_path", "transmittance through the batt, gaps counted", Transmittance)
        .cite(GAP_CORRECTION);
static U_CAVITY_0: Label =
    Label::new("u_cavity_before", "transmittance of the cavity now", Transmittance);
static U_BEFORE: Label =
    Label::new("u_before", "transmittance of the surface now", Transmittance).cite(PARALLEL_PATHS);
static BATT_AFTER: Label =
    Label::new("batt_thickness_after_in", "thickness of the batt once squeezed", Length);
static R_BATT_AFTER: Label =
    Label::new("r_batt_after", "resistance of the batt once squeezed", Resistance)
        .cite(BATT_COMPRESSION);
static R_FILL_BATT: Label =
    Label::new("r_fill_batt", "resistance through batt and fill", Resistance).cite(PARALLEL_PATHS);
static R_FILL_VOID: Label =
    Label::new("r_fill_void", "resistance through fill alone", Resistance).cite(PARALLEL_PATHS);
static U_FILLED: Label = Label::new("u_filled", "transmittance of a filled cavity", Transmittance);
static U_SAVED: Label = Label::new(
    "u_saved",
    "transmittance saved: the framing and the missed cavities stay as they were",
    Transmittance,
);
static U_AFTER: Label =
    Label::new("u_after", "transmittance of the surface after", Transmittance).cite(PARALLEL_PATHS);
static MEAN_FILL_DEPTH: Label =
    Label::new("mean_fill_depth_in", "depth of fibre spread over the whole area", Length);
static SQUEEZE: Label = Label::new("squeeze", "thickness of the batt before over after", Number);
static FILL_R: Label = Label::new(
    "fill_r_per_in",
    "resistance of the fill for each inch, by its density",
    Resistivity,
)
.cite(Citation::new("ashrae_hof", "material table, cellulose loose fill", Mark::Memory));

/// Resistance of an inch of dense-packed cellulose by its density: it falls as density rises.
#[inline(always)]
pub(crate) fn fill_resistivity<C: Calc>(cx: &C, density_lb_ft3: C::N) -> C::N {
    let r = cx.constant(&FILL_R_PER_IN_REFERENCE)
        - cx.constant(&FILL_R_SLOPE) * (density_lb_ft3 - cx.constant(&FILL_DENSITY_REFERENCE));
    cx.named(&FILL_R, r)
}

/// k(x), the conductivity of a squeezed batt against its thickness ratio x, to a common scale.
struct BattConductivity;

impl Function<1> for BattConductivity {
    const NAME: &'static str = "k";
    const FORMULA: &'static str = "k(x) = 0.0829 + 0.0341 x + 0.1982/x";

    #[inline(always)]
    fn eval<N: Num>([x]: [N; 1]) -> N {
        x.like(BATT_K_CONSTANT.value)
            + x.like(BATT_K_LINEAR.value) * x
            + x.like(BATT_K_INVERSE.value) / x
    }
}

/// Resistances from air to air before the work, h·ft²·°F/Btu.
#[derive(Clone, Copy, Debug)]
pub(crate) struct PathsBefore<N> {
    pub(crate) frame: N,
    pub(crate) batt: N,
    pub(crate) void: N,
    /// Of the batt alone.
    pub(crate) r_batt: N,
    /// Transmittance through batt and air, gaps counted, Btu/h·ft²·°F.
    pub(crate) u_batt: N,
}

/// Resistances from air to air of a filled cavity, h·ft²·°F/Btu. The framing keeps its own.
#[derive(Clone, Copy, Debug)]
pub(crate) struct PathsAfter<N> {
    pub(crate) batt: N,
    pub(crate) void: N,
    /// Of the squeezed batt alone.
    pub(crate) r_batt: N,
    /// Fill beside the squeezed batt, in.
    pub(crate) fill_beside_batt: N,
}

/// Resistance of the air in the cavity. A batt as deep as the cavity leaves none, whatever
/// resistance was given for it.
#[inline(always)]
fn air_r<C: Calc>(cx: &C, s: &PackedCavity<C::N>, gap_in: C::N) -> C::N {
    let given = s.air_r_given & cx.lit(0.0).less(gap_in);
    C::N::select(given, s.air_r, s.heat_flow.air_layer(cx, gap_in))
}

#[inline(always)]
pub(crate) fn paths_before<C: Calc>(cx: &C, s: &PackedCavity<C::N>) -> PathsBefore<C::N> {
    let frame = cx.named(&R_FRAME, s.series_r + s.depth_in * s.framing_r_per_in);
    let gap = cx.named(&AIR_GAP, s.depth_in - s.batt_thickness_in);
    let r_batt = cx.named(&R_BATT, s.batt_thickness_in * s.batt_r_per_in);
    let batt = cx.named(&R_BATT_PATH, s.series_r + r_batt + air_r(cx, s, gap));
    let void = cx.named(&R_VOID_PATH, s.series_r + air_r(cx, s, s.depth_in));
    let share = r_batt / batt;
    let u_batt = cx.named(&U_BATT_PATH, cx.lit(1.0) / batt + s.gap_delta_u * (share * share));
    PathsBefore { frame, batt, void, r_batt, u_batt }
}

#[inline(always)]
pub(crate) fn paths_after<C: Calc>(
    cx: &C,
    s: &PackedCavity<C::N>,
    r_batt_before: C::N,
) -> PathsAfter<C::N> {
    let one = cx.lit(1.0);
    let kept = one - s.batt_compression;
    let batt_after = cx.named(&BATT_AFTER, s.batt_thickness_in * kept);
    let squeeze = cx.named(&SQUEEZE, one / kept);
    let k_ratio = cx.call::<BattConductivity, 1>([one]) / cx.call::<BattConductivity, 1>([squeeze]);
    let r_batt = cx.named(&R_BATT_AFTER, r_batt_before * kept * k_ratio);
    let fill_beside_batt = s.depth_in - batt_after;
    let batt = cx.named(&R_FILL_BATT, s.series_r + r_batt + fill_beside_batt * s.fill_r_per_in);
    let void = cx.named(&R_FILL_VOID, s.series_r + s.depth_in * s.fill_r_per_in);
    PathsAfter { batt, void, r_batt, fill_beside_batt }
}

/// Transmittance before and after, and the fibre it takes.
#[inline(always)]
pub(crate) fn packed_cavity<C: Calc>(cx: &C, s: &PackedCavity<C::N>) -> SurfaceOutcome<C::N> {
    let one = cx.lit(1.0);
    let PathsBefore { frame: r_frame, void: r_void_path, r_batt, u_batt: u_batt_path, .. } =
        paths_before(cx, s);
    let m = s.batt_missing_fraction;
    let u_cavity_before = cx.named(&U_CAVITY_0, (one - m) * u_batt_path + m / r_void_path);
    let phi = s.framing_fraction;
    let u_before = cx.named(&U_BEFORE, phi / r_frame + (one - phi) * u_cavity_before);

    let PathsAfter { batt: r_fill_batt, void: r_fill_void, fill_beside_batt, .. } =
        paths_after(cx, s, r_batt);
    let u_filled = cx.named(&U_FILLED, (one - m) / r_fill_batt + m / r_fill_void);
    let x = s.missed_fraction;
    // The difference is taken before the shares are: where nothing changes it is exactly 0, which
    // the difference of two sums would miss by a rounding and print as a payback.
    let u_saved = cx.named(&U_SAVED, (one - phi) * (one - x) * (u_cavity_before - u_filled));
    let u_after = cx.named(&U_AFTER, u_before - u_saved);

    let mean_fill_depth = cx.named(
        &MEAN_FILL_DEPTH,
        (one - phi) * (one - x) * ((one - m) * fill_beside_batt + m * s.depth_in),
    );
    SurfaceOutcome { u_before, u_saved, u_after, mean_fill_depth }
}
