//! Any layered assembly: upper and lower limit of its resistance, and the mean of both.

use crate::units::{RValue, UValue};
use std::fmt;

/// A layer of an assembly: one resistance for all paths, or one for each.
#[derive(Clone, Debug, PartialEq)]
pub enum Zone {
    /// The same material across the whole area, films included.
    Uniform(RValue),
    /// One resistance for each path, in the order of the assembly's fractions.
    Mixed(Vec<RValue>),
}

/// Heat-flow paths side by side through layers one behind the other.
///
/// # Formula
/// Upper limit of the resistance (parallel paths): `1/R_upper = sum f_q / sum_j R_qj`. Lower limit
/// (isothermal planes): `R_lower = sum_j 1 / sum_q (f_q / R_qj)`. Combined: their mean.
///
/// # Units
/// Resistances are [`RValue`]s, fractions shares of the area that sum to 1.
///
/// # Source
/// ISO 6946, combined method (from memory); the upper limit is the parallel-path method of the
/// ASHRAE Handbook of Fundamentals.
///
/// # Valid range
/// Not for metal framing, where parallel paths do not hold.
///
/// # Examples
/// ```
/// use studbay::assembly::{Assembly, Zone};
/// use studbay::units::RValue;
///
/// let r = |ip| RValue::from_ip(ip).expect("a positive number");
/// // Half the area R-10, half R-50: the mean is R 16.67, not 30.
/// let uneven = Assembly::new(vec![0.5, 0.5], vec![Zone::Mixed(vec![r(10.0), r(50.0)])])?;
/// assert!((uneven.u_parallel_paths().to_r().ip() - 16.67).abs() < 0.005);
/// # Ok::<(), studbay::assembly::AssemblyFault>(())
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct Assembly {
    fractions: Vec<f64>,
    zones: Vec<Zone>,
}

/// Why an assembly cannot be.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum AssemblyFault {
    /// No paths or no layers.
    Empty,
    /// A fraction outside 0 to 1, or fractions that do not sum to 1.
    Fractions {
        /// What they sum to.
        sum: f64,
    },
    /// A mixed layer with more or fewer resistances than there are paths.
    Paths {
        /// The layer, counted from 0.
        layer: usize,
        /// How many resistances it has.
        found: usize,
        /// How many paths there are.
        expected: usize,
    },
    /// A path whose layers have no resistance at all.
    NoResistance {
        /// The path, counted from 0.
        path: usize,
    },
}

impl fmt::Display for AssemblyFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Empty => f.write_str("an assembly needs at least one path and one layer"),
            Self::Fractions { sum } => {
                write!(f, "the paths' fractions must lie in 0 to 1 and sum to 1, they sum to {sum}")
            }
            Self::Paths { layer, found, expected } => {
                write!(f, "layers[{layer}] has {found} resistances, there are {expected} paths")
            }
            Self::NoResistance { path } => write!(f, "path {path} has no resistance at all"),
        }
    }
}

impl std::error::Error for AssemblyFault {}

impl Assembly {
    /// An assembly of paths with these area fractions through these layers, inside to outside.
    ///
    /// # Errors
    /// [`AssemblyFault`] when the fractions do not sum to 1 (within 1e-9), a mixed layer does not
    /// have one resistance for each path, or a path has no resistance.
    pub fn new(fractions: Vec<f64>, zones: Vec<Zone>) -> Result<Self, AssemblyFault> {
        if fractions.is_empty() || zones.is_empty() {
            return Err(AssemblyFault::Empty);
        }
        let sum: f64 = fractions.iter().sum();
        let each = fractions.iter().all(|f| (0.0..=1.0).contains(f));
        if !each || sum.is_nan() || (sum - 1.0).abs() > 1e-9 {
            return Err(AssemblyFault::Fractions { sum });
        }
        for (layer, zone) in zones.iter().enumerate() {
            if let Zone::Mixed(resistances) = zone
                && resistances.len() != fractions.len()
            {
                return Err(AssemblyFault::Paths {
                    layer,
                    found: resistances.len(),
                    expected: fractions.len(),
                });
            }
        }
        let assembly = Self { fractions, zones };
        match (0..assembly.fractions.len()).find(|&path| assembly.path_r(path).ip() <= 0.0) {
            Some(path) => Err(AssemblyFault::NoResistance { path }),
            None => Ok(assembly),
        }
    }

    /// Resistance of one path from air to air.
    fn path_r(&self, path: usize) -> RValue {
        self.zones
            .iter()
            .map(|zone| match zone {
                Zone::Uniform(r) => *r,
                Zone::Mixed(rs) => rs[path],
            })
            .sum()
    }

    /// Transmittance with heat flowing in parallel paths that do not mix: the upper limit of the
    /// resistance, the lower of the transmittance.
    pub fn u_parallel_paths(&self) -> UValue {
        let u = self
            .fractions
            .iter()
            .enumerate()
            .map(|(path, fraction)| fraction / self.path_r(path).ip())
            .sum();
        UValue::checked(u)
    }

    /// Transmittance with every layer's faces at one temperature each: the lower limit of the
    /// resistance. A layer that one path crosses with no resistance adds none.
    pub fn u_isothermal_planes(&self) -> UValue {
        let r: f64 = self
            .zones
            .iter()
            .map(|zone| match zone {
                Zone::Uniform(r) => r.ip(),
                Zone::Mixed(rs) => {
                    // A path of no area carries nothing, even through no resistance.
                    let paths =
                        self.fractions.iter().zip(rs).filter(|(fraction, _)| **fraction > 0.0);
                    1.0 / paths.map(|(fraction, r)| fraction / r.ip()).sum::<f64>()
                }
            })
            .sum();
        UValue::checked(1.0 / r)
    }

    /// Transmittance by the mean of both limits of the resistance, the ISO 6946 value.
    pub fn u_combined(&self) -> UValue {
        let upper = self.u_parallel_paths().to_r().ip();
        let lower = self.u_isothermal_planes().to_r().ip();
        UValue::checked(2.0 / (upper + lower))
    }
}
