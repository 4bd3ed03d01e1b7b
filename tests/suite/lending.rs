//! Loans, incentives and cash: published values, closed forms, laws.

use crate::samples::{flat, plain};
use proptest::collection::vec;
use proptest::prelude::*;
use studbay::error::IssueCode;
use studbay::house::{House, assess};
use studbay::lending::{
    Circumstances, Incentive, Inflation, LoanRate, LoanTerms, NominalRate, RealRate, Tier, blocks,
    pay_for,
};
use studbay::words::Tone;

fn terms(rate: f64, months: u16) -> LoanTerms {
    LoanTerms::new("loan", LoanRate::new(rate).unwrap(), months).unwrap()
}

fn house() -> House {
    plain().with("installed_cost", 3000.0).build()
}

/// numpy-financial documentation, example of pmt (S): 200,000 at 7.5 % over 15 years.
/// Documentation of the same function of NumPy, example of ppmt (S2): 100,000 at 8.5 % over 12
/// years, principal of the first month.
#[test]
fn published_payments_are_met() {
    let loan = terms(0.075, 180).lend(200_000.0).unwrap();
    assert!((loan.payment - 1_854.024_720_005_461_9).abs() < 1e-9, "{}", loan.payment);
    let loan = terms(0.085, 144).lend(100_000.0).unwrap();
    assert!((loan.schedule()[0].principal - 401.722_230_981_176_27).abs() < 1e-9);
}

#[test]
fn without_interest_each_month_pays_its_part() {
    let loan = terms(0.0, 48).lend(2400.0).unwrap();
    assert_eq!(loan.payment, 50.0);
    assert_eq!((loan.total_paid(), loan.cost_of_credit()), (2400.0, 0.0));
    assert_eq!(loan.rate_with_fees().unwrap().share(), 0.0);
    // A fee is interest by another name.
    let feed = LoanTerms { fee: 100.0, ..terms(0.0, 48) }.lend(2400.0).unwrap();
    assert_eq!((feed.fee_at_signing, feed.cost_of_credit()), (100.0, 100.0));
    let rate = feed.rate_with_fees().unwrap().monthly();
    let worth: f64 = (1..=48).map(|m| 50.0 / (1.0 + rate).powi(m)).sum();
    assert!(rate > 0.0 && (worth - 2300.0).abs() < 1e-9, "{rate} {worth}");
    // In the loan: more is owed, nothing is paid at signing.
    let inside = LoanTerms { fee_share: 0.05, fee_in_loan: true, ..terms(0.0, 48) };
    let inside = inside.lend(2400.0).unwrap();
    assert_eq!((inside.borrowed, inside.fee_at_signing), (2520.0, 0.0));
    // Nothing lent, nothing owed; a fee that eats the loan has no rate.
    let nothing = LoanTerms { fee: 100.0, ..terms(0.05, 12) }.lend(0.0).unwrap();
    assert_eq!((nothing.payment, nothing.fees, nothing.rate_with_fees()), (0.0, 0.0, None));
    assert_eq!(LoanTerms { fee: 9e3, ..terms(0.05, 12) }.lend(1e3).unwrap().rate_with_fees(), None);
}

/// Fisher's equation by hand: 3 % real and 2 % inflation are 5.06 % nominal.
#[test]
fn rates_become_one_another_by_fisher() {
    let (real, rise) = (RealRate::new(0.03).unwrap(), Inflation::new(0.02).unwrap());
    assert!((real.nominal(rise).share() - 0.0506).abs() < 1e-15);
    assert!((NominalRate::new(0.05).unwrap().real(rise).share() - 0.03 / 1.02).abs() < 1e-15);
    assert!((Inflation::usual().share() - 0.02).abs() < 1e-15);
    // 6 % quoted is 0.5 % a month: 1.005^12 - 1.
    let yearly = LoanRate::new(0.06).unwrap().effective().share();
    assert!((yearly - 0.061_677_811_864_498).abs() < 1e-12, "{yearly}");
    assert!(LoanRate::new(7.0).is_err() && LoanRate::new(-0.01).is_err());
    assert!(Inflation::new(f64::NAN).is_err() && RealRate::new(-1.0).is_err());
}

/// 25 % of the first 2000, 50 % of what lies between 2000 and 4000, 10 % of the rest, at most 1200.
#[test]
fn tiers_and_caps_by_hand() {
    let tier = |up_to: Option<f64>, share| Tier { up_to, share };
    let tiers = vec![tier(Some(2000.0), 0.25), tier(Some(4000.0), 0.5), tier(None, 0.1)];
    let tiered = Incentive { name: "programme".to_owned(), tiers, ..Incentive::default() };
    let tiered = tiered.checked().unwrap();
    for (price, expected) in
        [(0.0, 0.0), (1000.0, 250.0), (2000.0, 500.0), (3000.0, 1000.0), (6000.0, 1700.0)]
    {
        assert_eq!(tiered.of(price), expected, "{price}");
    }
    assert_eq!(Incentive { cap: Some(1200.0), ..tiered.clone() }.of(6000.0), 1200.0);
    let fixed = Incentive { amount: 500.0, ..Incentive::default() };
    assert_eq!((fixed.of(300.0), fixed.of(3000.0)), (300.0, 500.0));
    let ended = Incentive { to_year: Some(2025), ..fixed };
    assert!(ended.holds_in(2025) && !ended.holds_in(2026) && ended.has_years());
    // Faults.
    let fault = |incentive: Incentive| incentive.checked().unwrap_err();
    let falling = vec![tier(Some(2000.0), 0.2), tier(Some(1000.0), 0.1)];
    assert_eq!(fault(Incentive { tiers: falling, ..tiered.clone() }).field, "tiers[1].up_to");
    let open = vec![tier(None, 0.2), tier(Some(1000.0), 0.1)];
    assert_eq!(fault(Incentive { tiers: open, ..tiered.clone() }).field, "tiers[0].up_to");
    let much = vec![tier(None, 1.2)];
    assert_eq!(fault(Incentive { tiers: much, ..tiered.clone() }).field, "tiers[0].share");
    let cap = Incentive { cap: Some(f64::NAN), ..tiered.clone() };
    assert_eq!(fault(cap).code, IssueCode::NotANumber);
    let years = Incentive { from_year: Some(2027), to_year: Some(2026), ..tiered };
    assert_eq!(fault(years).field, "to_year");
}

/// The rebate first, then the tax credit, then each incentive on what is left.
#[test]
fn incentives_come_one_after_the_other() {
    let house = plain()
        .with("installed_cost", 4000.0)
        .with("rebate", 1000.0)
        .with("tax_credit_fraction", 0.3)
        .with("tax_credit_cap", 600.0)
        .build();
    let half = Incentive {
        name: "half of it".to_owned(),
        tiers: vec![Tier { up_to: None, share: 0.5 }],
        to_year: Some(2026),
        ..Incentive::default()
    };
    let late = Incentive {
        name: "late".to_owned(),
        amount: 200.0,
        paid_after_months: 14,
        ..Incentive::default()
    };
    let unknown = pay_for(&house, None, std::slice::from_ref(&half), Circumstances::default());
    let unknown = unknown.unwrap_err();
    assert_eq!(unknown.issues[0].field, "work_year");
    let in_year = |year| Circumstances { work_year: Some(year), ..Circumstances::default() };
    let funding = pay_for(&house, None, &[half.clone(), late.clone()], in_year(2026)).unwrap();
    let amounts: Vec<(f64, u16)> = funding.incentives.iter().map(|p| (p.amount, p.month)).collect();
    assert_eq!(amounts, [(1000.0, 0), (1200.0, 0), (600.0, 12), (200.0, 14)]);
    assert_eq!(funding.at_signing, 1800.0);
    assert_eq!(funding.first_year.incentives, 600.0);
    assert_eq!(funding.years[2].incentives, 200.0);
    // A year later one of them is gone.
    assert!((funding.lost_by_waiting.unwrap() - 1200.0).abs() < 1e-9);
    let later = pay_for(&house, None, &[half, late], in_year(2027)).unwrap();
    assert_eq!(later.not_in_force, ["half of it"]);
    assert_eq!(later.at_signing, 3000.0);
}

#[test]
fn cash_positive_from_month_1_or_not() {
    let house = house();
    let month = assess(&house).annual_savings / 12.0;
    let fund = |terms: &LoanTerms| pay_for(&house, Some(terms), &[], Circumstances::default());
    // As many months as the simple payback and a little more: the saving covers the payment.
    let payback = assess(&house).simple_payback_years.unwrap() * 12.0;
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "some months")]
    let months = payback.ceil() as u16;
    let long = fund(&terms(0.0, months)).unwrap();
    assert!(long.cash_positive_from_month_1 && long.covers_payment);
    assert_eq!(long.at_signing, 0.0);
    assert!((long.monthly_payment - 3000.0 / f64::from(months)).abs() < 1e-9);
    assert_eq!(long.monthly_savings, month);
    let short = fund(&terms(0.0, months - 2)).unwrap();
    assert!(!short.cash_positive_from_month_1 && !short.covers_payment);
    let by_hand = 12.0 * (month - 3000.0 / f64::from(months - 2));
    assert!((short.first_year.net - by_hand).abs() < 1e-9 || months < 14);
    // Covered each month, but something is paid at signing.
    let paid = LoanTerms { down_payment: 100.0, ..terms(0.0, months) };
    let paid = fund(&paid).unwrap();
    assert!(paid.covers_payment && !paid.cash_positive_from_month_1);
    assert_eq!(paid.at_signing, 100.0);
    let beyond = LoanTerms { down_payment: 3001.0, ..terms(0.0, months) };
    assert_eq!(fund(&beyond).unwrap_err().issues[0].field, "down_payment");
    for funding in [&long, &short, &paid] {
        let told = blocks(funding, "$");
        assert!(told[0].title.contains("month 1") && told[0].title.contains("modelled"));
    }
    // A fill that saves nothing covers nothing, even where it is free.
    let idle = plain().with("heating_degree_days_f", 0.0).with("installed_cost", 0.0).build();
    let idle = pay_for(&idle, Some(&terms(0.05, 60)), &[], Circumstances::default()).unwrap();
    assert!(!idle.cash_positive_from_month_1);
    let held = plain().with("knob_and_tube", "yes").build();
    let held = pay_for(&held, None, &[], Circumstances::default()).unwrap();
    assert_eq!(blocks(&held, "$")[0].tone, Tone::Hold);
}

#[cfg(feature = "house-file")]
#[test]
fn a_house_file_states_loans_and_incentives() {
    use studbay::house::Raw;
    use studbay::lending::{incentives_of, loans_of};
    let text = "[[loans]]\nname = \"bank\"\nannual_rate = 0.07\nyears = 5\nfee = 50\n\
                [[incentives]]\nname = \"a\"\ncap = 900\ntiers = [{ up_to = 1000, share = 0.5 }, { share = 0.1 }]\nto_year = 2026\n";
    let raw: Raw = toml::from_str(text).unwrap();
    let loans = loans_of(&raw).unwrap();
    assert_eq!((loans[0].months, loans[0].fee, loans[0].rate.share()), (60, 50.0, 0.07));
    let incentives = incentives_of(&raw).unwrap();
    assert_eq!((incentives[0].of(3000.0), incentives[0].to_year), (700.0, Some(2026)));
    let house = House::from_toml(&format!("{}\n{text}", plain().to_toml())).unwrap();
    assert_eq!(house, plain().build());
    for (lines, field, code) in [
        ("[[loans]]\nname = \"b\"\nmonths = 12", "annual_rate", IssueCode::Missing),
        ("[[loans]]\nname = \"b\"\nannual_rate = 0.1", "months", IssueCode::Missing),
        (
            "[[loans]]\nname = \"b\"\nannual_rate = 7\nyears = 5",
            "annual_rate",
            IssueCode::OutOfRange,
        ),
        (
            "[[loans]]\nname = \"b\"\nannual_rate = \"7%\"\nyears = 5",
            "annual_rate",
            IssueCode::NotANumber,
        ),
        (
            "[[loans]]\nname = \"b\"\nannual_rate = 0\nyears = 5\nmonths = 3",
            "months",
            IssueCode::GivenTwice,
        ),
        ("[[loans]]\nname = \"b\"\nannual_rate = 0\nmonths = 1.5", "months", IssueCode::OutOfRange),
        (
            "[[loans]]\nname = \"b\"\nannual_rate = 0\nmonths = 12\nfee = -1",
            "fee",
            IssueCode::OutOfRange,
        ),
        (
            "[[loans]]\nname = \"b\"\nannual_rate = 0\nmonths = 12\nfees = 1",
            "fees",
            IssueCode::UnknownName,
        ),
        ("[[loans]]\nannual_rate = 0\nmonths = 12", "name", IssueCode::Missing),
        ("loans = [1]", "", IssueCode::WrongType),
    ] {
        let raw: Raw = toml::from_str(lines).unwrap();
        let error = loans_of(&raw).unwrap_err();
        let issue = &error.issues[0];
        let path =
            if field.is_empty() { "loans[0]".to_owned() } else { format!("loans[0].{field}") };
        assert_eq!((issue.field.as_str(), issue.code), (path.as_str(), code), "{error}");
    }
    for (lines, field) in [
        ("[[incentives]]\nname = \"b\"", "incentives[0].amount"),
        ("[[incentives]]\nname = \"b\"\nshare = 0.1\ntiers = []", "incentives[0].tiers"),
        ("[[incentives]]\nname = \"b\"\ntiers = [{ up_to = 5 }]", "incentives[0].tiers[0].share"),
        ("[[incentives]]\nname = \"b\"\nshare = 2", "incentives[0].tiers[0].share"),
        ("[[incentives]]\nname = \"b\"\namount = 5\nto_year = 26", "incentives[0].to_year"),
    ] {
        let raw: Raw = toml::from_str(lines).unwrap();
        let error = incentives_of(&raw).unwrap_err();
        assert_eq!(error.issues[0].field, field, "{error}");
    }
}

proptest! {
    #[test]
    fn payments_pay_the_loan_off(
        amount in 1.0..1e6_f64, rate in 0.0..0.4_f64, months in 1_u16..=600
    ) {
        let loan = terms(rate, months).lend(amount).unwrap();
        let schedule = loan.schedule();
        prop_assert_eq!(schedule.len(), usize::from(months));
        let paid: f64 = schedule.iter().map(|month| month.principal).sum();
        prop_assert!((paid - amount).abs() <= 1e-9 * amount);
        let last = schedule.last().unwrap();
        prop_assert_eq!(last.balance, 0.0);
        // The last payment is the same as the others but for rounding, which interest magnifies.
        let room = 1e-11 * amount * (1.0 + rate / 12.0).powi(i32::from(months)).min(1e6);
        prop_assert!((last.payment - loan.payment).abs() <= room, "{} {}", last.payment, loan.payment);
        for month in &schedule {
            prop_assert!((month.interest + month.principal - month.payment).abs() <= 1e-9 * amount);
            prop_assert!(month.interest >= 0.0 && month.principal >= 0.0);
        }
        // Without fees the rate with fees is the rate.
        let again = loan.rate_with_fees().unwrap().share();
        prop_assert!((again - rate).abs() < 1e-9, "{} {}", again, rate);
        // The closed form of the textbook.
        if rate > 1e-4 {
            let i = rate / 12.0;
            let by_hand = amount * i / (1.0 - (1.0 + i).powi(-i32::from(months)));
            prop_assert!((loan.payment / by_hand - 1.0).abs() < 1e-10);
        }
    }

    #[test]
    fn fisher_goes_there_and_back(real in -0.2..0.5_f64, rise in -0.1..0.3_f64) {
        let rise = Inflation::new(rise).unwrap();
        let there = RealRate::new(real).unwrap().nominal(rise);
        prop_assert!((there.real(rise).share() - real).abs() < 1e-14);
    }

    /// Paid at once and without a tax credit, nominal cash at the nominal rate is worth what real
    /// cash is at the real rate, whatever inflation is.
    #[test]
    fn nominal_and_real_agree(spec in flat(), rise in -0.05..0.15_f64) {
        let house = spec.without("tax_credit_fraction").build();
        let circumstances =
            Circumstances { inflation: Inflation::new(rise).unwrap(), ..Circumstances::default() };
        let funding = pay_for(&house, None, &[], circumstances).unwrap();
        let a = assess(&house);
        let size = a.net_cost + a.lifetime_savings.abs() + (a.npv + a.net_cost).abs()
            + a.annual_savings.abs();
        prop_assert!((funding.npv - a.npv).abs() <= 1e-10 * size, "{} {}", funding.npv, a.npv);
        let last = funding.years.last().unwrap();
        prop_assert!(
            (last.cumulative_real - (a.lifetime_savings - a.net_cost)).abs() <= 1e-10 * size
        );
    }

    /// A loan at the rate by which its payments are discounted changes nothing.
    #[test]
    fn a_loan_at_the_discount_rate_is_neutral(rate in 0.001..0.2_f64, months in 1_u16..=240) {
        let quoted = LoanRate::new(rate).unwrap();
        let rise = Inflation::new(0.02).unwrap();
        let real = quoted.effective().real(rise).share();
        let house = plain().with("installed_cost", 3000.0).with("discount_rate", real).build();
        let circumstances = Circumstances { inflation: rise, ..Circumstances::default() };
        let cash = pay_for(&house, None, &[], circumstances).unwrap();
        let loan = pay_for(&house, Some(&terms(rate, months)), &[], circumstances).unwrap();
        prop_assert!((cash.npv - loan.npv).abs() < 1e-7, "{} {}", cash.npv, loan.npv);
        // Every payment is in some year.
        let paid: f64 = loan.years.iter().map(|year| year.payments).sum();
        prop_assert!((paid - loan.loan.as_ref().unwrap().total_paid()).abs() < 1e-6);
    }

    /// An incentive never exceeds the price or its cap, and rises with the price.
    #[test]
    fn incentives_are_bounded(
        shares in vec(0.0..=1.0_f64, 0..4), amount in 0.0..2000.0_f64, cap in 0.0..3000.0_f64,
        price in 0.0..10_000.0_f64, more in 0.0..1000.0_f64
    ) {
        let last = shares.len().saturating_sub(1);
        let tier = |(place, share): (usize, &f64)| Tier {
            up_to: (place < last).then(|| 1000.0 * (1.0 + f64::from(u8::try_from(place).unwrap()))),
            share: *share,
        };
        let tiers = shares.iter().enumerate().map(tier).collect();
        let incentive = Incentive { amount, tiers, cap: Some(cap), ..Incentive::default() };
        let incentive = incentive.checked().unwrap();
        let paid = incentive.of(price);
        prop_assert!((0.0..=price.min(cap)).contains(&paid));
        prop_assert!(incentive.of(price + more) >= paid - 1e-9);
    }
}
