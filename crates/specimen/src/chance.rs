//! Numbers that look random and come again from the same seed.

/// A stream of numbers (SplitMix64, public domain algorithm by S. Vigna, 2015).
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Chance(u64);

impl Chance {
    /// The stream of `seed`.
    pub fn new(seed: u64) -> Self {
        Self(seed)
    }

    /// The stream that belongs to `seed` and a name, so that what one part draws moves no other part's numbers.
    pub fn named(seed: u64, name: &str) -> Self {
        // FNV-1a, so that the same name gives the same stream in every build.
        let hash = name
            .bytes()
            .fold(0xcbf2_9ce4_8422_2325_u64, |hash, byte| (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3));
        let mut chance = Self(seed ^ hash);
        chance.number();
        chance
    }

    /// The next number.
    pub fn number(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A number below `end`; 0 if `end` is 0.
    pub fn below(&mut self, end: u64) -> u64 {
        self.number() % end.max(1)
    }

    /// One of them; `None` if there is none.
    pub fn one_of<'a, T>(&mut self, of: &'a [T]) -> Option<&'a T> {
        of.get(usize::try_from(self.below(of.len() as u64)).unwrap_or(0))
    }

    /// Puts them in another order.
    pub fn shuffle<T>(&mut self, all: &mut [T]) {
        for last in (1..all.len()).rev() {
            let with = usize::try_from(self.below(last as u64 + 1)).unwrap_or(0);
            all.swap(last, with);
        }
    }
}
