//! From a block of columns to a block of results.

use super::columns::{BLOCK_ROWS, Column, Columns, Derived};
use super::plan::{Plan, Role};
use crate::assembly::{HeatFlow, PackedCavity, fill_resistivity};
use crate::carbon::CarbonTerms;
use crate::energy::EnergyTerms;
use crate::error::Issue;
use crate::house::{
    Body, Cell, Circumstances, Field, House, HouseTerms, NUMBERS, Terms, assess, one_surface,
};
use crate::money::MoneyTerms;
use crate::numeric::{Calc, Num};
use crate::readiness::{Answer, FindingSet, Hazards, SpillageTest};

/// The results of a block of rows.
#[derive(Debug)]
pub(crate) struct Outcome {
    /// One column for each number of the results, inch-pound; NaN for none and for rejects.
    pub(crate) numbers: Vec<[f64; BLOCK_ROWS]>,
    /// What the reader must know of each scored row.
    pub(crate) findings: [FindingSet; BLOCK_ROWS],
    /// Rows that cannot be scored, with every fault, in order.
    pub(crate) rejects: Vec<(usize, Vec<Issue>)>,
}

/// Scores blocks of rows, one after the other, in buffers of its own.
#[derive(Debug)]
pub(crate) struct Scorer<'p> {
    plan: &'p Plan,
    pub(crate) columns: Columns,
    pub(crate) outcome: Box<Outcome>,
    /// 1 where the bills held the saving down.
    capped: Box<[f64; BLOCK_ROWS]>,
}

impl<'p> Scorer<'p> {
    pub(crate) fn new(plan: &'p Plan) -> Self {
        let fields = plan.roles().iter().filter_map(|role| match role {
            Role::Field(field, _) => Some(*field),
            Role::HouseId | Role::Pass => None,
        });
        Self {
            plan,
            columns: Columns::new(fields),
            outcome: Box::new(Outcome {
                numbers: vec![[f64::NAN; BLOCK_ROWS]; NUMBERS],
                findings: [FindingSet::default(); BLOCK_ROWS],
                rejects: Vec::new(),
            }),
            capped: Box::new([0.0; BLOCK_ROWS]),
        }
    }

    /// Scores the block that [`Self::columns`] was filled with. `cell(column, row)` gives the
    /// original cell, for rows that the scalar door must decide on.
    pub(crate) fn score<'c>(&mut self, cell: impl Fn(usize, usize) -> Cell<'c>) {
        self.columns.finish();
        self.outcome.rejects.clear();
        self.arithmetic();
        for row in 0..self.columns.rows() {
            if self.columns.is_suspect(row) {
                self.scalar(row, &cell);
            } else {
                self.outcome.findings[row] = self.findings(row);
            }
        }
    }

    /// Every figure of every row; those of suspect rows are overwritten by the scalar door.
    #[cfg(feature = "parallel")]
    fn arithmetic(&mut self) {
        let Self { columns, outcome, capped, .. } = self;
        pulp::Arch::new().dispatch(Vectors { columns, numbers: &mut outcome.numbers, capped });
    }

    /// Every figure of every row that is not suspect.
    #[cfg(not(feature = "parallel"))]
    fn arithmetic(&mut self) {
        for row in 0..self.columns.rows() {
            if self.columns.is_suspect(row) {
                continue;
            }
            let (surface, house) =
                terms(&crate::numeric::Plain, &self.columns, |column| column.at(row));
            let figures = one_surface(&crate::numeric::Plain, &surface, &house);
            self.capped[row] = f64::from(u8::from(figures.energy.capped));
            for (column, figure) in self.outcome.numbers.iter_mut().zip(figures.all()) {
                column[row] = figure;
            }
        }
    }

    /// The scalar door: the same checks and the same calculation as for a single house.
    #[cold]
    fn scalar<'c>(&mut self, row: usize, cell: &impl Fn(usize, usize) -> Cell<'c>) {
        let mut house = House::builder();
        for (column, role) in self.plan.roles().iter().enumerate() {
            if *role != Role::Pass {
                house.give(self.plan.names()[column].trim(), cell(column, row));
            }
        }
        let numbers = match house.build() {
            Ok(house) => {
                let assessment = assess(&house);
                self.outcome.findings[row] = assessment.findings;
                assessment.numbers()
            }
            Err(error) => {
                self.outcome.findings[row] = FindingSet::default();
                self.outcome.rejects.push((row, error.issues));
                [f64::NAN; NUMBERS]
            }
        };
        for (column, number) in self.outcome.numbers.iter_mut().zip(numbers) {
            column[row] = number;
        }
    }

    fn findings(&self, row: usize) -> FindingSet {
        let figure = |place: usize| self.outcome.numbers[place][row];
        let at = |field| self.columns.at(field, row);
        let answer = |field| match at(field) {
            0.0 => Answer::No,
            1.0 => Answer::Yes,
            _ => Answer::Unknown,
        };
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "the registry bounds the year to 1600..=2100"
        )]
        let year_built = Some(at(Field::YearBuilt)).filter(|y| !y.is_nan()).map(|y| y as u16);
        Circumstances {
            hazards: Hazards {
                knob_and_tube: answer(Field::KnobAndTube),
                vermiculite: answer(Field::Vermiculite),
                moisture_problem: answer(Field::MoistureProblem),
                loose_interior_finish: answer(Field::LooseInteriorFinish),
                spillage_test: match at(Field::SpillageTest) {
                    1.0 => SpillageTest::Passed,
                    2.0 => SpillageTest::Failed,
                    3.0 => SpillageTest::NotDone,
                    _ => SpillageTest::NoneNeeded,
                },
                heat_sources: answer(Field::HeatSources),
                year_built,
            },
            least_density: at(Field::FillDensity),
            cfm50_before: at(Field::Cfm50Before),
            cfm50_after: at(Field::Cfm50After),
            life_years: at(Field::LifeYears),
            cooling_degree_days_f: at(Field::CoolingDegreeDays),
            cooled: !at(Field::CoolingSeer).is_nan(),
            annual_savings: figure(ANNUAL_SAVINGS),
            simple_payback_years: figure(SIMPLE_PAYBACK),
            saved_share: figure(SAVED_SHARE),
            held_to_bills: self.capped[row] != 0.0,
        }
        .findings()
    }
}

/// A block's arithmetic in vectors.
#[cfg(feature = "parallel")]
struct Vectors<'b> {
    columns: &'b Columns,
    numbers: &'b mut [[f64; BLOCK_ROWS]],
    capped: &'b mut [f64; BLOCK_ROWS],
}

#[cfg(feature = "parallel")]
impl pulp::WithSimd for Vectors<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: pulp::Simd>(self, simd: S) {
        use crate::numeric::pack::{Pack, Packed};
        let Self { columns, numbers, capped } = self;
        let cx = Packed(simd);
        // Past the last row stand numbers of an earlier block: computed, and read by no one.
        for row in (0..columns.rows()).step_by(Pack::<S>::ROWS) {
            let load = |column: &Column| match column {
                Column::All(value) => Pack::splat(simd, *value),
                Column::Each(rows) => Pack::load(simd, &rows[row..]),
            };
            let (surface, house) = terms(&cx, columns, load);
            let figures = one_surface(&cx, &surface, &house);
            let held = figures.energy.capped;
            Pack::select(held, cx.lit(1.0), cx.lit(0.0)).store(&mut capped[row..]);
            for (column, figure) in numbers.iter_mut().zip(figures.all()) {
                figure.store(&mut column[row..]);
            }
        }
    }
}

/// Reads the block for the arithmetic: one row, or several side by side, as `load` gives them.
#[inline(always)]
fn terms<C: Calc>(
    cx: &C,
    columns: &Columns,
    load: impl Fn(&Column) -> C::N,
) -> (Terms<C::N>, HouseTerms<C::N>) {
    let lit = |value| cx.lit(value);
    let field = |field| load(columns.column(field));
    let derived = |derived| load(columns.derived(derived));
    // NaN is "not given": it equals nothing, itself neither.
    let given = |n: C::N| n.at_most(n);
    let or = |n: C::N, otherwise: C::N| C::N::select(given(n), n, otherwise);

    let density = field(Field::FillDensity);
    let air_r = field(Field::AirSpaceR);
    let packed = PackedCavity {
        heat_flow: HeatFlow::Horizontal,
        framing_fraction: field(Field::FramingFraction),
        depth_in: field(Field::CavityDepth),
        framing_r_per_in: field(Field::FramingR),
        series_r: field(Field::SeriesR),
        batt_thickness_in: field(Field::BattThickness),
        batt_r_per_in: field(Field::BattR),
        batt_missing_fraction: field(Field::BattMissing),
        gap_delta_u: derived(Derived::GapDeltaU),
        air_r_given: given(air_r),
        air_r,
        fill_r_per_in: or(field(Field::FillR), fill_resistivity(cx, density)),
        batt_compression: field(Field::BattCompression),
        missed_fraction: field(Field::Missed),
    };
    let surface = Terms {
        area_ft2: field(Field::WallArea),
        temperature_factor: lit(1.0),
        fill_density_lb_ft3: density,
        body: Body::Packed(packed),
    };
    let (before, after) = (field(Field::Cfm50Before), field(Field::Cfm50After));
    let tested = given(before) & given(after);
    let seer = field(Field::CoolingSeer);
    let billed = field(Field::BilledHeatingFuel);
    let life_years = field(Field::LifeYears);
    let house = HouseTerms {
        energy: EnergyTerms {
            heating_degree_days_f: field(Field::HeatingDegreeDays),
            cooling_degree_days_f: field(Field::CoolingDegreeDays),
            elevation_ft: field(Field::Elevation),
            leakage_tested: tested,
            cfm50_before: C::N::select(tested, before, lit(0.0)),
            cfm50_after: C::N::select(tested, after, lit(0.0)),
            leakage_divisor: field(Field::LeakageDivisor),
            heating_efficiency: field(Field::HeatingEfficiency),
            mmbtu_per_unit: derived(Derived::MmbtuPerUnit),
            cooled: given(seer),
            cooling_seer: or(seer, lit(1.0)),
            realization_rate: field(Field::RealizationRate),
            billed: given(billed),
            billed_heating_fuel: or(billed, lit(f64::INFINITY)),
        },
        money: MoneyTerms {
            installed_cost: field(Field::InstalledCost),
            rebate: field(Field::Rebate),
            tax_credit_fraction: field(Field::TaxCreditFraction),
            tax_credit_cap: or(field(Field::TaxCreditCap), lit(f64::INFINITY)),
            fuel_price: derived(Derived::HeatingPrice),
            fuel_escalation: derived(Derived::HeatingEscalation),
            electricity_price: field(Field::ElectricityPrice),
            electricity_escalation: field(Field::ElectricityEscalation),
            discount_rate: field(Field::DiscountRate),
            life_years,
        },
        carbon: CarbonTerms {
            electric_heat: lit(0.0).less(derived(Derived::Electric)),
            kg_co2e_per_mmbtu: derived(Derived::KgCo2ePerMmbtu),
            grid_kg_per_kwh: derived(Derived::GridFactor),
            grid_decline: field(Field::GridDecline),
            fill_embodied_kg_per_kg: field(Field::FillEmbodied),
            life_years,
        },
        bag_weight_lb: field(Field::BagWeight),
    };
    (surface, house)
}

// Places in `Figures::all`, which a test holds to the order of `RESULTS`.
const SAVED_SHARE: usize = 5;
const ANNUAL_SAVINGS: usize = 6;
const SIMPLE_PAYBACK: usize = 8;
