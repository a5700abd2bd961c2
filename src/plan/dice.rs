//! Choices drawn from a fixed seed.
//!
//! Owns: the one generator of the search, the same on every machine. Refuses: any other source of chance; a depot
//! always gets the same plan.

/// A xorshift generator; good enough to vary choices.
pub(super) struct Dice(u64);

impl Dice {
    /// A generator that always starts alike.
    pub fn new() -> Dice {
        Dice(0x9E37_79B9_7F4A_7C15)
    }

    /// A number below `bound`, or 0 when `bound` is 0.
    pub fn below(&mut self, bound: u64) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        ((self.0 >> 11) % bound.max(1)) as usize
    }

    /// One of the list, none of an empty one.
    pub fn pick<T: Copy>(&mut self, from: &[T]) -> Option<T> {
        from.get(self.below(from.len() as u64)).copied()
    }

    /// Any order.
    pub fn shuffle<T>(&mut self, list: &mut [T]) {
        for end in (1..list.len()).rev() {
            list.swap(end, self.below(end as u64 + 1));
        }
    }
}
