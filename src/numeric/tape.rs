//! The record of a calculation: every input, every operation, every named figure.
//!
//! [`Traced`] numbers do the same `f64` operations as plain ones and note each on a [`Tape`].
//! What is printed as the formula of a figure is therefore what was computed, not a description
//! of it written beside the code.

use super::{Basis, Calc, Function, Input, Label, Num, Origin, Read, Step, number};
use crate::source::Citation;
use crate::units::Quantity;
use std::cell::{Cell, RefCell};
use std::fmt::Write as _;
use std::ops::{Add, Div, Mul, Sub};

/// An operand of an operation.
#[derive(Clone, Copy, Debug)]
enum Operand {
    Literal(f64),
    Node(usize),
}

#[derive(Debug)]
enum Op {
    Input(Input),
    Binary(Sign, Operand, Operand),
    Call(Call),
    Named { label: &'static Label, of: Operand },
}

#[derive(Debug)]
struct Call {
    name: &'static str,
    /// Empty for a function that needs no words.
    formula: &'static str,
    citation: Option<Citation>,
    args: Vec<Operand>,
}

/// The basic operations and how tightly they bind.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Sign {
    Plus,
    Minus,
    Times,
    Over,
}

impl Sign {
    const fn text(self) -> &'static str {
        match self {
            Self::Plus => " + ",
            Self::Minus => " − ",
            Self::Times => " × ",
            Self::Over => " / ",
        }
    }

    const fn binding(self) -> u8 {
        match self {
            Self::Plus | Self::Minus => 1,
            Self::Times | Self::Over => 2,
        }
    }
}

#[derive(Debug)]
struct Node {
    op: Op,
    value: f64,
    surface: Option<usize>,
}

/// The record of one calculation.
#[derive(Debug, Default)]
pub(crate) struct Tape {
    nodes: RefCell<Vec<Node>>,
    surface: Cell<Option<usize>>,
}

/// A number that notes what is done to it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Traced<'t> {
    value: f64,
    operand: Operand,
    tape: Option<&'t Tape>,
}

impl Traced<'_> {
    fn lit(value: f64) -> Self {
        Self { value, operand: Operand::Literal(value), tape: None }
    }

    pub(crate) const fn value(self) -> f64 {
        self.value
    }

    fn combine(self, other: Self, sign: Sign, value: f64) -> Self {
        match self.tape.or(other.tape) {
            Some(tape) => tape.push(Op::Binary(sign, self.operand, other.operand), value),
            None => Self::lit(value),
        }
    }

    fn called(args: &[Self], name: &'static str, value: f64) -> Self {
        match args.iter().find_map(|arg| arg.tape) {
            Some(tape) => {
                let args = args.iter().map(|arg| arg.operand).collect();
                tape.push(Op::Call(Call { name, formula: "", citation: None, args }), value)
            }
            None => Self::lit(value),
        }
    }
}

impl Add for Traced<'_> {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        // Adding a zero that is written in the formula is the start of a sum: not worth a line.
        if let Operand::Literal(0.0) = self.operand {
            return Self { value: self.value + other.value, ..other };
        }
        self.combine(other, Sign::Plus, self.value + other.value)
    }
}

impl Sub for Traced<'_> {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        self.combine(other, Sign::Minus, self.value - other.value)
    }
}

impl Mul for Traced<'_> {
    type Output = Self;
    fn mul(self, other: Self) -> Self {
        self.combine(other, Sign::Times, self.value * other.value)
    }
}

impl Div for Traced<'_> {
    type Output = Self;
    fn div(self, other: Self) -> Self {
        self.combine(other, Sign::Over, self.value / other.value)
    }
}

impl Num for Traced<'_> {
    type Mask = bool;
    type Flags = u32;

    fn like(self, value: f64) -> Self {
        Self::lit(value)
    }
    fn less(self, other: Self) -> bool {
        self.value < other.value
    }
    fn at_most(self, other: Self) -> bool {
        self.value <= other.value
    }
    fn select(mask: bool, yes: Self, no: Self) -> Self {
        if mask { yes } else { no }
    }
    fn any(mask: bool) -> bool {
        mask
    }
    fn flags(mask: bool, flags: u32) -> u32 {
        f64::flags(mask, flags)
    }
    fn power(self, exponent: Self) -> Self {
        Self::called(&[self, exponent], "pow", self.value.power(exponent.value))
    }
    fn ceiling(self) -> Self {
        Self::called(&[self], "ceil", self.value.ceiling())
    }
    fn greatest(self) -> f64 {
        self.value
    }
    fn lesser(self, other: Self) -> Self {
        Self::called(&[self, other], "min", self.value.lesser(other.value))
    }
    fn greater(self, other: Self) -> Self {
        Self::called(&[self, other], "max", self.value.greater(other.value))
    }
}

impl Tape {
    fn push(&self, op: Op, value: f64) -> Traced<'_> {
        let mut nodes = self.nodes.borrow_mut();
        nodes.push(Node { op, value, surface: self.surface.get() });
        Traced { value, operand: Operand::Node(nodes.len() - 1), tape: Some(self) }
    }
}

impl<'t> Calc for &'t Tape {
    type N = Traced<'t>;

    fn lit(&self, value: f64) -> Traced<'t> {
        Traced::lit(value)
    }

    fn named(&self, label: &'static Label, figure: Traced<'t>) -> Traced<'t> {
        let tape: &'t Tape = self;
        tape.push(Op::Named { label, of: figure.operand }, figure.value)
    }

    fn call<F: Function<K>, const K: usize>(&self, args: [Traced<'t>; K]) -> Traced<'t> {
        let tape: &'t Tape = self;
        let value = F::eval(args.map(Traced::value));
        let args = args.iter().map(|arg| arg.operand).collect();
        let call = Call { name: F::NAME, formula: F::FORMULA, citation: F::citation(), args };
        tape.push(Op::Call(call), value)
    }

    fn constant(&self, constant: &'static crate::tables::Constant) -> Traced<'t> {
        let tape: &'t Tape = self;
        let input = Input {
            symbol: constant.key,
            what: constant.unit,
            quantity: Quantity::Number,
            origin: Origin::Constant,
            basis: Basis::Cited(constant.citation),
        };
        tape.push(Op::Input(input), constant.value)
    }
}

impl Read for &Tape {
    fn input(&self, input: Input, value: f64) -> Self::N {
        self.push(Op::Input(input), value)
    }
    fn enter(&self, surface: Option<usize>) {
        self.surface.set(surface);
    }
}

impl Tape {
    /// The steps that the figures rest on, each after what it uses, inputs included.
    pub(crate) fn steps(&self, figures: &[Traced<'_>]) -> Vec<Step> {
        let nodes = self.nodes.borrow();
        let mut used = vec![false; nodes.len()];
        let mut open: Vec<usize> = figures.iter().filter_map(|f| f.operand.node()).collect();
        while let Some(index) = open.pop() {
            if !std::mem::replace(&mut used[index], true) {
                open.extend(nodes[index].op.operands().filter_map(Operand::node));
            }
        }
        // A house's figure says whose figures it adds up, where there are several surfaces.
        let many = nodes.iter().any(|node| node.surface.is_some_and(|surface| surface > 0));
        let mut seen: Vec<(&str, Option<usize>)> = Vec::new();
        let mut steps = Vec::new();
        for (node, _) in nodes.iter().zip(&used).filter(|(_, used)| **used) {
            let step = match &node.op {
                Op::Input(input) => {
                    let surface =
                        if input.origin == Origin::Constant { None } else { node.surface };
                    if seen.contains(&(input.symbol, surface)) {
                        continue;
                    }
                    seen.push((input.symbol, surface));
                    Step { surface, ..step(input, node.value) }
                }
                // A figure that does not exist here (a share of bills not given) needs no line.
                Op::Named { of: Operand::Literal(none), .. } if none.is_nan() => continue,
                Op::Named { label, of } => Step {
                    formula: render(&nodes, *of, false, many && node.surface.is_none()),
                    numbers: render(&nodes, *of, true, false),
                    functions: definitions(&nodes, *of),
                    origin: "computed",
                    surface: node.surface,
                    source: sources(&nodes, label, *of),
                    ..step(
                        &Input {
                            symbol: label.symbol,
                            what: label.what,
                            quantity: label.quantity,
                            origin: Origin::Constant,
                            basis: Basis::User,
                        },
                        node.value,
                    )
                },
                Op::Binary(..) | Op::Call(_) => continue,
            };
            steps.push(step);
        }
        steps
    }
}

fn step(input: &Input, value: f64) -> Step {
    use crate::units::UnitSystem::{Ip, Si};
    let value = value.is_finite().then_some(value);
    let shared = input.quantity.is_shared();
    Step {
        surface: None,
        symbol: input.symbol,
        what: input.what,
        formula: String::new(),
        numbers: String::new(),
        functions: String::new(),
        value,
        unit: match input.quantity {
            Quantity::Money => "money",
            Quantity::FuelUnits => "units of the fuel",
            other => other.unit(Ip),
        },
        value_si: value.filter(|_| !shared).map(|v| input.quantity.si_from_ip(v)),
        unit_si: if shared { "" } else { input.quantity.unit(Si) },
        origin: input.origin.word(),
        source: match input.basis {
            Basis::User => String::new(),
            Basis::Cited(citation) => citation.to_string(),
            Basis::Said(words) => words.to_owned(),
        },
    }
}

impl Operand {
    const fn node(self) -> Option<usize> {
        match self {
            Self::Literal(_) => None,
            Self::Node(index) => Some(index),
        }
    }
}

impl Op {
    fn operands(&self) -> impl Iterator<Item = Operand> + '_ {
        let (pair, rest): ([Option<Operand>; 2], &[Operand]) = match self {
            Self::Input(_) => ([None, None], &[]),
            Self::Binary(_, left, right) => ([Some(*left), Some(*right)], &[]),
            Self::Call(call) => ([None, None], &call.args),
            Self::Named { of, .. } => ([Some(*of), None], &[]),
        };
        pair.into_iter().flatten().chain(rest.iter().copied())
    }
}

/// The functions that an expression calls, down to inputs and named figures.
fn functions(nodes: &[Node], of: Operand) -> impl Iterator<Item = &Call> {
    let mut calls = Vec::new();
    let mut open = vec![of];
    while let Some(operand) = open.pop() {
        match operand.node().map(|index| &nodes[index].op) {
            None | Some(Op::Input(_) | Op::Named { .. }) => {}
            Some(op @ (Op::Binary(..) | Op::Call(_))) => {
                open.extend(op.operands());
                if let Op::Call(call) = op {
                    calls.push(call);
                }
            }
        }
    }
    calls.into_iter().rev()
}

/// What those functions compute, each said once.
fn definitions(nodes: &[Node], of: Operand) -> String {
    let mut said: Vec<&str> = Vec::new();
    for call in functions(nodes, of) {
        if !call.formula.is_empty() && !said.contains(&call.formula) {
            said.push(call.formula);
        }
    }
    said.join("; ")
}

/// The source of a figure's formula and of the functions in it.
fn sources(nodes: &[Node], label: &Label, of: Operand) -> String {
    let mut cited: Vec<Citation> = Vec::new();
    let called = functions(nodes, of).filter_map(|call| call.citation);
    for citation in label.citation.into_iter().chain(called) {
        if !cited.contains(&citation) {
            cited.push(citation);
        }
    }
    cited.iter().map(Citation::to_string).collect::<Vec<_>>().join("; ")
}

/// The expression as symbols or as numbers, down to inputs and named figures.
fn render(nodes: &[Node], operand: Operand, numbers: bool, places: bool) -> String {
    let mut writer = Writer { nodes, numbers, places, text: String::new() };
    writer.operand(operand, 0);
    writer.text
}

struct Writer<'n> {
    nodes: &'n [Node],
    /// Numbers instead of symbols.
    numbers: bool,
    /// Whether symbols of a surface say which.
    places: bool,
    text: String,
}

impl Writer<'_> {
    /// Writes an operand inside an operation that binds as tightly as `outer`.
    fn operand(&mut self, operand: Operand, outer: u8) {
        let index = match operand {
            Operand::Literal(value) => return self.text.push_str(&number(value)),
            Operand::Node(index) => index,
        };
        let node = &self.nodes[index];
        match &node.op {
            Op::Input(Input { symbol, .. }) | Op::Named { label: Label { symbol, .. }, .. } => {
                self.leaf(node, symbol, outer);
            }
            Op::Binary(sign, left, right) => self.binary(*sign, *left, *right, outer),
            Op::Call(call) => self.call(call, node.value),
        }
    }

    fn leaf(&mut self, node: &Node, symbol: &str, outer: u8) {
        let _ = match node.surface {
            _ if self.numbers && node.value < 0.0 && outer > 0 => {
                write!(self.text, "({})", number(node.value))
            }
            _ if self.numbers => write!(self.text, "{}", number(node.value)),
            Some(surface) if self.places => write!(self.text, "surfaces[{surface}].{symbol}"),
            _ => write!(self.text, "{symbol}"),
        };
    }

    fn binary(&mut self, sign: Sign, left: Operand, right: Operand, outer: u8) {
        let binding = sign.binding();
        let bracket = binding < outer;
        if bracket {
            self.text.push('(');
        }
        self.operand(left, binding);
        self.text.push_str(sign.text());
        // a − (b + c) and a / (b × c) keep their brackets.
        self.operand(right, binding + u8::from(matches!(sign, Sign::Minus | Sign::Over)));
        if bracket {
            self.text.push(')');
        }
    }

    /// With numbers, the value stands beside the call, so that the line can be checked by hand.
    fn call(&mut self, call: &Call, value: f64) {
        if self.numbers {
            self.text.push('[');
        }
        self.text.push_str(call.name);
        self.text.push('(');
        for (place, arg) in call.args.iter().enumerate() {
            if place > 0 {
                self.text.push_str(", ");
            }
            self.operand(*arg, 0);
        }
        self.text.push(')');
        if self.numbers {
            let _ = write!(self.text, " = {}]", number(value));
        }
    }
}
