//! From a block of columns to a block of results.

use super::columns::{BLOCK_ROWS, Column, Columns, Derived};
use super::plan::{Plan, Role};
use crate::assembly::{HeatFlow, PackedCavity, fill_resistivity};
use crate::carbon::CarbonTerms;
use crate::energy::EnergyTerms;
use crate::error::Issue;
use crate::house::{
    Body, Cell, Circumstances, Field, Figures, House, HouseTerms, NUMBERS, Terms, assess,
    one_surface,
};
use crate::money::MoneyTerms;
use crate::numeric::{Calc, Num};
use crate::readiness::{FindingSet, HazardCodes};
use std::sync::Arc;

/// What became of a block of rows, but for the numbers.
#[derive(Debug)]
pub(crate) struct Outcome {
    /// What the reader must know of each scored row.
    pub(crate) findings: [FindingSet; BLOCK_ROWS],
    /// Rows that cannot be scored, with every fault, in order.
    pub(crate) rejects: Vec<(usize, Vec<Issue>)>,
}

/// The numbers of a block of rows: a column for each of the results, inch-pound; NaN for none and
/// for rejects. Each is as long as the block, or longer.
pub(crate) type Numbers<'n> = [&'n mut [f64]];

/// Scores blocks of rows, one after the other, in buffers of its own.
#[derive(Debug)]
pub(crate) struct Scorer {
    plan: Arc<Plan>,
    pub(crate) columns: Columns,
    pub(crate) outcome: Box<Outcome>,
}

impl Scorer {
    pub(crate) fn new(plan: Arc<Plan>) -> Self {
        let fields = plan.roles().iter().filter_map(|role| match role {
            Role::Field(field, _) => Some(*field),
            Role::HouseId | Role::Pass => None,
        });
        let columns = Columns::new(fields);
        Self {
            plan,
            columns,
            outcome: Box::new(Outcome {
                findings: [FindingSet::default(); BLOCK_ROWS],
                rejects: Vec::new(),
            }),
        }
    }

    /// Scores the block that [`Self::columns`] was filled with. `cell(column, row)` gives the
    /// original cell, for rows that the scalar door must decide on.
    pub(crate) fn score<'c>(
        &mut self,
        numbers: &mut Numbers<'_>,
        cell: impl Fn(usize, usize) -> Cell<'c>,
    ) {
        self.columns.finish();
        self.outcome.rejects.clear();
        self.arithmetic(numbers);
        if self.columns.has_suspects() {
            for row in 0..self.columns.rows() {
                if self.columns.is_suspect(row) {
                    self.scalar(numbers, row, &cell);
                }
            }
        }
    }

    /// Every figure of every row; those of suspect rows are overwritten by the scalar door.
    #[cfg(feature = "parallel")]
    fn arithmetic(&mut self, numbers: &mut Numbers<'_>) {
        let (columns, findings) = (&self.columns, &mut self.outcome.findings);
        pulp::Arch::new().dispatch(Vectors { columns, numbers, findings });
    }

    /// Every figure of every row that is not suspect.
    #[cfg(not(feature = "parallel"))]
    fn arithmetic(&mut self, numbers: &mut Numbers<'_>) {
        for row in 0..self.columns.rows() {
            if self.columns.is_suspect(row) {
                continue;
            }
            let (figures, flags) =
                score(&crate::numeric::Plain, &self.columns, |column| column.at(row));
            self.outcome.findings[row] = FindingSet::from_flags(flags);
            for (column, figure) in numbers.iter_mut().zip(figures.all()) {
                column[row] = figure;
            }
        }
    }

    /// The scalar door: the same checks and the same calculation as for a single house.
    #[cold]
    fn scalar<'c>(
        &mut self,
        numbers: &mut Numbers<'_>,
        row: usize,
        cell: &impl Fn(usize, usize) -> Cell<'c>,
    ) {
        let mut house = House::builder();
        for (column, role) in self.plan.roles().iter().enumerate() {
            if *role != Role::Pass {
                house.give(self.plan.names()[column].trim(), cell(column, row));
            }
        }
        let scored = match house.build() {
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
        for (column, number) in numbers.iter_mut().zip(scored) {
            column[row] = number;
        }
    }
}

/// A block's arithmetic in vectors.
#[cfg(feature = "parallel")]
struct Vectors<'b, 'n> {
    columns: &'b Columns,
    numbers: &'b mut Numbers<'n>,
    findings: &'b mut [FindingSet; BLOCK_ROWS],
}

#[cfg(feature = "parallel")]
impl pulp::WithSimd for Vectors<'_, '_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: pulp::Simd>(self, simd: S) {
        use crate::numeric::pack::{Pack, Packed};
        let Self { columns, numbers, findings } = self;
        let cx = Packed(simd);
        // Past the last row stand numbers of an earlier block: computed, and not stored.
        for (row, findings) in
            (0..columns.rows()).step_by(Pack::<S>::ROWS).zip(findings.chunks_mut(Pack::<S>::ROWS))
        {
            let load = |column: &Column| match column {
                Column::All(value) => Pack::splat(simd, *value),
                Column::Each(rows) => Pack::load(simd, &rows[row..]),
            };
            let (figures, flags) = score(&cx, columns, load);
            for (set, flags) in findings.iter_mut().zip(flags.rows()) {
                #[expect(clippy::cast_possible_truncation, reason = "32 flags")]
                let flags = *flags as u32;
                *set = FindingSet::from_flags(flags);
            }
            let left = columns.rows() - row;
            for (column, figure) in numbers.iter_mut().zip(figures.all()) {
                figure.store(&mut column[row..], left);
            }
        }
    }
}

/// The figures and findings of one row, or of several side by side, as `load` gives them.
#[inline(always)]
fn score<C: Calc>(
    cx: &C,
    columns: &Columns,
    load: impl Fn(&Column) -> C::N,
) -> (Figures<C::N>, <C::N as Num>::Flags) {
    let (surface, house) = terms(cx, columns, &load);
    let figures = one_surface(cx, &surface, &house);
    let field = |field| load(columns.column(field));
    let circumstances = Circumstances {
        hazards: HazardCodes {
            knob_and_tube: field(Field::KnobAndTube),
            vermiculite: field(Field::Vermiculite),
            moisture_problem: field(Field::MoistureProblem),
            loose_interior_finish: field(Field::LooseInteriorFinish),
            heat_sources: field(Field::HeatSources),
            spillage_test: field(Field::SpillageTest),
            year_built: field(Field::YearBuilt),
        },
        least_density: surface.fill_density_lb_ft3,
        cfm50_before: field(Field::Cfm50Before),
        cfm50_after: field(Field::Cfm50After),
        life_years: house.money.life_years,
        cooling_degree_days_f: house.energy.cooling_degree_days_f,
        cooled: house.energy.cooled,
        annual_savings: figures.money.annual_savings,
        simple_payback_years: figures.money.simple_payback_years,
        saved_share: figures.energy.saved_share,
        held_to_bills: figures.energy.capped,
    };
    (figures, circumstances.findings())
}

/// Reads the block for the arithmetic: one row, or several side by side, as `load` gives them.
#[inline(always)]
fn terms<C: Calc>(
    cx: &C,
    columns: &Columns,
    load: &impl Fn(&Column) -> C::N,
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
