//! Stratified shares: Latin hypercube sampling, one stream of random bits for each field.
//!
//! A stream depends on the seed and on the field alone. So a draw is the same whatever the threads,
//! whichever other fields vary, and whatever the house: figures of two houses, or of one house before
//! and after a change, differ by what was changed and not by chance.

use chacha20::ChaCha8Rng;
use chacha20::rand_core::{Rng, SeedableRng};

/// The stream of a field, at a surface, in one of several designs that must not share draws.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Stream(u64);

impl Stream {
    /// `place` is the surface counted from 1, 0 for the house; `design` tells independent draws of
    /// one field apart (0 and 1).
    pub const fn new(field: u8, place: u16, design: u8) -> Self {
        Self((field as u64) | (place as u64) << 8 | (design as u64) << 24)
    }

    /// The same field in an independent design.
    pub(crate) const fn second(self) -> Self {
        Self(self.0 | 1 << 24)
    }
}

/// `draws` shares between 0 and 1, exactly one in each of as many equal parts, in random order.
///
/// McKay, Beckman and Conover 1979 (from memory): each part is used once, so that means settle far
/// sooner than with free draws.
pub fn latin_hypercube(seed: u64, stream: Stream, draws: u32) -> Vec<f64> {
    let mut key = [0; 32];
    key[..8].copy_from_slice(&seed.to_le_bytes());
    let mut bits = ChaCha8Rng::from_seed(key);
    bits.set_stream(stream.0);
    let mut parts: Vec<u32> = (0..draws).collect();
    for last in (1..parts.len()).rev() {
        // The high half of a product is a whole number from 0 to `last`; its bias is below 2^-32.
        let product = u128::from(bits.next_u64()) * (last as u128 + 1);
        let place = usize::try_from(product >> 64).unwrap_or(0);
        parts.swap(last, place);
    }
    let width = 1.0 / f64::from(draws.max(1));
    parts.into_iter().map(|part| within(part, bits.next_u64(), width)).collect()
}

/// A share inside a part, never 0 and never 1.
#[expect(clippy::cast_precision_loss, reason = "53 bits fit")]
fn within(part: u32, bits: u64, width: f64) -> f64 {
    const STEP: f64 = 1.0 / (1_u64 << 53) as f64;
    let inside = ((bits >> 11) as f64 + 0.5) * STEP;
    ((f64::from(part) + inside) * width).min(1.0 - STEP)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn every_part_is_used_once(seed: u64, field: u8, place in 0..200u16, draws in 1..500u32) {
            let shares = latin_hypercube(seed, Stream::new(field, place, 0), draws);
            prop_assert_eq!(shares.len(), draws as usize);
            let mut parts: Vec<u32> = shares.iter().map(|u| {
                assert!(*u > 0.0 && *u < 1.0);
                #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a share")]
                let part = (u * f64::from(draws)) as u32;
                part
            }).collect();
            parts.sort_unstable();
            prop_assert_eq!(parts, (0..draws).collect::<Vec<_>>());
        }
    }

    #[test]
    fn a_stream_is_its_own_and_always_the_same() {
        let a = latin_hypercube(1, Stream::new(3, 0, 0), 1000);
        assert_eq!(a, latin_hypercube(1, Stream::new(3, 0, 0), 1000));
        for other in [
            latin_hypercube(2, Stream::new(3, 0, 0), 1000),
            latin_hypercube(1, Stream::new(4, 0, 0), 1000),
            latin_hypercube(1, Stream::new(3, 1, 0), 1000),
            latin_hypercube(1, Stream::new(3, 0, 1), 1000),
        ] {
            // Two streams have hardly any correlation: its standard error is 0.03 here.
            let product: f64 = a.iter().zip(&other).map(|(a, b)| (a - 0.5) * (b - 0.5)).sum();
            assert!((product * 12.0 / 1000.0).abs() < 0.13, "{product}");
        }
    }

    /// The cipher is a standard and the way from its bits to shares is fixed: these shares were
    /// printed once, and another machine, system or release must print them again.
    #[test]
    fn these_bits_are_kept() {
        let shares = latin_hypercube(7, Stream::new(1, 2, 0), 4);
        let bits: Vec<u64> = shares.iter().map(|u| u.to_bits()).collect();
        assert_eq!(bits, KEPT, "{bits:?}");
    }
    const KEPT: [u64; 4] = [
        0x3fe7_bb0f_cb95_6772,
        0x3fee_dabe_a69f_2cbc,
        0x3fd5_3a1f_7cdb_7438,
        0x3fa6_6206_5a50_c226,
    ];
}
