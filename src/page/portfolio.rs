//! Many scored houses as one page: what they come to, how they differ, which to treat first, which could not be scored.
//!
//! Every figure is one of [`Summary`], [`Spread`](crate::batch::spread::Spread) and [`Selection`]; nothing is added up here. The page holds sums,
//! counts and the first houses of a list, so that it is as small for a hundred thousand houses as for ten.

use super::markup::shown;
use super::report::{PageError, PageOptions, Printer, made, policy};
use super::section::swing_bar;
use super::speech::Speech;
use super::spread::{Labels, histogram};
use crate::batch::selection::{LeftOut, Rank, Selection};
use crate::batch::spread::{Bin, FigureSpread};
use crate::batch::summary::{Figures, Key, QUANTILES, Summary, Sums};
use minijinja::context;
use serde::Serialize;

/// Groups that the page lists, at most.
pub const MOST_GROUPS: usize = 100;
/// Houses to treat first that the page lists, at most.
pub const MOST_LISTED: usize = 50;
/// Reasons of rejects that the page lists, at most.
const MOST_REASONS: usize = 50;
/// Letters of a text from the list that are shown.
const MOST_LETTERS: usize = 80;

/// What a page of many houses shows.
#[derive(Debug)]
pub struct Portfolio<'p> {
    /// What the list is called; nothing where it is empty.
    pub name: &'p str,
    /// What the houses come to.
    pub summary: &'p Summary,
    /// How they differ.
    pub spread: &'p [FigureSpread],
    /// Which to treat first, where there is a budget.
    pub selection: Option<&'p Selection>,
}

#[derive(Serialize)]
struct Head {
    text: String,
    figures: bool,
}

#[derive(Serialize)]
struct Cell {
    text: String,
    figures: bool,
    drawing: Option<String>,
}

#[derive(Serialize)]
struct Table {
    heads: Vec<Head>,
    rows: Vec<Vec<Cell>>,
}

/// What holds the work somewhere.
#[derive(Serialize)]
struct Held {
    houses: String,
    what: String,
    who: String,
}

#[derive(Serialize)]
struct Pair {
    label: String,
    value: String,
}

#[derive(Serialize)]
struct Plot {
    title: String,
    drawing: Option<String>,
    quantiles: Option<Table>,
    bins: Option<Table>,
    without: Option<String>,
}

fn word(text: impl Into<String>) -> Cell {
    Cell { text: text.into(), figures: false, drawing: None }
}

fn number(text: impl Into<String>) -> Cell {
    Cell { text: text.into(), figures: true, drawing: None }
}

/// Text of the list, made harmless and cut where it is too long to read.
fn told(text: &str) -> String {
    let mut out: String = text.chars().take(MOST_LETTERS).collect();
    if text.chars().nth(MOST_LETTERS).is_some() {
        out.push('…');
    }
    shown(&out)
}

/// The page of many houses.
///
/// # Errors
/// [`PageError`] for options that give no page.
pub fn portfolio(portfolio: &Portfolio<'_>, options: PageOptions) -> Result<String, PageError> {
    let printer = Printer::new(options)?;
    let teller = Teller {
        speech: Speech {
            words: printer.all_words()?,
            units: printer.options().units,
            currency: printer.options().currency.clone(),
        },
    };
    let words = &teller.speech.words;
    let style = format!("{}\n{}", printer.style(), printer.portfolio_style());
    let total = portfolio.summary.total();
    let holds = teller.holds(portfolio.summary);
    let several =
        portfolio.summary.holds().iter().map(|(_, count)| count).sum::<u64>() > total.hold;
    let groups = portfolio.summary.by().map(|by| (by, portfolio.summary.groups()));
    let of_selection = portfolio.selection;
    let reasons = portfolio.summary.reasons();
    let readiness = if total.hold > 0 {
        let (count, of) = (teller.count(total.hold), teller.count(total.scored.houses));
        words.fill("many_hold", &[("count", &count), ("of", &of)])
    } else {
        words.get("many_no_hold").to_owned()
    };
    let template = printer.template("portfolio.html")?;
    Ok(template.render(context! {
        w => words.texts(),
        name => told(portfolio.name),
        version => crate::version::version(),
        made => made(words, printer.options().date.as_deref()),
        policy => policy(&style, false),
        style,
        readiness,
        hold => total.hold > 0,
        holds,
        several,
        read => words.fill("many_read", &[("houses", &teller.houses(total.read))]),
        counts => teller.counts(&total),
        sums => teller.sums(&total),
        incomplete => (total.incomplete > 0).then(|| words.fill("many_incomplete", &[("houses", &teller.houses(total.incomplete))])),
        plots => portfolio.spread.iter().map(|spread| teller.plot(spread)).collect::<Vec<_>>(),
        groups_title => groups.as_ref().map(|(by, _)| words.fill("many_h_groups", &[("by", &told(by))])),
        groups => groups.as_ref().map(|(by, groups)| teller.groups(by, groups)),
        more_groups => groups.as_ref().and_then(|(_, groups)| teller.more("many_more", groups.len(), MOST_GROUPS)),
        selection_title => of_selection.map(|s| words.fill("many_h_selection", &[("budget", &teller.amount(s.budget()))])),
        chosen => of_selection.map(|s| teller.chosen(s)),
        look_first => of_selection.filter(|s| s.total().look_first > 0)
            .map(|s| words.fill("many_look_first", &[("houses", &teller.houses(s.total().look_first))])),
        outcome => of_selection.map(|s| teller.outcome(s)),
        ranked => of_selection.map(|s| words.get(match s.by() {
            Rank::Sir => "many_ranked_sir",
            Rank::CostPerTonne => "many_ranked_cost_per_tonne",
        })),
        list => of_selection.map(|s| teller.list(s)),
        more_list => of_selection.and_then(|s| teller.more("many_list_more", s.chosen().len(), MOST_LISTED)),
        left_out_title => of_selection.map(|s| words.fill("many_h_left_out", &[("houses", &teller.houses(s.left_out().len() as u64))])),
        left_out => of_selection.filter(|s| !s.left_out().is_empty()).map(|s| teller.left_out(s)),
        rejects_title => words.fill("many_h_rejects", &[("count", &teller.houses(total.rejected))]),
        rejects => (total.rejected > 0).then(|| teller.rejects(&reasons)),
        more_rejects => teller.more("many_more", reasons.len(), MOST_REASONS),
    })?)
}

struct Teller {
    speech: Speech,
}

impl Teller {
    fn table(&self, heads: &[(&str, bool)], rows: Vec<Vec<Cell>>) -> Table {
        let head = |(name, figures): &(&str, bool)| Head {
            text: if name.is_empty() {
                String::new()
            } else {
                self.speech.words.get(name).to_owned()
            },
            figures: *figures,
        };
        Table { heads: heads.iter().map(head).collect(), rows }
    }

    #[expect(clippy::cast_precision_loss, reason = "a count of rows, for reading")]
    fn count(&self, count: u64) -> String {
        self.speech.number(count as f64, 0)
    }

    fn houses(&self, count: u64) -> String {
        if count == 1 {
            return self.speech.words.get("many_house").to_owned();
        }
        self.speech.words.fill("many_houses", &[("count", &self.count(count))])
    }

    #[expect(clippy::cast_precision_loss, reason = "counts of rows, for reading")]
    fn share(&self, name: &str, part: u64, whole: u64) -> String {
        if whole == 0 {
            return String::new();
        }
        let share = self.speech.percent(part as f64 / whole as f64, 1);
        self.speech.words.fill(name, &[("share", &share)])
    }

    fn none(&self) -> String {
        self.speech.words.get("none").to_owned()
    }

    /// An amount in whole units, as everywhere about many houses.
    fn amount(&self, value: f64) -> String {
        if value.is_finite() { self.speech.whole_amount(value) } else { self.none() }
    }

    fn figure(&self, value: Option<f64>, decimals: usize) -> String {
        let finite = value.filter(|value| value.is_finite());
        finite.map_or_else(|| self.none(), |value| self.speech.number(value, decimals))
    }

    fn more(&self, name: &str, all: usize, most: usize) -> Option<String> {
        let more = all.checked_sub(most).filter(|more| *more > 0)?;
        Some(self.speech.words.fill(name, &[("count", &self.count(more as u64))]))
    }

    fn holds(&self, summary: &Summary) -> Vec<Held> {
        let words = &self.speech.words;
        let held = summary.holds().into_iter().map(|(finding, houses)| {
            let def = finding.def();
            Held {
                houses: self.houses(houses),
                what: words.or(&format!("finding:{}", def.code), def.reason).to_owned(),
                who: words.or(&format!("cleared:{}", def.code), def.cleared_by).to_owned(),
            }
        });
        held.collect()
    }

    fn counts(&self, total: &Figures) -> Table {
        let scored = total.scored.houses;
        let rows = [
            ("many_scored", scored, total.read, "many_of_read"),
            ("many_rejected", total.rejected, total.read, "many_of_read"),
            ("many_on_hold", total.hold, scored, "many_of_scored"),
            ("many_check", total.check, scored, "many_of_scored"),
            ("many_clear", total.clear, scored, "many_of_scored"),
        ];
        let row = |(label, count, whole, of): (&str, u64, u64, &str)| {
            let label = self.speech.words.get(label);
            vec![word(label), number(self.count(count)), word(self.share(of, count, whole))]
        };
        let heads = [("many_state", false), ("many_houses_head", true), ("many_share", false)];
        self.table(&heads, rows.into_iter().map(row).collect())
    }

    fn sums(&self, total: &Figures) -> Table {
        type Of = fn(&Sums) -> f64;
        let rows: [(&str, Of, bool); 5] = [
            ("many_net_cost", |sums| sums.net_cost, true),
            ("many_annual", |sums| sums.annual_savings, true),
            ("many_lifetime", |sums| sums.lifetime_savings, true),
            ("many_co2e", |sums| sums.lifetime_co2e_t, false),
            ("many_bags", |sums| sums.bags, false),
        ];
        let row = |(label, of, money): (&str, Of, bool)| {
            let say = |value: f64| {
                number(if money { self.amount(value) } else { self.figure(Some(value), 0) })
            };
            let (all, held) = (of(&total.scored), of(&total.on_hold));
            vec![word(self.speech.words.get(label)), say(all), say(held), say(all - held)]
        };
        let heads =
            [("many_sum", false), ("many_all", true), ("many_held", true), ("many_free", true)];
        self.table(&heads, rows.into_iter().map(row).collect())
    }

    /// How a value of a figure is written: money in whole units, tonnes for kilograms.
    fn say(&self, name: &str, value: f64, edge: bool) -> String {
        match name {
            "annual_savings" | "net_cost" => self.amount(value),
            "lifetime_co2e_kg" if edge => self.speech.figure(value / 1000.0, 3),
            "lifetime_co2e_kg" => self.figure(Some(value / 1000.0), 1),
            _ if edge => self.speech.figure(value, 3),
            _ => self.figure(Some(value), 1),
        }
    }

    fn plot(&self, spread: &FigureSpread) -> Plot {
        let words = &self.speech.words;
        let title = words.get(match spread.name {
            "simple_payback_years" => "many_of_payback",
            "annual_savings" => "many_of_annual",
            "net_cost" => "many_of_cost",
            _ => "many_of_co2e",
        });
        let without = if spread.name == "simple_payback_years" {
            "many_without_payback"
        } else {
            "many_without"
        };
        let without = (spread.without > 0)
            .then(|| words.fill(without, &[("houses", &self.houses(spread.without))]));
        if spread.bins.is_empty() {
            return Plot {
                title: title.to_owned(),
                drawing: None,
                quantiles: None,
                bins: None,
                without,
            };
        }
        let quantiles = spread.quantiles.map(|value| {
            value
                .filter(|v| v.is_finite())
                .map_or_else(|| self.none(), |v| self.say(spread.name, v, false))
        });
        let [p10, _, median, _, p90] = &quantiles;
        let says = words.fill(
            "many_drawn",
            &[
                ("what", title),
                ("houses", &self.houses(spread.with)),
                ("median", median),
                ("p10", p10),
                ("p90", p90),
            ],
        );
        let labels = Labels {
            edge: &|edge| self.say(spread.name, edge, true),
            count: &|houses| self.count(houses),
        };
        let drawing = histogram(spread, &labels, &says);
        let of = QUANTILES.iter().zip(quantiles.iter());
        let rows = of.map(|(percent, value)| {
            let name = match percent {
                50 => words.get("many_median").to_owned(),
                _ => words.fill("many_p", &[("number", &percent.to_string())]),
            };
            vec![word(name), number(value)]
        });
        let mut at_quantiles = self.table(&[("", false), ("", true)], rows.collect());
        let heads = [self.houses(spread.with), title.to_owned()];
        for (head, text) in at_quantiles.heads.iter_mut().zip(heads) {
            head.text = text;
        }
        let bin = |bin: &Bin| {
            let say = |edge: Option<f64>| edge.map(|edge| self.say(spread.name, edge, true));
            let (from, to) = (say(bin.from), say(bin.to));
            let range = match (&from, &to) {
                (Some(from), Some(to)) => words.fill("many_between", &[("from", from), ("to", to)]),
                (None, Some(to)) => words.fill("many_under", &[("to", to)]),
                (Some(from), None) => words.fill("many_over", &[("from", from)]),
                (None, None) => String::new(),
            };
            vec![word(range), number(self.count(bin.houses))]
        };
        let bins = spread.bins.iter().map(bin).collect();
        Plot {
            title: title.to_owned(),
            drawing: Some(drawing),
            quantiles: Some(at_quantiles),
            bins: Some(self.table(&[("many_range", false), ("many_houses_head", true)], bins)),
            without,
        }
    }

    fn groups(&self, by: &str, groups: &[(Key, Figures)]) -> Table {
        let listed = || groups.iter().take(MOST_GROUPS);
        let ends = listed().flat_map(|(_, f)| [f.payback_years[0], f.payback_years[4]]).flatten();
        let ends = ends.filter(|years| years.is_finite());
        let (least, most) = ends
            .fold((f64::INFINITY, 0.0_f64), |(least, most), end| (least.min(end), most.max(end)));
        let scale = [least, most.max(least * 1.01 + 1e-9)];
        let rows = listed().map(|(key, figures)| {
            let [p10, _, median, _, p90] = figures.payback_years;
            let name = match key {
                Key::Text(text) => told(text),
                Key::Nothing => self.speech.words.get("many_not_given").to_owned(),
                Key::Number(value) => self.speech.figure(*value, 6),
                other => other.to_string(),
            };
            let finite = |value: Option<f64>| value.filter(|value| value.is_finite());
            let bar = match (finite(p10), finite(median), finite(p90)) {
                (Some(p10), Some(median), Some(p90)) => {
                    swing_bar([Some(p10), Some(p90)], median, scale)
                }
                _ => " ".to_owned(),
            };
            vec![
                word(name),
                number(self.count(figures.scored.houses)),
                number(self.count(figures.rejected)),
                number(self.count(figures.hold)),
                number(self.count(figures.check)),
                number(self.count(figures.clear)),
                number(self.amount(figures.scored.net_cost)),
                number(self.amount(figures.scored.annual_savings)),
                number(self.figure(Some(figures.scored.lifetime_co2e_t), 0)),
                number(self.figure(p10, 1)),
                number(self.figure(median, 1)),
                number(self.figure(p90, 1)),
                Cell { text: String::new(), figures: false, drawing: Some(bar) },
            ]
        });
        let heads = [
            ("many_scored", true),
            ("many_g_rejected", true),
            ("many_g_hold", true),
            ("many_g_check", true),
            ("many_g_clear", true),
            ("many_g_cost", true),
            ("many_g_annual", true),
            ("many_g_co2e", true),
        ];
        let mut table = self.table(&heads, rows.collect());
        table.heads.insert(0, Head { text: told(by), figures: false });
        let p = |number: &str| self.speech.words.fill("many_p", &[("number", number)]);
        let last = [p("10"), self.speech.words.get("many_median").to_owned(), p("90")];
        table.heads.extend(last.map(|text| Head { text, figures: true }));
        table.heads.push(Head { text: String::new(), figures: false });
        table
    }

    fn chosen(&self, selection: &Selection) -> String {
        let total = selection.total();
        let (cost, left) = (self.amount(total.net_cost), self.amount(total.left));
        let houses = self.houses(total.houses);
        self.speech
            .words
            .fill("many_chosen", &[("houses", &houses), ("cost", &cost), ("left", &left)])
    }

    fn outcome(&self, selection: &Selection) -> Vec<Pair> {
        let total = selection.total();
        let mut pairs = vec![
            ("many_annual", self.amount(total.annual_savings)),
            ("many_lifetime", self.amount(total.lifetime_savings)),
            ("many_co2e", self.figure(Some(total.lifetime_co2e_t), 0)),
        ];
        if total.below_one > 0 {
            pairs.push(("many_below_one", self.count(total.below_one)));
        }
        if total.repeated_ids > 0 {
            pairs.push(("many_repeated", self.count(total.repeated_ids)));
        }
        let pair = |(label, value)| Pair { label: self.speech.words.get(label).to_owned(), value };
        pairs.into_iter().map(pair).collect()
    }

    fn list(&self, selection: &Selection) -> Table {
        let words = &self.speech.words;
        let rows = selection.chosen().iter().take(MOST_LISTED).map(|chosen| {
            let row = || words.fill("many_row", &[("row", &self.count(chosen.row))]);
            let id = selection.house_id(chosen.row).map_or_else(row, told);
            let state = if chosen.look_first { "many_is_check" } else { "many_is_clear" };
            vec![
                number(self.count(chosen.rank)),
                word(id),
                word(words.get(state)),
                number(self.amount(chosen.net_cost)),
                number(self.amount(chosen.running_cost)),
                number(self.amount(chosen.annual_savings)),
                number(self.figure(chosen.sir, 2)),
                number(chosen.cost_per_tonne.map_or_else(|| self.none(), |c| self.amount(c))),
            ]
        });
        let heads = [
            ("many_rank", true),
            ("many_id", false),
            ("many_readiness", false),
            ("many_g_cost", true),
            ("many_running", true),
            ("many_g_annual", true),
            ("many_sir", true),
            ("many_per_tonne", true),
        ];
        self.table(&heads, rows.collect())
    }

    fn left_out(&self, selection: &Selection) -> Table {
        let row = |(reason, houses): (LeftOut, u64)| {
            let name = format!("many_out_{}", reason.code());
            vec![word(self.speech.words.or(&name, reason.words())), number(self.count(houses))]
        };
        let rows = selection.counts().into_iter().map(row).collect();
        self.table(&[("many_reason", false), ("many_houses_head", true)], rows)
    }

    fn rejects(&self, reasons: &[(crate::batch::Reason, u64)]) -> Table {
        let words = &self.speech.words;
        let row = |(reason, rows): &(crate::batch::Reason, u64)| {
            let code = match (reason.code, reason.field.is_empty()) {
                ("", true) => "none",
                ("", false) => "other",
                (code, _) => code,
            };
            let field =
                if reason.field.is_empty() { "–".to_owned() } else { told(&reason.field) };
            let fault = words.or(&format!("many_fault_{code}"), code).to_owned();
            vec![word(field), word(fault), number(self.count(*rows))]
        };
        let rows = reasons.iter().take(MOST_REASONS).map(row).collect();
        let heads = [("many_field", false), ("many_fault", false), ("many_rows", true)];
        self.table(&heads, rows)
    }
}
