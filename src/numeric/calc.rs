//! Who calculates: the plain way, or with a record of every step.

use super::Num;
use crate::source::Citation;
use crate::units::Quantity;

/// The name under which a figure appears in the derivation.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Label {
    /// Its symbol, as other formulas write it.
    pub(crate) symbol: &'static str,
    /// What it is, in words.
    pub(crate) what: &'static str,
    /// Its unit.
    pub(crate) quantity: Quantity,
    /// Where its formula comes from.
    pub(crate) citation: Option<Citation>,
}

impl Label {
    pub(crate) const fn new(symbol: &'static str, what: &'static str, quantity: Quantity) -> Self {
        Self { symbol, what, quantity, citation: None }
    }

    pub(crate) const fn cite(mut self, citation: Citation) -> Self {
        self.citation = Some(citation);
        self
    }
}

/// Where an input's value comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Origin {
    /// Given by the user in inch-pound units or without a unit.
    Given,
    /// Given by the user in SI units and converted.
    GivenSi,
    /// The registry's default, since nothing was given.
    Default,
    /// Looked up in one of the crate's tables.
    Table,
    /// A constant of the method.
    Constant,
}

impl Origin {
    /// The word that the derivation prints.
    pub(crate) const fn word(self) -> &'static str {
        match self {
            Self::Given => "given",
            Self::GivenSi => "given in SI",
            Self::Default => "default",
            Self::Table => "table",
            Self::Constant => "constant",
        }
    }
}

/// An input as the derivation shows it.
#[derive(Clone, Debug)]
pub(crate) struct Input {
    pub(crate) symbol: &'static str,
    pub(crate) what: &'static str,
    pub(crate) quantity: Quantity,
    pub(crate) origin: Origin,
    pub(crate) basis: Basis,
}

/// What an input's value rests on.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Basis {
    /// The user's word.
    User,
    /// A place in a document.
    Cited(Citation),
    /// The registry's own words on a default.
    Said(&'static str),
}

/// A calculation too long to write as one expression: a solver, a sum over years.
pub(crate) trait Function<const K: usize> {
    /// Its name in the derivation.
    const NAME: &'static str;
    /// What it computes, as a formula in words and symbols.
    const FORMULA: &'static str;
    /// Where it comes from, when the figure that it goes into does not say so itself.
    fn citation() -> Option<Citation> {
        None
    }
    /// Computes it.
    fn eval<N: Num>(args: [N; K]) -> N;
}

/// The one who calculates.
pub(crate) trait Calc {
    /// The numbers it calculates with.
    type N: Num;
    /// A number written in the formula itself.
    fn lit(&self, value: f64) -> Self::N;
    /// Gives a figure its name.
    fn named(&self, label: &'static Label, figure: Self::N) -> Self::N;
    /// Calls a longer calculation.
    fn call<F: Function<K>, const K: usize>(&self, args: [Self::N; K]) -> Self::N;
    /// A constant of the method, from its table.
    fn constant(&self, constant: &'static crate::tables::Constant) -> Self::N;
}

/// One who can read a single house.
pub(crate) trait Read: Calc {
    /// Takes an input in.
    fn input(&self, input: Input, value: f64) -> Self::N;
    /// What follows belongs to this surface (`None`: to the house).
    fn enter(&self, surface: Option<usize>);
}

/// Ordinary arithmetic: every method is free of cost.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Plain;

impl Calc for Plain {
    type N = f64;
    #[inline(always)]
    fn lit(&self, value: f64) -> f64 {
        value
    }
    #[inline(always)]
    fn named(&self, _: &'static Label, figure: f64) -> f64 {
        figure
    }
    #[inline(always)]
    fn call<F: Function<K>, const K: usize>(&self, args: [f64; K]) -> f64 {
        F::eval(args)
    }
    #[inline(always)]
    fn constant(&self, constant: &'static crate::tables::Constant) -> f64 {
        constant.value
    }
}

impl Read for Plain {
    #[inline(always)]
    fn input(&self, _: Input, value: f64) -> f64 {
        value
    }
    #[inline(always)]
    fn enter(&self, _: Option<usize>) {}
}
