//! How a fit came about, line by line, for a reader who checks with a pocket calculator.

use super::{Fit, Form, NormalYear};
use crate::numeric::number;
use crate::tables::{BILLS_CV_RMSE_LIMIT, BILLS_NMBE_LIMIT, BILLS_READINGS_BEST, NORMAL_YEAR_DAYS};
use std::fmt::Write as _;

/// The derivation of a fit: every reading with its degree-days, then each figure with its formula,
/// its numbers and its source.
#[expect(clippy::too_many_lines, reason = "a page, from top to bottom")]
pub fn explain(fit: &Fit, normal: Option<&NormalYear>) -> String {
    let mut out = String::new();
    let (form, params) = (fit.options.form, &fit.params);
    let unit = fit.fuel.row().unit;
    let _ = writeln!(out, "Readings, in {unit}");
    let _ = writeln!(
        out,
        "  {:<10} {:>5} {:>10} {:>10} {:>8} {:>8} {:>10} {:>10}",
        "from", "days", "use", "a day", "mean °F", "h °F", "fitted", "error"
    );
    for sample in &fit.samples {
        let start = sample.dates.map_or_else(String::new, |(start, _)| start.to_string());
        let h = match form {
            Form::Straight => "-".to_owned(),
            _ => format!("{:.3}", sample.heating_f(params.heating_change_f)),
        };
        let fitted = fit.fitted(sample);
        let _ = writeln!(
            out,
            "  {start:<10} {:>5} {:>10.3} {:>10.4} {:>8.2} {h:>8} {fitted:>10.4} {:>10.4}",
            sample.days,
            sample.amount,
            sample.rate(),
            sample.mean_f,
            sample.rate() - fitted
        );
    }
    let mut line = |symbol: &str, what: &str, formula: &str, value: String, source: &str| {
        let _ = writeln!(out, "\n  {symbol}: {what}\n    = {formula}\n    = {value}");
        if !source.is_empty() {
            let _ = writeln!(out, "    source: {source}");
        }
    };
    match form {
        Form::Straight => {
            line(
                "use a day",
                "straight line over the mean temperature T of each reading",
                "a - b T, least squares, each reading weighted by its days",
                format!("{} - {} T, T in °F", number(params.base), number(params.heating_slope)),
                "",
            );
        }
        Form::Heating | Form::HeatingCooling => {
            let cooling = if form == Form::HeatingCooling { " + β_c c(τ_c)" } else { "" };
            line(
                "use a day",
                "base load and heating by the degree-days a day of each reading at the change point",
                &format!(
                    "α + β h(τ){cooling}, h(τ) = mean over the days of max(0, τ - T); least squares, \
                     each reading weighted by its days"
                ),
                format!("{} + {} h", number(params.base), number(params.heating_slope)),
                "",
            );
            line(
                "τ",
                "change point: the exact least sum of squares over all its values",
                "on each stretch between two daily temperatures h is linear in τ, and the least \
                 value is at the free solution or at an end; all stretches are compared",
                format!(
                    "{} °F, standard error {} °F",
                    number(params.heating_change_f),
                    number(fit.errors.heating_change_f)
                ),
                "",
            );
            if form == Form::HeatingCooling {
                line(
                    "τ_c",
                    "change point of cooling, found with the other",
                    "each by the exact search with the other held, then both together",
                    format!(
                        "{} °F, β_c = {}",
                        number(params.cooling_change_f),
                        number(params.cooling_slope)
                    ),
                    "",
                );
            }
        }
    }
    line(
        "standard errors",
        "of base load and slope, with the change point as free as they are",
        "roots of the diagonal of s² (JᵀWJ)⁻¹, s² = Σ days e² / (n - p)",
        format!("{}, {}", number(fit.errors.base), number(fit.errors.heating_slope)),
        "",
    );
    line(
        "R²",
        "share of the variation that the fit explains",
        "1 - Σ days e² / Σ days (use a day - mean)²",
        number(fit.r2),
        "",
    );
    line(
        "CV(RMSE)",
        "spread of the errors over the mean use",
        "√(Σ days e² / Σ days · n / (n - p)) / mean",
        format!("{}, limit {}", number(fit.cv_rmse), number(BILLS_CV_RMSE_LIMIT.value)),
        &BILLS_CV_RMSE_LIMIT.citation.to_string(),
    );
    line(
        "NMBE",
        "bias of the fit over the mean use",
        "Σ days e / Σ days · n / (n - p) / mean",
        format!("{}, limit {}", number(fit.nmbe), number(BILLS_NMBE_LIMIT.value)),
        &BILLS_NMBE_LIMIT.citation.to_string(),
    );
    line(
        "n",
        "readings; p is the number of parameters",
        "counted",
        format!("{}, p = {}", fit.readings(), form.parameters()),
        &BILLS_READINGS_BEST.citation.to_string(),
    );
    if let Some(normal) = normal {
        let year = fit.annual(normal);
        let formula = match form {
            Form::Straight => format!("365 (a - b T), T = {} °F", number(normal.mean_f())),
            _ => format!(
                "365 · {} + {} · H₀, H₀ = {} °F·day at {} °F",
                number(params.base),
                number(params.heating_slope),
                number(normal.heating_degree_days_f(params.heating_change_f)),
                number(params.heating_change_f)
            ),
        };
        line(
            "NAC",
            "use of a usual year",
            &formula,
            format!("{} {unit}", number(year.total)),
            &NORMAL_YEAR_DAYS.citation.to_string(),
        );
    }
    if fit.options.resamples > 0 {
        line(
            "intervals",
            "expanded percentile intervals of a bootstrap of residuals",
            "residuals over √(1 - leverage), centred, drawn anew; ends at the shares Φ(-t)",
            format!(
                "level {}, {} resamples, seed {}, stream {:?}",
                number(fit.options.level),
                fit.options.resamples,
                fit.options.seed,
                fit.options.stream
            ),
            "",
        );
    }
    out.push_str("\nMeasured use, fitted; the usual year is a calculation.\n");
    out
}
