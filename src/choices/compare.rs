//! Options side by side, and the step from each to the next dearer one.

use super::prepare::prepare;
use super::{Choice, MOST_OPTIONS, OptionSpec, Work, path};
use crate::doubt::{Figure, Sampling, doubt};
use crate::error::{InputError, Issue, IssueCode};
use crate::house::{Assessment, House, IdleCost, assess, idle_cost, money_of};
use crate::readiness::{Finding, Weight};

/// What an option adds over the next cheaper one that is worth considering.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Step {
    /// The row that it is compared with.
    pub over: usize,
    /// Net cost on top.
    pub net_cost: f64,
    /// Saved a year on top, at today's prices.
    pub annual_savings: f64,
    /// Extra cost over extra yearly savings; `None` where nothing more is saved.
    pub simple_payback_years: Option<f64>,
    /// When the extra discounted savings reach the extra cost.
    pub discounted_payback_years: Option<f64>,
    /// Net present value of the step.
    pub npv: f64,
    /// Extra discounted savings over extra cost; `None` where no more is paid.
    pub sir: Option<f64>,
}

/// An option with its figures.
#[derive(Clone, Debug)]
pub struct Row {
    /// The option.
    pub choice: Choice,
    /// The figures of its house.
    pub assessment: Assessment,
    /// What the surfaces still cost to heat and cool a year, at today's prices.
    pub running_cost: f64,
    /// The same over the life, not discounted.
    pub lifetime_running_cost: f64,
    /// Net cost and discounted running cost over the life: what the option costs in all.
    pub life_cycle_cost: f64,
    /// The payback's range with every doubt of the model taken together, from the shorter to the
    /// longer; the longer is `None` where it may never pay back.
    pub payback_range: Option<(f64, Option<f64>)>,
    /// What holds it; empty where nothing does. Doing nothing is never held.
    pub ruled_out: Vec<Finding>,
    /// Whether another option of the same standing costs no more and saves no less.
    pub outdone_by: Option<usize>,
    /// The step from the next cheaper option; `None` for the cheapest.
    pub step: Option<Step>,
    /// What it costs to do it a year later, over the same years; negative where waiting pays.
    pub cost_of_waiting: f64,
}

/// The options of a house, the cheapest first.
#[derive(Clone, Debug)]
pub struct Comparison {
    /// The house as it stands.
    pub house: House,
    /// What it costs as it stands.
    pub idle: IdleCost,
    /// A row for each option, by net cost; doing nothing comes first.
    pub rows: Vec<Row>,
    /// The row with the least cost in all of those that nothing holds.
    pub best: usize,
}

/// Compares what can be done with a house. Doing nothing is always among it.
///
/// # Errors
/// [`InputError`] with every fault of every option under `options[i]`.
///
/// # Examples
/// ```
/// # #[cfg(feature = "house-file")] {
/// use studbay::choices::{compare, usual};
/// use studbay::house::House;
///
/// let house = House::from_file("demo-data/house.toml")?;
/// let compared = compare(&house, &usual(&house))?;
/// assert!(compared.rows.len() >= 2);
/// assert!(compared.best < compared.rows.len());
/// # }
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn compare(house: &House, options: &[OptionSpec]) -> Result<Comparison, InputError> {
    let mut issues = Vec::new();
    if options.len() > MOST_OPTIONS {
        let reason = format!("a comparison has at most {MOST_OPTIONS} options");
        let value = format!("{} options", options.len());
        return Err(Issue::new(IssueCode::OutOfRange, "options", value, reason).into());
    }
    let mut choices: Vec<Choice> = Vec::new();
    for (index, option) in options.iter().enumerate() {
        if options[..index].iter().any(|before| before.name == option.name) {
            let reason = "two options have this name";
            let issue = Issue::new(IssueCode::GivenTwice, "name", &option.name, reason);
            issues.push(issue.within(&path(index)));
            continue;
        }
        match prepare(house, option) {
            Ok(choice) => choices.push(choice),
            Err(faults) => issues.extend(faults.into_iter().map(|i| i.within(&path(index)))),
        }
    }
    if !issues.is_empty() {
        return Err(InputError { issues });
    }
    if !choices.iter().any(|choice| choice.work == Work::Nothing) {
        let nothing = OptionSpec::new("leave it as it is", Work::Nothing);
        choices.push(prepare(house, &nothing).map_err(|issues| InputError { issues })?);
    }
    let idle = idle_cost(house);
    let mut rows: Vec<Row> = choices.into_iter().map(|choice| row(house, &idle, choice)).collect();
    rows.sort_by(|a, b| {
        let fills = |row: &Row| row.choice.work != Work::Nothing;
        fills(a)
            .cmp(&fills(b))
            .then(a.assessment.net_cost.total_cmp(&b.assessment.net_cost))
            .then(b.assessment.annual_savings.total_cmp(&a.assessment.annual_savings))
    });
    steps(house, &mut rows);
    let mut best = 0;
    for (index, row) in rows.iter().enumerate() {
        let least = rows.get(best).is_some_and(|b| row.life_cycle_cost < b.life_cycle_cost);
        if row.ruled_out.is_empty() && least {
            best = index;
        }
    }
    Ok(Comparison { house: house.clone(), idle, rows, best })
}

fn row(house: &House, idle: &IdleCost, choice: Choice) -> Row {
    let a = assess(&choice.house);
    let payback_range = a
        .simple_payback_years
        .filter(|years| *years > 0.0)
        .map(|_| doubt(&choice.house, &Sampling::default()).band(Figure::SimplePayback))
        .and_then(|band| Some((band.p10?, band.p90)));
    let ruled_out = if choice.work == Work::Nothing {
        Vec::new()
    } else {
        a.findings.iter().filter(|finding| finding.def().weight == Weight::Hold).collect()
    };
    let later = money_of(house, a.fuel_saved, a.electricity_saved_kwh, a.net_cost, 1);
    let later = later.npv / (1.0 + house.offer().discount_rate);
    Row {
        running_cost: idle.annual_cost - a.annual_savings,
        lifetime_running_cost: idle.lifetime_cost - a.lifetime_savings,
        life_cycle_cost: idle.present_cost - a.npv,
        payback_range,
        ruled_out,
        outdone_by: None,
        step: None,
        cost_of_waiting: a.npv - later,
        choice,
        assessment: a,
    }
}

/// Each row against the next cheaper one that no still cheaper one outdoes. What a hold rules out
/// is no stepping stone for what can be done.
fn steps(house: &House, rows: &mut [Row]) {
    for index in 1..rows.len() {
        let (before, after) = rows.split_at_mut(index);
        let Some(row) = after.first_mut() else { continue };
        let open = row.ruled_out.is_empty();
        let counts = |other: &Row| !open || other.ruled_out.is_empty();
        let outdone =
            |other: &Row, by: &Row| by.assessment.annual_savings >= other.assessment.annual_savings;
        // They stand by cost: whoever is before costs no more.
        let cheaper: Vec<usize> = (0..index).filter(|i| counts(&before[*i])).collect();
        row.outdone_by = cheaper.iter().copied().find(|i| outdone(row, &before[*i]));
        let over = cheaper.iter().copied().rfind(|i| {
            !cheaper.iter().take_while(|j| *j < i).any(|j| outdone(&before[*i], &before[*j]))
        });
        row.step = over.map(|over| step(house, over, &before[over].assessment, &row.assessment));
    }
}

fn step(house: &House, over: usize, from: &Assessment, to: &Assessment) -> Step {
    let some = |value: f64| value.is_finite().then_some(value);
    let figures = money_of(
        house,
        to.fuel_saved - from.fuel_saved,
        to.electricity_saved_kwh - from.electricity_saved_kwh,
        to.net_cost - from.net_cost,
        0,
    );
    Step {
        over,
        net_cost: figures.net_cost,
        annual_savings: figures.annual_savings,
        simple_payback_years: some(figures.simple_payback_years),
        discounted_payback_years: some(figures.discounted_payback_years),
        npv: figures.npv,
        sir: some(figures.sir),
    }
}
