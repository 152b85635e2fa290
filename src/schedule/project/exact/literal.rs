//! What can be said of one variable: that one end of its range has moved.
//!
//! Every variable `x` has two sides, `x` itself and `-x`. A literal says that a side is at least some number, so
//! "`x` at least 3" and "`x` at most 7" (`-x` at least -7) are of one kind, raising is the only thing that ever
//! happens, and each rule is written once for both directions.

/// A variable, read upward (`x`) or downward (`-x`).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Side(u32);

impl Side {
    /// The side that rises with the variable's least value.
    pub(super) const fn least(variable: usize) -> Self {
        Self(2 * variable as u32)
    }

    /// The side that rises as the variable's greatest value falls.
    pub(super) const fn most(variable: usize) -> Self {
        Self(2 * variable as u32 + 1)
    }

    pub(super) const fn other(self) -> Self {
        Self(self.0 ^ 1)
    }

    pub(super) const fn index(self) -> usize {
        self.0 as usize
    }

    pub(super) const fn variable(self) -> usize {
        (self.0 >> 1) as usize
    }

    pub(super) const fn is_most(self) -> bool {
        self.0 & 1 == 1
    }
}

/// That a side is at least `bound`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Literal {
    pub(super) side: Side,
    pub(super) bound: i32,
}

impl Literal {
    pub(super) const fn new(side: Side, bound: i32) -> Self {
        Self { side, bound }
    }

    pub(super) const fn at_least(variable: usize, value: i32) -> Self {
        Self::new(Side::least(variable), value)
    }

    pub(super) const fn at_most(variable: usize, value: i32) -> Self {
        Self::new(Side::most(variable), -value)
    }

    /// The opposite: `x` not at least `b` is `-x` at least `1 - b`.
    pub(super) const fn opposite(self) -> Self {
        Self::new(self.side.other(), 1 - self.bound)
    }
}
