//! Numbers that look random and come again from the same seed.

/// A stream of numbers (SplitMix64).
#[derive(Clone, Debug)]
pub struct Chance(u64);

impl Chance {
    /// The stream of `seed`. The seed is printed, so that a failed test can be run again; `POURSIDE_SEED` replaces it.
    pub fn new(seed: u64) -> Self {
        let seed = std::env::var("POURSIDE_SEED").ok().and_then(|seed| seed.parse().ok()).unwrap_or(seed);
        println!("seed {seed} (again with POURSIDE_SEED={seed})");
        Self(seed)
    }

    /// A stream that is part of another: its seed was drawn from there.
    pub fn stream(seed: u64) -> Self {
        Self(seed)
    }

    /// The next number.
    pub fn number(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A number below `end`.
    pub fn below(&mut self, end: usize) -> usize {
        usize::try_from(self.number() % end.max(1) as u64).unwrap()
    }
}
