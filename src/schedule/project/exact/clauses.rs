//! Learned clauses, and the two literals of each that are watched.
//!
//! A clause says that one of its literals holds. Only when one of two watched literals turns false need it be
//! looked at; a watch waits at the side that would make its literal false, with the bound from which it does.

use super::literal::{Literal, Side};
use super::trail::{Reason, Trail};

#[derive(Clone, Copy, Debug)]
struct Head {
    start: u32,
    length: u32,
    /// Of how many levels its literals were when it was learned: few means it will say much again.
    levels: u32,
    /// When it last took part in a conflict.
    used: u64,
}

#[derive(Clone, Copy, Debug)]
struct Watch {
    /// The side's bound from which the watched literal is false.
    from: i32,
    clause: u32,
    /// Another literal of the clause: while it is true there is nothing to do.
    other: Literal,
}

/// The store of learned clauses.
#[derive(Clone, Debug)]
pub(super) struct Clauses {
    literals: Vec<Literal>,
    heads: Vec<Head>,
    watches: Vec<Vec<Watch>>,
    /// How many are kept before the store is thinned.
    limit: usize,
}

/// Clauses kept before the first thinning, and how much more room each thinning gives.
const ROOM: usize = 4000;
const MORE_ROOM: usize = 500;
/// No more room is given once the literals kept would pass this: 32 MiB.
const MOST_LITERALS: usize = 4 << 20;
/// Clauses of so few levels are always kept.
const GLUE: u32 = 2;

impl Clauses {
    pub(super) fn new(sides: usize) -> Self {
        Self {
            literals: Vec::new(),
            heads: Vec::new(),
            watches: vec![Vec::new(); sides],
            limit: ROOM,
        }
    }

    pub(super) fn of(&self, clause: u32) -> &[Literal] {
        let head = self.heads[clause as usize];
        &self.literals[head.start as usize..(head.start + head.length) as usize]
    }

    /// Notes that a clause took part in a conflict.
    pub(super) fn touch(&mut self, clause: u32, now: u64) {
        self.heads[clause as usize].used = now;
    }

    /// Adds a clause of at least two literals; the first two are watched.
    pub(super) fn add(&mut self, literals: &[Literal], levels: u32, now: u64) -> u32 {
        let clause = self.heads.len() as u32;
        self.heads.push(Head {
            start: self.literals.len() as u32,
            length: literals.len() as u32,
            levels,
            used: now,
        });
        self.literals.extend_from_slice(literals);
        self.watch(clause, literals[0], literals[1]);
        self.watch(clause, literals[1], literals[0]);
        clause
    }

    fn watch(&mut self, clause: u32, literal: Literal, other: Literal) {
        self.watches[literal.side.other().index()].push(Watch {
            from: 1 - literal.bound,
            clause,
            other,
        });
    }

    /// Draws what follows from a side's rise from `old` to `new`. Returns false where a clause cannot hold.
    pub(super) fn follow(&mut self, trail: &mut Trail, side: Side, old: i32, new: i32) -> bool {
        let mut watches = std::mem::take(&mut self.watches[side.index()]);
        let mut kept = 0;
        let mut at = 0;
        let mut holds = true;
        'watches: while at < watches.len() {
            let watch = watches[at];
            at += 1;
            if watch.from > new || watch.from <= old || trail.is_true(watch.other) {
                watches[kept] = watch;
                kept += 1;
                continue;
            }
            let head = self.heads[watch.clause as usize];
            let literals =
                &mut self.literals[head.start as usize..(head.start + head.length) as usize];
            let failed = Literal::new(side.other(), 1 - watch.from);
            if literals[0] == failed {
                literals.swap(0, 1);
            }
            debug_assert_eq!(literals[1], failed, "a watch of another literal");
            let first = literals[0];
            if trail.is_true(first) {
                watches[kept] = Watch {
                    other: first,
                    ..watch
                };
                kept += 1;
                continue;
            }
            for index in 2..literals.len() {
                let literal = literals[index];
                if !trail.is_false(literal) {
                    literals.swap(1, index);
                    // Never this list: this literal is not false, so its watch waits at a higher bound, and where
                    // that is of the same side it is put back below.
                    self.watches[literal.side.other().index()].push(Watch {
                        from: 1 - literal.bound,
                        clause: watch.clause,
                        other: first,
                    });
                    continue 'watches;
                }
            }
            watches[kept] = watch;
            kept += 1;
            if !trail.raise(first, Reason::Clause(watch.clause)) {
                holds = false;
                break;
            }
        }
        watches.copy_within(at.., kept);
        watches.truncate(kept + watches.len() - at);
        watches.append(&mut self.watches[side.index()]);
        self.watches[side.index()] = watches;
        holds
    }

    pub(super) fn is_full(&self) -> bool {
        self.heads.len() > self.limit
    }

    /// Thins the store: what holds anyway goes, literals that can never hold go, and of the rest the half that
    /// spans many levels and was of no use lately. Only at level 0, when no entry needs its reason.
    pub(super) fn thin(&mut self, trail: &Trail) {
        let mut order: Vec<u32> = (0..self.heads.len() as u32).collect();
        order.retain(|&clause| !self.of(clause).iter().any(|&it| trail.is_true(it)));
        order.sort_by_key(|&clause| {
            let head = self.heads[clause as usize];
            (head.levels.max(GLUE), std::cmp::Reverse(head.used), clause)
        });
        let keep = order
            .iter()
            .take_while(|&&clause| self.heads[clause as usize].levels <= GLUE)
            .count()
            .max(order.len() / 2)
            .min(self.limit * 3 / 4);
        order.truncate(keep);
        order.sort_unstable();

        let (old_literals, old_heads) = (
            std::mem::take(&mut self.literals),
            std::mem::take(&mut self.heads),
        );
        for watches in &mut self.watches {
            watches.clear();
        }
        let mut left = Vec::new();
        for clause in order {
            let head = old_heads[clause as usize];
            left.clear();
            left.extend(
                old_literals[head.start as usize..(head.start + head.length) as usize]
                    .iter()
                    .filter(|&&literal| !trail.is_false(literal)),
            );
            debug_assert!(left.len() > 1, "a clause that acts at level 0 has acted");
            if left.len() > 1 {
                self.add(&left, head.levels, head.used);
            }
        }
        if self.literals.len() < MOST_LITERALS {
            self.limit += MORE_ROOM;
        }
    }
}
