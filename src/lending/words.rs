//! A way to pay in words.

use super::Funding;
use crate::readiness::Readiness;
use crate::words::{Block, REALISED, Tone, amount, percent_fine};

/// One way to pay as blocks. `currency` is a label in front of amounts.
pub fn blocks(funding: &Funding, currency: &str) -> Vec<Block> {
    let money = |value: f64| amount(value, currency);
    let mut blocks = Vec::new();
    if funding.assessment.readiness() == Readiness::Hold {
        let mut block = Block::new(Tone::Hold, "HOLD: the work must not start");
        let text = "Nothing should be signed before the hold is cleared: the assessment of the \
                    house says what, and by whom.";
        block.line("", text);
        blocks.push(block);
    }
    blocks.push(answer(funding, &money));
    blocks.push(terms(funding, &money));
    blocks.push(years(funding, &money));
    blocks
}

fn answer(funding: &Funding, money: &dyn Fn(f64) -> String) -> Block {
    let margin = funding.monthly_savings - funding.monthly_payment;
    let title = match (&funding.loan, funding.cash_positive_from_month_1, funding.covers_payment) {
        (None, ..) => format!("{}: no loan (modelled)", funding.name),
        (Some(_), true, _) => format!(
            "{}: cash-positive from month 1, by {} a month (modelled)",
            funding.name,
            money(margin)
        ),
        (Some(_), false, true) => format!(
            "{}: not cash-positive from month 1, for {} is paid at signing; then {} a month over \
             (modelled)",
            funding.name,
            money(funding.at_signing),
            money(margin)
        ),
        (Some(_), false, false) => format!(
            "{}: not cash-positive from month 1, {} a month short (modelled)",
            funding.name,
            money(-margin)
        ),
    };
    let mut block = Block::new(Tone::Answer, title);
    block.line("Saved in a month", format!("{} on even bills", money(funding.monthly_savings)));
    if funding.loan.is_some() {
        block.line("Paid in a month", money(funding.monthly_payment));
        block.line(
            "",
            "Heat is saved in winter: without even monthly bills, summer months pay the loan and \
             save nothing.",
        );
    }
    block.line("Paid at signing", money(funding.at_signing));
    let first = funding.first_year;
    block.line(
        "First twelve months",
        format!(
            "{} saved, {} of incentives come in, {} paid on the loan: {} left",
            money(first.savings),
            money(first.incentives),
            money(first.payments),
            money(first.net)
        ),
    );
    block.line("", REALISED);
    block
}

fn terms(funding: &Funding, money: &dyn Fn(f64) -> String) -> Block {
    let mut block = Block::new(Tone::Plain, "What is paid, and by whom");
    block.line("Price", money(funding.price));
    for paid in &funding.incentives {
        let when = match paid.month {
            0 => "off the price".to_owned(),
            month => format!("{month} months later"),
        };
        block.line(paid.name.replace('_', " "), format!("{}, {when}", money(paid.amount)));
    }
    for name in &funding.not_in_force {
        block.line(name.clone(), "does not hold in the year of the work");
    }
    if let Some(lost) = funding.lost_by_waiting.filter(|lost| *lost != 0.0) {
        let text = format!("would change incentives by {}", money(-lost));
        block.line("Waiting a year", text);
    }
    if let Some(loan) = &funding.loan {
        let rate = loan.rate_with_fees().map_or("none".to_owned(), |r| percent_fine(r.share()));
        block.line(
            "Loan",
            format!(
                "{} over {} months at {} a year, {} with fees (modelled: the lender's own \
                 disclosure governs)",
                money(loan.borrowed),
                loan.months,
                percent_fine(loan.rate.share()),
                rate
            ),
        );
        block.line("Fees", money(loan.fees));
        block.line("Cost of borrowing", money(loan.cost_of_credit()));
    }
    block
}

fn years(funding: &Funding, money: &dyn Fn(f64) -> String) -> Block {
    let title = format!(
        "Cash by year, in the money of its day, prices rising by {} a year (modelled)",
        percent_fine(funding.inflation.share())
    );
    let mut block = Block::new(Tone::Plain, title);
    let last = funding.years.len().saturating_sub(1);
    let owed = funding.loan.as_ref().map_or(0, |loan| usize::from(loan.months.div_ceil(12)));
    for (place, year) in funding.years.iter().enumerate() {
        let told = place <= 3 || place == owed || place == owed + 1 || place == last;
        if !told && !place.is_multiple_of(5) {
            continue;
        }
        let label = if place == 0 { "Signing".to_owned() } else { format!("Year {place}") };
        block.line(
            label,
            format!(
                "saved {}, incentives {}, paid {}: {}; so far {}",
                money(year.savings),
                money(year.incentives),
                money(year.payments),
                money(year.net),
                money(year.cumulative)
            ),
        );
    }
    block.line(
        "Net present value",
        format!(
            "{} at {} a year, which is the real rate of the house with inflation in it",
            money(funding.npv),
            percent_fine(funding.discount_rate.share())
        ),
    );
    block
}
