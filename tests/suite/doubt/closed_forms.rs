//! Draws against closed forms.

use super::*;

/// What is proportional to one input has the mean and the quantiles of that input.
#[test]
fn closed_forms_of_what_is_proportional() {
    let house = ranged("fuel_price", triangular(1.0, 1.5, 3.0)).build().unwrap();
    let point = assess(&house);
    let drawn = doubt(&house, &own_only(10_000));
    let each = point.annual_savings / 1.5;
    // Triangular: mean (a + b + c)/3; median b − sqrt((b − a)(b − c)/2) for c below the middle.
    let found = mean(drawn.values(Figure::AnnualSavings)) / each;
    assert!((found - 5.5 / 3.0).abs() < 2e-5, "{found}");
    let median: f64 = 3.0 - (2.0_f64 * 1.5 / 2.0).sqrt();
    let band = drawn.band(Figure::AnnualSavings);
    assert!((band.p50.unwrap() / each - median).abs() < 5e-4);
    let ten = 1.0 + (0.1_f64 * 2.0 * 0.5).sqrt();
    assert!((band.p10.unwrap() / each - ten).abs() < 5e-4);
    // The payback falls as the price rises: its P90 is that of the price's P10.
    let payback = drawn.band(Figure::SimplePayback);
    assert!((payback.p90.unwrap() - point.net_cost / (each * ten)).abs() < 5e-3);

    // NPV = worth × price − cost: P(NPV > 0) is the share of prices above cost over worth.
    let worth = (point.npv + point.net_cost) / 1.5;
    let house = ranged("fuel_price", uniform(0.5, 2.5)).build().unwrap();
    let drawn = doubt(&house, &own_only(10_000));
    let breaks_even = point.net_cost / worth;
    let wanted = ((2.5 - breaks_even) / 2.0).clamp(0.0, 1.0);
    assert!((drawn.chance_of_gain() - wanted).abs() < 2e-4, "{wanted}");
    // And so is the chance of paying back within N years.
    let years = 15.0;
    let wanted = ((2.5 - point.net_cost / (each * years)) / 2.0).clamp(0.0, 1.0);
    assert!(0.05 < wanted && wanted < 0.95, "{wanted}");
    assert!((drawn.chance_of_payback_within(years) - wanted).abs() < 2e-4);
}

/// Fuel saved is the product of independent inputs over a third: the mean of a product is the
/// product of means, and the variance of a product of independents is known.
#[test]
fn closed_forms_of_a_product() {
    let house = ranged("fuel_price", uniform(1.0, 2.0))
        .ranged("heating_degree_days_f", triangular(5000.0, 5600.0, 6500.0))
        .build()
        .unwrap();
    let each = assess(&house).annual_savings / 1.5 / 5600.0;
    let drawn = doubt(&house, &own_only(40_000));
    let values = drawn.values(Figure::AnnualSavings);
    let (price, days) = (1.5, 17_100.0 / 3.0);
    let average = mean(values) / each;
    assert!((average / (price * days) - 1.0).abs() < 5e-4, "{average}");
    let squares: Vec<f64> = values.iter().map(|v| (v / each) * (v / each)).collect();
    let variance = mean(&squares) - average * average;
    let (a, c, b): (f64, f64, f64) = (5000.0, 5600.0, 6500.0);
    let spread_days = (a * a + b * b + c * c - a * b - a * c - b * c) / 18.0;
    let spread_price = 1.0 / 12.0;
    let wanted =
        spread_price * spread_days + spread_price * days * days + spread_days * price * price;
    assert!((variance / wanted - 1.0).abs() < 0.01, "{variance} {wanted}");
    // Their shares: first order in closed form, the rest by both together.
    let found = shares(&house, &own_only(20_000), Figure::AnnualSavings).unwrap();
    let share = |name: &str| found.shares.iter().find(|s| s.names == [name]).unwrap();
    let first = spread_price * days * days / wanted;
    let total = (spread_price * days * days + spread_price * spread_days) / wanted;
    let price = share("fuel_price");
    assert!((price.first - first).abs() < 4.0 * price.first_error + 0.01, "{price:?} {first}");
    assert!((price.total - total).abs() < 4.0 * price.total_error + 0.01, "{price:?} {total}");
    assert!(found.shares[0].names == ["fuel_price"], "sorted");
}
