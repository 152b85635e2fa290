//! What a conflict teaches: the clause of the first unique implication point.
//!
//! The trail is walked backward from the conflict, and each literal of its level is replaced by what it was drawn
//! from until one of the level is left (Marques-Silva and Sakallah, "GRASP", 1999; bounds as literals as in lazy
//! clause generation, Ohrimenko, Stuckey and Codish, 2009; both from memory). Of each side only the strongest
//! bound is needed, and of each bound only as much as the conflict asked for.

use super::engine::Engine;
use super::literal::{Literal, Side};
use super::timetable::Clash;
use super::trail::Reason;

const NOT_NEEDED: i32 = i32::MIN;
/// How deep it is looked whether a literal follows from the others.
const DEEPEST: u32 = 64;

/// Whether an entry follows from the literals that are needed.
#[derive(Clone, Copy, Debug, Default)]
struct Verdict {
    /// The conflict it was found for.
    conflict: u64,
    follows: bool,
    bound: i32,
}

/// Memory of the analysis, kept from conflict to conflict.
#[derive(Clone, Debug)]
pub(super) struct Learning {
    /// The bound that is needed of each side.
    need: Vec<i32>,
    /// The entry that reached it.
    place: Vec<u32>,
    /// Sides that were needed at some time.
    sides: Vec<Side>,
    why: Vec<Literal>,
    clause: Vec<Literal>,
    verdicts: Vec<Verdict>,
    levels: Vec<u64>,
    /// Clauses learned, with the latest end that was wanted then.
    #[cfg(test)]
    pub(super) log: Vec<(Vec<Literal>, i32)>,
}

impl Learning {
    pub(super) fn new(sides: usize) -> Self {
        Self {
            need: vec![NOT_NEEDED; sides],
            place: vec![0; sides],
            sides: Vec::new(),
            why: Vec::new(),
            clause: Vec::new(),
            verdicts: Vec::new(),
            levels: Vec::new(),
            #[cfg(test)]
            log: Vec::new(),
        }
    }
}

impl Engine {
    /// Learns from a conflict and goes back to where the lesson acts. Returns false where no plan is left.
    pub(super) fn learn(&mut self, clash: Clash) -> bool {
        self.conflicts += 1;
        let mut why = std::mem::take(&mut self.learning.why);
        why.clear();
        self.explain_clash(clash, &mut why);
        // A rule that saw it late may clash over what an earlier level had settled.
        let latest = why
            .iter()
            .map(|&literal| self.trail.position(literal))
            .max();
        let level = latest.map_or(0, |position| self.trail.level_of(position));
        let holds = level > 0;
        if holds {
            self.back_to(level);
            let lesson = self.resolve(level, &mut why);
            self.learning.why = why;
            self.adopt(lesson);
        }
        self.branching.decay();
        holds
    }

    /// Replaces literals of a level by what they were drawn from until one is left; leaves the others needed, and
    /// the trail just before the one.
    fn resolve(&mut self, level: usize, why: &mut Vec<Literal>) -> Literal {
        let start = self.trail.start_of(level);
        let mut open = 0;
        self.need_all(why, start, &mut open);
        loop {
            let position = self.trail.len() - 1;
            let side = self.trail.entry(position).side;
            let bound = self.learning.need[side.index()];
            let is_needed =
                bound != NOT_NEEDED && self.learning.place[side.index()] as usize == position;
            if is_needed {
                self.learning.need[side.index()] = NOT_NEEDED;
                let literal = Literal::new(side, bound);
                if open == 1 {
                    return literal;
                }
                open -= 1;
                why.clear();
                self.explain(position, literal, why);
                self.trail.pop();
                self.need_all(why, start, &mut open);
            } else {
                self.trail.pop();
            }
        }
    }

    /// Notes that literals are needed; counts those of the level that starts at an entry.
    fn need_all(&mut self, literals: &[Literal], start: usize, open: &mut usize) {
        let root = self.trail.root_end();
        for &literal in literals {
            let index = literal.side.index();
            let needed = self.learning.need[index];
            if needed != NOT_NEEDED && needed >= literal.bound {
                continue;
            }
            let position = self.trail.position(literal);
            if position < root {
                continue;
            }
            if needed == NOT_NEEDED {
                self.learning.sides.push(literal.side);
            }
            let was_open = needed != NOT_NEEDED && self.learning.place[index] as usize >= start;
            if position >= start && !was_open {
                *open += 1;
            }
            self.learning.need[index] = literal.bound;
            self.learning.place[index] = position as u32;
            self.branching.raise(literal);
        }
    }

    /// Adds the clause of what is needed and of the literal left over, goes back, and follows it.
    fn adopt(&mut self, last: Literal) {
        let mut clause = std::mem::take(&mut self.learning.clause);
        clause.clear();
        clause.push(last.opposite());
        let position = self.trail.position(last);
        self.learning.need[last.side.index()] = last.bound;
        self.learning.place[last.side.index()] = position as u32;
        if self.learning.verdicts.len() < self.trail.len() {
            self.learning
                .verdicts
                .resize(self.trail.len(), Verdict::default());
        }
        let mut sides = std::mem::take(&mut self.learning.sides);
        sides.sort_unstable();
        sides.dedup();
        for &side in &sides {
            let bound = self.learning.need[side.index()];
            if bound == NOT_NEEDED || side == last.side {
                continue;
            }
            let literal = Literal::new(side, bound);
            let position = self.learning.place[side.index()] as usize;
            if !self.follows(position, literal, 0) {
                clause.push(literal.opposite());
            }
        }
        // Watch the one that is taken back last.
        let mut back = 0;
        let mut best = 1;
        let mut levels = std::mem::take(&mut self.learning.levels);
        levels.clear();
        for (index, literal) in clause.iter().enumerate().skip(1) {
            let position = self.learning.place[literal.side.other().index()] as usize;
            let level = self.trail.level_of(position);
            levels.push(level as u64);
            if level > back {
                (back, best) = (level, index);
            }
        }
        if clause.len() > 1 {
            clause.swap(1, best);
        }
        levels.sort_unstable();
        levels.dedup();
        for &side in &sides {
            self.learning.need[side.index()] = NOT_NEEDED;
        }
        self.learning.need[last.side.index()] = NOT_NEEDED;
        sides.clear();
        #[cfg(test)]
        self.learning.log.push((
            clause.clone(),
            -self
                .trail
                .bound_before(Side::most(self.model.starts - 1), self.trail.root_end()),
        ));

        self.back_to(back);
        let reason = if clause.len() > 1 {
            Reason::Clause(
                self.clauses
                    .add(&clause, levels.len() as u32 + 1, self.conflicts),
            )
        } else {
            Reason::Root
        };
        debug_assert!(clause.iter().skip(1).all(|&it| self.trail.is_false(it)));
        self.trail.raise(clause[0], reason);
        self.learning.clause = clause;
        self.learning.sides = sides;
        self.learning.levels = levels;
    }

    /// Whether a literal that an entry made true follows from what is needed and was true before it.
    fn follows(&mut self, position: usize, literal: Literal, depth: u32) -> bool {
        if depth > DEEPEST {
            return false;
        }
        let verdict = self.learning.verdicts[position];
        if verdict.conflict == self.conflicts {
            if verdict.follows && verdict.bound >= literal.bound {
                return true;
            }
            if !verdict.follows && verdict.bound <= literal.bound {
                return false;
            }
        }
        let follows = self.trail.entry(position).reason != Reason::Decision && {
            // The questions of all depths lie in one row.
            let mut why = std::mem::take(&mut self.learning.why);
            let (start, root) = (why.len(), self.trail.root_end());
            self.explain(position, literal, &mut why);
            let end = why.len();
            self.learning.why = why;
            let all = (start..end).all(|at| {
                let it = self.learning.why[at];
                let index = it.side.index();
                let at = self.trail.position(it);
                at < root
                    || (self.learning.need[index] >= it.bound
                        && (self.learning.place[index] as usize) < position)
                    || self.follows(at, it, depth + 1)
            });
            self.learning.why.truncate(start);
            all
        };
        self.learning.verdicts[position] = Verdict {
            conflict: self.conflicts,
            follows,
            bound: literal.bound,
        };
        follows
    }
}
