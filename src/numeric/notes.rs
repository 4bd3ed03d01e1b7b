//! The one who calculates and keeps the named figures: what a drawing needs of a calculation, without its formulas.

use super::calc::{Function, Input, Label};
use super::{Calc, Read};
use std::cell::{Cell, RefCell};

/// Computes as [`super::Plain`] does, and notes each named figure with its surface.
#[derive(Debug, Default)]
pub(crate) struct Notes {
    surface: Cell<Option<usize>>,
    figures: RefCell<Vec<(Option<usize>, &'static str, f64)>>,
}

impl Notes {
    /// The figure of this symbol; of a surface by its place, of the house without one.
    pub(crate) fn figure(&self, surface: Option<usize>, symbol: &str) -> Option<f64> {
        let figures = self.figures.borrow();
        figures.iter().find(|(at, name, _)| *at == surface && *name == symbol).map(|found| found.2)
    }
}

impl Calc for &Notes {
    type N = f64;
    fn lit(&self, value: f64) -> f64 {
        value
    }
    fn named(&self, label: &'static Label, figure: f64) -> f64 {
        self.figures.borrow_mut().push((self.surface.get(), label.symbol, figure));
        figure
    }
    fn call<F: Function<K>, const K: usize>(&self, args: [f64; K]) -> f64 {
        F::eval(args)
    }
    fn constant(&self, constant: &'static crate::tables::Constant) -> f64 {
        constant.value
    }
}

impl Read for &Notes {
    fn input(&self, _: Input, value: f64) -> f64 {
        value
    }
    fn enter(&self, surface: Option<usize>) {
        self.surface.set(surface);
    }
}
