//! Options side by side, doing nothing first: those that [`usual`] finds for the house.
//!
//! Which they are is settled by the house as surveyed; their figures follow the sliders. Each is the house with this work done, through the one
//! calculation. The whole fill is the house itself, as everywhere on the page.

use super::markup::shown;
use super::speech::Speech;
use super::view::Line;
use crate::choices::{Choice as Option_, OptionSpec, Work, prepare, stated, usual, usual_fill};
use crate::error::{InputError, Issue};
use crate::house::{Assessment, House, HouseFileError, OPTIONS, Raw, assess};
use crate::readiness::Readiness;
use crate::units::Quantity;

/// One option: its title, and a value for each of [`ROWS`].
#[derive(Debug)]
pub(crate) struct Choice {
    pub(crate) title: String,
    pub(crate) values: [String; ROWS.len()],
}

/// The names of the rows, in the words of the page.
pub(crate) const ROWS: [&str; 7] = [
    "option_pay",
    "option_year",
    "option_life",
    "option_left",
    "option_r",
    "option_co2",
    "option_work",
];

/// What can be done with the house as surveyed: the options that its file states, or the usual ones; doing nothing comes first.
pub(crate) fn specs(
    house: &House,
    listed: Option<&Raw>,
) -> Result<Vec<OptionSpec>, HouseFileError> {
    let mut specs = match listed {
        Some(listed) => {
            let file = Raw::Table(vec![(OPTIONS.to_owned(), listed.clone())]);
            stated(&file).map_err(HouseFileError::Input)?
        }
        None => Vec::new(),
    };
    if specs.is_empty() {
        return Ok(usual(house));
    }
    for (index, spec) in specs.iter().enumerate() {
        prepare(house, spec).map_err(|issues| {
            HouseFileError::Input(InputError { issues: within(index, issues) })
        })?;
    }
    specs.retain(|spec| spec.work != Work::Nothing);
    specs.insert(0, OptionSpec::new("leave it as it is", Work::Nothing));
    Ok(specs)
}

fn within(index: usize, issues: Vec<Issue>) -> Vec<Issue> {
    issues.into_iter().map(|issue| issue.within(&format!("{OPTIONS}[{index}]"))).collect()
}

/// The options of a house, in the order of `specs`, and what was taken for them because nobody said.
pub(crate) fn options(
    speech: &Speech,
    house: &House,
    a: &Assessment,
    specs: &[OptionSpec],
) -> (Vec<Choice>, Vec<Line>) {
    let words = &speech.words;
    let years = speech.whole_years(f64::from(house.offer().life_years));
    let mut taken = Vec::new();
    let choices = specs.iter().map(|spec| {
        let whole = *spec == OptionSpec::new(spec.name.as_str(), Work::TopUp);
        let title = match spec.work {
            Work::Nothing => words.get("option_nothing").to_owned(),
            _ if whole && usual_fill(&spec.name) => words.fill("option_fill", &[("years", &years)]),
            _ => words.or(&format!("option_name:{}", spec.name), &shown(&spec.name)).to_owned(),
        };
        let values = match spec.work {
            Work::Nothing => nothing(speech, a),
            _ if whole => done(speech, a),
            // A slider may have taken the batt away that was to be taken out.
            _ => match prepare(house, spec) {
                Ok(choice) => {
                    taken.extend(lines(speech, &title, &choice));
                    done(speech, &assess(&choice.house))
                }
                Err(_) => ROWS.map(|_| "–".to_owned()),
            },
        };
        Choice { title, values }
    });
    (choices.collect(), taken)
}

fn tonnes(speech: &Speech, kg: f64, decimals: usize) -> String {
    speech.words.fill("tonnes", &[("number", &speech.number(kg / 1000.0, decimals))])
}

fn nothing(speech: &Speech, a: &Assessment) -> [String; ROWS.len()] {
    let none = || speech.amount(0.0);
    [
        none(),
        none(),
        none(),
        none(),
        speech.quantity(Quantity::Resistance, 1.0 / a.u_before.ip(), 1),
        tonnes(speech, 0.0, 0),
        speech.words.get("option_no_work").to_owned(),
    ]
}

fn done(speech: &Speech, a: &Assessment) -> [String; ROWS.len()] {
    let readiness = match a.readiness() {
        Readiness::Hold => "option_hold",
        Readiness::Check => "option_check",
        Readiness::Clear => "option_clear",
    };
    [
        speech.amount(a.net_cost),
        speech.amount(a.annual_savings),
        speech.amount(a.lifetime_savings),
        speech.amount(a.lifetime_savings - a.net_cost),
        speech.quantity(Quantity::Resistance, 1.0 / a.u_after.ip(), 1),
        tonnes(speech, a.lifetime_co2e_kg, 1),
        speech.words.get(readiness).to_owned(),
    ]
}

/// What was taken for an option because nobody said.
fn lines(speech: &Speech, title: &str, choice: &Option_) -> Vec<Line> {
    let line = |assumption: &crate::choices::Assumption| {
        let amount = assumption.amount.map(|amount| format!("{}, ", speech.amount(amount)));
        Line::from([
            ("option", title.to_owned()),
            ("amount", amount.unwrap_or_default()),
            ("what", format!("{} [{}]", assumption.what, assumption.citation)),
        ])
    };
    choice.assumptions.iter().map(line).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::page::words::Words;
    use crate::units::UnitSystem;

    #[test]
    fn each_option_is_the_house_with_its_work_done() {
        let house = House::from_toml(include_str!("../../demo-data/house.toml")).unwrap();
        let words = Words::of("en").unwrap();
        let speech = Speech { words, units: UnitSystem::Ip, currency: "$".to_owned() };
        let specs = specs(&house, None).unwrap();
        let (choices, taken) = options(&speech, &house, &assess(&house), &specs);
        let compared = crate::choices::compare(&house, &specs).unwrap();
        assert_eq!(choices.len(), 3);
        assert_eq!(choices[0].title, "Do nothing");
        assert!(!taken.is_empty(), "the price of taking the batt out is nobody's quote");
        for (choice, spec) in choices.iter().zip(&specs).skip(1) {
            let row = compared.rows.iter().find(|row| row.choice.name == spec.name).unwrap();
            assert_eq!(choice.values, done(&speech, &row.assessment), "{}", spec.name);
        }
    }

    #[test]
    fn what_the_file_states_takes_the_place_of_what_is_usual() {
        let file = include_str!("../../demo-data/choices.toml");
        let house = House::from_toml(file).unwrap();
        let Raw::Table(table) = crate::house::parse_toml(file).unwrap() else { panic!("a table") };
        let listed = table.iter().find(|(key, _)| key == OPTIONS).map(|(_, value)| value);
        // Through the text that a page carries, to the bit.
        let carried: Raw = serde_json::from_str(&serde_json::to_string(&listed).unwrap()).unwrap();
        assert_eq!(Some(&carried), listed);
        let specs = specs(&house, Some(&carried)).unwrap();
        let speech = Speech {
            words: Words::of("en").unwrap(),
            units: UnitSystem::Ip,
            currency: "$".to_owned(),
        };
        let (choices, _) = options(&speech, &house, &assess(&house), &specs);
        let titles: Vec<&str> = choices.iter().map(|choice| choice.title.as_str()).collect();
        let wanted = [
            "Do nothing",
            "fill over the batt",
            "fill, denser and with care",
            "batt out, then fill",
        ];
        assert_eq!(titles, wanted);
        assert_eq!(choices[2].values[0], "$4,900");
        let wrong = Raw::List(vec![Raw::Table(vec![("name".to_owned(), Raw::Number(1.0))])]);
        assert!(super::specs(&house, Some(&wrong)).is_err());
    }

    #[test]
    fn a_batt_that_a_slider_takes_away_is_not_taken_out() {
        let file = include_str!("../../demo-data/house.toml");
        let house = House::from_toml(file).unwrap();
        let words = Words::of("en").unwrap();
        let speech = Speech { words, units: UnitSystem::Ip, currency: "$".to_owned() };
        let bare = house
            .changed(&[crate::house::Change {
                surface: None,
                name: "batt_thickness_in",
                cell: crate::house::Cell::Number(0.0),
            }])
            .unwrap();
        let (choices, taken) =
            options(&speech, &bare, &assess(&bare), &specs(&house, None).unwrap());
        assert_eq!(choices[2].values[0], "–");
        assert!(taken.is_empty());
    }
}
