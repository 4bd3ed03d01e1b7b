//! The extension module `studbay._native`.
//!
//! Every class is frozen and holds plain data, so that threads can share it. What a person at a
//! Python prompt reads is the doc comment of the item; the stub file repeats none of the names
//! that come from the registries, it is filled from them.

#![allow(clippy::needless_pass_by_value, reason = "what Python hands over arrives owned")]
#![allow(
    clippy::trivially_copy_pass_by_ref,
    clippy::unused_self,
    reason = "a method of Python takes the object, small or not, used or not"
)]
#![allow(clippy::doc_markdown, reason = "the doc comments are Python docstrings")]

mod account;
mod assessment;
mod balance;
mod batch;
mod bills;
mod bills_many;
mod climate;
mod comfort;
mod degree_days;
mod derivation;
mod doubt;
mod errors;
mod evidence;
mod files;
mod finance;
mod goal;
mod house;
mod keywords;
mod lending;
mod moisture;
mod options;
mod page;
mod places;
mod portfolio;
mod registry;
mod site;

use crate::units::UnitSystem;
use errors::refused;
use pyo3::prelude::*;

/// The unit system that a person wrote.
fn unit_system(units: &str) -> PyResult<UnitSystem> {
    UnitSystem::from_key(units)
        .ok_or_else(|| refused("units", units, "must be one of ip, si".to_owned()))
}

/// The compiled part of studbay. Import from `studbay` instead.
#[pymodule(name = "_native")]
mod native {
    #[pymodule_export]
    use super::account::Block;
    #[pymodule_export]
    use super::assessment::{Assessment, Finding};
    #[pymodule_export]
    use super::balance::BalanceSaving;
    #[pymodule_export]
    use super::batch::{Counts, Scored, ScoredStream, Table, score, score_stream};
    #[pymodule_export]
    use super::bills::{
        BillFinding, BillFit, Calibration, Proof, calibrate, fit_bills, fit_means, prove_saving,
    };
    #[pymodule_export]
    use super::bills_many::{fit_meters, prove_meters};
    #[pymodule_export]
    use super::climate::Weather;
    #[pymodule_export]
    use super::comfort::{Comfort, comfort_of};
    #[pymodule_export]
    use super::degree_days::{DegreeDays, Remark, UsualYear};
    #[pymodule_export]
    use super::derivation::{Derivation, Step};
    #[pymodule_export]
    use super::doubt::{Doubt, Shares, doubt_of, score_ranges, score_ranges_file, swings};
    #[pymodule_export]
    use super::evidence::{
        AsBuilt, HouseFile, JobsReview, control_chart, finite_interval, review_jobs, share_interval,
    };
    #[pymodule_export]
    use super::files::{FileReport, score_file};
    #[pymodule_export]
    use super::finance::{
        adjusted_internal_rate, growing_annuity, internal_rate_of_return, net_present_value,
    };
    #[pymodule_export]
    use super::goal::{BreakEven, Curve, break_even, payback_curve};
    #[pymodule_export]
    use super::house::{House, assess, restore_house};
    #[pymodule_export]
    use super::lending::{
        Funding, Inflation, Loan, LoanRate, NominalRate, RealRate, lend, pay_for_house, ways_to_pay,
    };
    #[pymodule_export]
    use super::moisture::{Moisture, moisture_of, monthly_air, permeances, saturation_pressure};
    #[pymodule_export]
    use super::options::{Comparison, OptionRow, OptionStep, compare_options};
    #[pymodule_export]
    use super::page::{
        house_json, page_shows, report, report_portfolio, report_portfolio_file, write_reports,
        write_reports_file,
    };
    #[pymodule_export]
    use super::places::{
        Place, balance_point, convert_months, hitchin_degree_days, normal_degree_days, place,
        places, report_places,
    };
    #[pymodule_export]
    use super::portfolio::{Selection, Summary, select, select_file, summarize, summarize_file};
    #[pymodule_export]
    use super::registry::{Field, Material, Result, fields, materials, results};
    #[pymodule_export]
    use super::site::{
        BuildUp, JobSheet, Rates, Walk, build_up, job_sheet, rate_fields, record_look, walk_through,
    };
    use pyo3::prelude::*;

    #[pymodule_export]
    #[expect(non_upper_case_globals, reason = "the name is Python's")]
    const __version__: &str = env!("CARGO_PKG_VERSION");

    #[pymodule_export]
    #[expect(non_upper_case_globals, reason = "the name is Python's")]
    const __commit__: Option<&str> = crate::version::COMMIT;

    #[pymodule_init]
    fn init(module: &Bound<'_, PyModule>) -> PyResult<()> {
        // What is public is for the package to say.
        module.delattr("__all__")?;
        super::assessment::add_results(module.py())
    }
}
