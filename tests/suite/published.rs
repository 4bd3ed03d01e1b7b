//! Every row of `published.csv`: what handbooks, regulations and manuals print.

use crate::checks::Check;
use crate::reference::rows;
use crate::samples::plain;
use crate::spec::{Fields, Spec, SurfaceSpec};
use std::collections::{BTreeMap, BTreeSet};
use studbay::assembly::{Assembly, Zone, wood_conductivity_si, wood_resistivity_ip};
use studbay::energy::air_density_ratio;
use studbay::house::assess;
use studbay::money::{
    adjusted_internal_rate, growing_annuity, internal_rate_of_return, net_present_value,
};
use studbay::tables::{AIR_HEAT_CAPACITY, FUELS, FuelRow, GWP_CH4, GWP_N2O, SOURCES};
use studbay::units::{Elevation, RValue, factor};

type Row = BTreeMap<String, String>;

/// Every kind of row there is: a kind that is not here has no test, and none may go missing.
const KINDS: [&str; 15] = [
    "air_constant",
    "air_density",
    "airr",
    "annuity",
    "bag_coverage",
    "compression_r",
    "fibre",
    "fuel_factor",
    "grid_rate",
    "irr",
    "layers_u",
    "mean_r",
    "simple_payback",
    "softwood_k",
    "wall_u",
];

struct Inputs<'r>(BTreeMap<&'r str, &'r str>);

impl<'r> Inputs<'r> {
    fn of(row: &'r Row) -> Self {
        Self(row["inputs"].split(';').map(|pair| pair.split_once('=').unwrap()).collect())
    }

    fn num(&self, name: &str) -> f64 {
        self.0.get(name).unwrap_or_else(|| panic!("no input {name}")).parse().unwrap()
    }
}

pub(crate) fn r(ip: f64) -> RValue {
    RValue::from_ip(ip).unwrap()
}

/// Resistance through layers one behind the other.
fn stacked(layers: &[f64]) -> f64 {
    let zones = layers.iter().map(|layer| Zone::Uniform(r(*layer))).collect();
    Assembly::new(vec![1.0], zones).unwrap().u_parallel_paths().to_r().ip()
}

/// A wall of one framing path and one cavity path, by every road that the library has to it: they
/// must give one value.
fn wall_u(v: &Inputs<'_>) -> f64 {
    let (phi, series) = (v.num("framing_fraction"), v.num("series_r"));
    let (frame, cavity) = (v.num("framing_r"), v.num("cavity_r"));
    let zones = vec![Zone::Uniform(r(series)), Zone::Mixed(vec![r(frame), r(cavity)])];
    let assembly = Assembly::new(vec![phi, 1.0 - phi], zones).unwrap();
    let by_assembly = assembly.u_parallel_paths().ip();

    let depth = 3.5;
    let wall = plain()
        .with("framing_fraction", phi)
        .with("series_r", series)
        .with("cavity_depth_in", depth)
        .with("framing_r_per_in", frame / depth);
    // An R below 1.5 an inch is an air space, not a batt.
    let wall = if cavity / depth < 1.5 {
        wall.with("air_space_r", cavity)
    } else {
        wall.with("batt_thickness_in", depth).with("batt_r_per_in", cavity / depth)
    };
    let by_house = assess(&wall.build()).u_before.ip();
    assert!((by_house / by_assembly - 1.0).abs() < 1e-12, "{by_house} and {by_assembly}");
    by_house
}

/// R of a squeezed batt, worked back from the transmittance of a house that is filled round it.
fn squeezed_r(v: &Inputs<'_>) -> f64 {
    let (batt_r, thick) = (v.num("r"), v.num("thickness_in"));
    let squeezed = v.num("squeezed_thickness_in");
    let (series, fill) = (3.0, 3.5);
    let house = plain()
        .with("framing_fraction", 0.0)
        .with("series_r", series)
        .with("cavity_depth_in", thick)
        .with("batt_thickness_in", thick)
        .with("batt_r_per_in", batt_r / thick)
        .with("batt_compression", 1.0 - squeezed / thick)
        .with("fill_r_per_in", fill);
    let assessment = assess(&house.build());
    assert!((assessment.u_before.to_r().ip() - series - batt_r).abs() < 1e-9);
    assessment.u_after.to_r().ip() - series - (thick - squeezed) * fill
}

pub(crate) fn fuel(key: &str) -> &'static FuelRow {
    FUELS.iter().find(|fuel| fuel.key == key).unwrap()
}

fn fuel_factor(row: &Row, v: &Inputs<'_>) -> f64 {
    match row["quantity"].as_str() {
        "kg_co2e_per_mmbtu" => {
            assert_eq!(v.num("gwp_ch4"), GWP_CH4.value);
            assert_eq!(v.num("gwp_n2o"), GWP_N2O.value);
            fuel(v.0["fuel"]).kg_co2e_per_mmbtu.unwrap()
        }
        "mmbtu_per_unit" => fuel(v.0["fuel"]).mmbtu_per_unit,
        // CO2 alone: the table's CO2e without what CH4 and N2O add to it.
        "kg_co2_per_unit" => {
            let gas = fuel("natural_gas");
            let others = 0.001 * GWP_CH4.value + 0.0001 * GWP_N2O.value;
            let co2 = gas.kg_co2e_per_mmbtu.unwrap() - others;
            assert!((co2 - v.num("kg_co2_per_mmbtu")).abs() < 1e-9);
            let per_therm = row["unit"] == "kg/therm";
            co2 * if per_therm { gas.mmbtu_per_unit } else { v.num("mmbtu_per_unit") }
        }
        "price_per_therm" => {
            let mmbtu_per_mcf = v.num("btu_per_cf") * 1000.0 / 1e6;
            v.num("price_per_mcf") / mmbtu_per_mcf * fuel("natural_gas").mmbtu_per_unit
        }
        other => panic!("no test for {other}"),
    }
}

/// The factor that a house in the subregion would use.
fn grid_rate(row: &Row, v: &Inputs<'_>) -> f64 {
    let rate = v.0["rate"];
    let house = plain().with("grid_region", v.0["region"]).with("grid_rate", rate).build();
    let grid = house.carbon().grid;
    if rate == "average" {
        return grid.kg_per_kwh();
    }
    // The page prints CO2 alone; the house counts CH4 and N2O too, which add less than 1 %.
    assert_eq!(row["quantity"], "kg_co2_per_kwh");
    let studbay::house::GridSource::Region(region, _) = grid else { panic!("no region") };
    let co2 = region.non_baseload_lb_co2_per_mwh * factor::KG_PER_LB / 1000.0;
    assert!((co2..co2 * 1.01).contains(&grid.kg_per_kwh()), "{}", region.region);
    co2
}

/// The government page's attic from R-19 to R-30, as a house: framing left out as the page does,
/// R-18 and an air space of R-1 that makes way for R-12 of fill.
fn attic_page(v: &Inputs<'_>) -> f64 {
    let (before, after, area) = (v.num("r_before"), v.num("r_after"), 1000.0);
    let house = plain()
        .with("wall_area_ft2", area)
        .with("framing_fraction", 0.0)
        .with("series_r", before - 1.0)
        .with("air_space_r", 1.0)
        .with("fill_r_per_in", (after - (before - 1.0)) / 3.5)
        .with("heating_degree_days_f", v.num("heating_degree_days_f"))
        .with("heating_efficiency", v.num("heating_efficiency"))
        .with("fuel_price", v.num("price_per_therm"))
        .with("installed_cost", v.num("cost_per_ft2") * area);
    let assessment = assess(&house.build());
    assert!((assessment.u_before.to_r().ip() - before).abs() < 1e-9);
    assert!((assessment.u_after.to_r().ip() - after).abs() < 1e-9);
    assessment.simple_payback_years.unwrap()
}

/// An open layer of fibre with no framing in it, as one who orders bags counts it.
fn blown(v: &Inputs<'_>) -> studbay::house::Assessment {
    let mut house = plain().with("bag_weight_lb", v.num("bag_weight_lb")).listed();
    let surface = SurfaceSpec {
        fields: Fields::default()
            .with("kind", "attic_floor")
            .with("area_ft2", v.num("area_ft2"))
            .with("framing_fraction", 0.0)
            .with("series_r", 1.5)
            .with("fill_depth_in", v.num("depth_in"))
            .with("fill_density_lb_ft3", v.num("density_lb_ft3"))
            .with("settling_fraction", 0.0),
        layers: Vec::new(),
    };
    house.surfaces = vec![surface];
    assess(&house.build())
}

/// Area of an empty cavity that one bag packs.
fn bag_coverage(v: &Inputs<'_>) -> f64 {
    let (area, bag) = (1000.0, v.num("bag_weight_lb"));
    let house = plain()
        .with("wall_area_ft2", area)
        .with("framing_fraction", 0.0)
        .with("cavity_depth_in", v.num("depth_in"))
        .with("fill_density_lb_ft3", v.num("density_lb_ft3"))
        .with("bag_weight_lb", bag);
    area * bag / assess(&house.build()).fill_mass.ip()
}

fn value(row: &Row) -> f64 {
    let v = &Inputs::of(row);
    let n = |name| v.num(name);
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "whole years")]
    let years = || n("life_years") as u8;
    match (row["kind"].as_str(), row["quantity"].as_str()) {
        ("wall_u", "u") => wall_u(v),
        ("wall_u", "cavity_path_r") => stacked(&[n("series_r"), n("cavity_r")]),
        ("wall_u", "framing_path_r") => stacked(&[n("series_r"), n("framing_r")]),
        ("layers_u", _) => {
            1.0 / stacked(&[n("outside_film_r"), n("inside_film_r"), n("insulation_r")])
        }
        ("mean_r", _) => {
            let zones = vec![Zone::Mixed(vec![r(n("r_1")), r(n("r_2"))])];
            let shares = vec![n("share_1"), n("share_2")];
            Assembly::new(shares, zones).unwrap().u_parallel_paths().to_r().ip()
        }
        ("softwood_k", "k_w_mk") => {
            wood_conductivity_si(n("specific_gravity"), n("moisture_percent"))
        }
        ("softwood_k", quantity) => {
            let r = wood_resistivity_ip(n("specific_gravity"), n("moisture_percent"));
            if quantity == "r_per_in" { r } else { 1.0 / r }
        }
        ("bag_coverage", _) => bag_coverage(v),
        ("fibre", "fill_mass_lb") => blown(v).fill_mass.ip(),
        ("fibre", "bags") => blown(v).bags,
        ("compression_r", _) => squeezed_r(v),
        ("air_density", _) => air_density_ratio(Elevation::from_ip(n("elevation_ft")).unwrap()),
        ("air_constant", _) => {
            let product = n("density_lb_ft3") * n("minutes_per_hour") * n("specific_heat_btu_lb_f");
            assert!((product - AIR_HEAT_CAPACITY.value).abs() < 1e-12);
            AIR_HEAT_CAPACITY.value
        }
        ("fuel_factor", _) => fuel_factor(row, v),
        ("grid_rate", _) => grid_rate(row, v),
        ("annuity", _) => growing_annuity(n("discount_rate"), n("escalation"), years()),
        ("irr", _) => {
            let flows: Vec<f64> = v.0["flows"].split(' ').map(|f| f.parse().unwrap()).collect();
            let rate = internal_rate_of_return(&flows).unwrap();
            assert!(net_present_value(rate, &flows).abs() < 1e-10 * flows[0].abs());
            rate
        }
        ("simple_payback", _) => attic_page(v),
        ("airr", _) => adjusted_internal_rate(n("discount_rate"), n("sir"), years()).unwrap(),
        (kind, quantity) => panic!("no test for {kind} {quantity}"),
    }
}

/// What a row allows; more only where said why.
fn tolerance(row: &Row, expected: f64) -> f64 {
    let own = row["abs_tol"].parse::<f64>().unwrap();
    let own = own.max(row["rel_tol"].parse::<f64>().unwrap() * expected.abs());
    match (row["kind"].as_str(), row["quantity"].as_str()) {
        // The library takes the SI form of equation 4-15, the row prints the inch-pound form:
        // the Wood Handbook's two forms agree only within 0.5 %.
        ("softwood_k", "k_btu_in_h_ft2_f") => own.max(0.005 * expected),
        // One unit in the last place of the root, 1.1e-16 (1 + irr), and of 1/v - 1.
        ("irr", _) => own.max(4.0 * f64::EPSILON),
        _ => own,
    }
}

/// The heading that a kind of row stands under in the table of checks.
fn topic(kind: &str) -> &'static str {
    match kind {
        "air_constant" | "air_density" => "Air",
        "fuel_factor" | "grid_rate" => "Fuels and carbon",
        "airr" | "annuity" | "irr" | "simple_payback" => "Money",
        "bag_coverage" | "fibre" => "Fibre and bags",
        _ => "Walls and layers",
    }
}

#[test]
fn every_published_value_is_met() {
    let mut worst: BTreeMap<String, (f64, String)> = BTreeMap::new();
    let rows = rows("published.csv");
    for row in &rows {
        let expected: f64 = row["expected"].parse().unwrap();
        let found = value(row);
        let (case, error) = (&row["case_id"], (found - expected).abs());
        let allowed = tolerance(row, expected);
        let document = SOURCES.iter().find(|source| source.id.0 == row["source_id"]).unwrap();
        Check {
            topic: topic(&row["kind"]),
            quantity: &format!("{case}: {}", row["inputs"].replace(';', ", ")).replace('_', " "),
            unit: &row["unit"],
            ours: found,
            theirs: expected,
            within: allowed,
            source: document.document,
            place: &row["locator"],
            mark: &row["mark"],
        }
        .assert();
        let worst = worst.entry(row["kind"].clone()).or_default();
        if error / allowed >= worst.0 {
            *worst = (error / allowed, format!("{case}: {found}, printed {expected}"));
        }
    }
    println!("published.csv, {} values: greatest error as a share of the tolerance", rows.len());
    for (kind, (share, case)) in worst {
        println!("  {kind:16} {share:5.2}  {case}");
    }
}

#[test]
fn every_published_value_says_where_it_comes_from() {
    let mut kinds = BTreeSet::new();
    let mut cases = BTreeSet::new();
    let rows = rows("published.csv");
    for row in &rows {
        let case = &row["case_id"];
        assert!(cases.insert(case), "{case} stands twice");
        let known = SOURCES.iter().any(|source| source.id.0 == row["source_id"]);
        assert!(known, "{case}: {} is not in the table of sources", row["source_id"]);
        assert!(!row["locator"].trim().is_empty(), "{case} has no locator");
        assert!(["S", "S2", "M", "C"].contains(&row["mark"].as_str()), "{case}: {}", row["mark"]);
        let how = row["how"].as_str();
        let hows = ["published", "hand", "exact-fraction", "high-precision"];
        assert!(hows.contains(&how), "{case}: `how` is {how}");
        kinds.insert(row["kind"].as_str());
    }
    assert_eq!(kinds, KINDS.into_iter().collect(), "kinds in the file and kinds tested");
}

/// ASHRAE Handbook of Fundamentals, 2x4 wall example (M): the same wall with its layers listed and
/// the films left to the kind of surface: 0.68 and 0.17.
#[test]
fn the_handbook_wall_layer_by_layer() {
    let mut house: Spec = plain()
        .with("batt_thickness_in", 3.5)
        .with("batt_r_per_in", 13.0 / 3.5)
        .with("framing_r_per_in", 4.38 / 3.5)
        .without("series_r")
        .listed();
    let layer = |r: f64| Fields::default().with("r", r);
    let SurfaceSpec { layers, .. } = &mut house.surfaces[0];
    // Lapped siding, foam sheathing, gypsum board.
    *layers = vec![layer(0.81), layer(4.0), layer(0.45)];
    let house = house.build();
    assert!((house.surfaces()[0].series_r().ip() - 6.11).abs() < 1e-12);
    assert!((assess(&house).u_before.ip() - 0.063).abs() < 0.0005);
}
